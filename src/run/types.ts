/** What a recording is for, and what it holds besides samples. */

export const PURPOSES = ['baseline', 'verification', 'come-back', 'other'] as const;
export type Purpose = (typeof PURPOSES)[number];

/** Something a person noted at a time. */
export interface Mark {
  readonly tUs: number;
  readonly key: string;
  readonly text: string;
}

/** While something long is read: a way to give it up, and how far it is as a share of 1. */
export interface During {
  readonly signal: AbortSignal;
  readonly progress: (share: number) => void;
}

/** The `i`-th of `n` parts of a task. */
export const partOf = ({ signal, progress }: During, i: number, n: number): During => ({
  signal,
  progress: (share) => progress((i + share) / n),
});

/** A span without data and why. */
export interface Gap {
  readonly fromUs: number;
  readonly toUs: number;
  readonly why: string;
}
