/** English: what several rooms say. */
export const common = {
  'in-turn': '{$parts :says}',
  listed: '{$parts :says list=yes}',
  text: '{$text}',
} as const;
