/** What the person in the car is asked, and how an answer stands among the marks of a recording: in any language alike. */

/** Each question with what stands before its answer in a mark. */
const MARKED = {
  'cabin heat idle': 'Cabin heat idle',
  'cabin heat 2000 rpm': 'Cabin heat 2000 rpm',
  fan: 'Has the fan run',
  noise: 'Noise of the complaint',
} as const;

/** The id is also the kind of observation where a job keeps it. */
export type AskId = keyof typeof MARKED;

const IDS = Object.keys(MARKED) as AskId[];

/** "Cabin heat idle: hot": the text of the mark. @param answer id of the group `answer` */
export const markOfAnswer = (id: AskId, answer: string): string => `${MARKED[id]}: ${answer}`;

/** The question that a mark answers, and how; null when it answers none. */
export function answerIn(text: string): { readonly id: AskId; readonly answer: string } | null {
  const [, asked = '', answer = ''] = /^([^:]+): (\S.*)$/.exec(text) ?? [];
  const key = asked.toLowerCase();
  const id = IDS.find((known) => known === key || MARKED[known].toLowerCase() === key);
  return id ? { id, answer } : null;
}
