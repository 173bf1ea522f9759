/** Deutsch: was mehrere Räume sagen. */
export const common = {
  'in-turn': '{$parts :says}',
  text: '{$text}',
} as const;
