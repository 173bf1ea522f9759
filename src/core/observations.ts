/** What a technician notes without an instrument, and the answers each has, from good to bad. */
export const OBSERVATIONS = {
  'noise gone': ['yes', 'partly', 'no'],
  'cabin heat idle': ['hot', 'lukewarm', 'cold'],
  'cabin heat 2000 rpm': ['hot', 'lukewarm', 'cold'],
  leaks: ['none', 'found'],
  smell: ['none', 'found'],
  /** Whether a complaint is gone; `text` is its line of the job's complaint, empty where there is but one. */
  complaint: ['gone', 'still there'],
  other: ['noted'],
} as const;
export type ObservationKind = keyof typeof OBSERVATIONS;
export const OBSERVATION_KINDS = Object.keys(OBSERVATIONS) as [ObservationKind, ...ObservationKind[]];
