/** What a finding says before anything is shown. */
import type { Finding } from './types.ts';

/** To be spread between its verdict and what it has of its own. */
export const BLANK = {
  pointsTo: null,
  saidAtS: null,
  fromS: null,
  toS: null,
  measured: null,
  limit: null,
  evidence: [],
  needs: null,
} as const satisfies Partial<Finding>;
