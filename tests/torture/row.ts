/** One line of docs/reliability.md: what was done to the tool, how often, and what was lost. */
export interface Row {
  readonly fault: string;
  readonly how: string;
  readonly times: number;
  /** What was lost or got through, in words with numbers. */
  readonly lost: string;
  /** The promise was kept every time. */
  readonly kept: boolean;
}
