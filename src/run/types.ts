/** What a recording is for, and what it holds besides samples. */

export const PURPOSES = ['baseline', 'verification', 'come-back', 'other'] as const;
export type Purpose = (typeof PURPOSES)[number];

/** Something a person noted at a time. */
export interface Mark {
  readonly tUs: number;
  readonly key: string;
  readonly text: string;
}

/** A span without data and why. */
export interface Gap {
  readonly fromUs: number;
  readonly toUs: number;
  readonly why: string;
}
