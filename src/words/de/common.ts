/** Deutsch: was mehrere Räume sagen. */
export const common = {
  'in-turn': '{$parts :says}',
  listed: '{$parts :says list=yes}',
  text: '{$text}',
} as const;
