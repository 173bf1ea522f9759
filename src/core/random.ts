/** Seeded random numbers: the same seed gives the same run on every machine. Never for secrets. */

export interface Random {
  /** Uniform in [0, 1). */
  next(): number;
  /** Uniform in [low, high). */
  between(low: number, high: number): number;
  /** Standard normal (Marsaglia's polar method). */
  normal(): number;
  /** An independent generator for a named part, so that adding draws in one part leaves the others alone. */
  fork(label: string): Random;
}

/** sfc32 (C. Doty-Humphrey, PractRand; public domain), from memory; seeded through a 32-bit FNV-1a hash. */
export function seededRandom(seed: number | string): Random {
  const text = String(seed);
  let a = fnv1a(`a${text}`);
  let b = fnv1a(`b${text}`);
  let c = fnv1a(`c${text}`);
  let counter = 1;
  const next = (): number => {
    const t = (((a + b) | 0) + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = (c << 21) | (c >>> 11);
    c = (c + t) | 0;
    return (t >>> 0) / 4294967296;
  };
  for (let i = 0; i < 12; i++) next();
  return {
    next,
    between: (low, high) => low + (high - low) * next(),
    normal() {
      for (;;) {
        const u = 2 * next() - 1;
        const v = 2 * next() - 1;
        const s = u * u + v * v;
        if (s > 0 && s < 1) return u * Math.sqrt((-2 * Math.log(s)) / s);
      }
    },
    fork: (label) => seededRandom(`${text}/${label}`),
  };
}

function fnv1a(text: string): number {
  let h = 0x811c9dc5;
  for (let i = 0; i < text.length; i++) {
    h ^= text.charCodeAt(i);
    h = Math.imul(h, 0x01000193);
  }
  return h | 0;
}
