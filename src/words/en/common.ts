/** English: what several rooms say. */
export const common = {
  'in-turn': '{$parts :says}',
  text: '{$text}',
} as const;
