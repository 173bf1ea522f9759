/** What a recording holds besides samples. */

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
