/** The complaint of a job line by line: each line is answered by itself. */

/** Characters of a note. */
export const MOST_NOTE = 1000;

interface Complained {
  readonly complaint: string;
  readonly comeBack: { readonly complaint?: string | undefined };
}

/** In the customer's words, what was said at a come-back first. */
export const complaintsOf = ({ complaint, comeBack }: Complained): string[] => [
  ...new Set([...complaintLines(comeBack.complaint ?? ''), ...complaintLines(complaint)]),
];

export const complaintLines = (text: string): string[] =>
  text
    .split('\n')
    .map((l) => l.trim())
    .filter((l) => l !== '');

/** A line of the complaint as an answer to it names it. */
export const complaintKey = (line: string): string => line.slice(0, MOST_NOTE).trim();
