/** Regions of engine speed in which one machine owes the boost, by induction type; the profile overrides the defaults. */
import type { Profile } from '../../core/profile.ts';

export type RegionKey = 'low' | 'middle' | 'high';

export interface Region {
  readonly key: RegionKey;
  readonly fromRpm: number;
  readonly toRpm: number;
  /** Finding id. */
  readonly id: string;
  readonly name: string;
  readonly source: string;
  /** Shown good only with pulls low, middle and high in it. */
  readonly spread?: boolean;
  /** Hint when boost is short here and normal elsewhere. */
  readonly pointsTo: string;
}

const PRACTICE = 'default (common practice, no source)';

/** Demand from which the clutch must be closed inside its band, % (common practice, no source). */
export const ENGAGED_PCT = 60;

/** Engine speed, rpm, up to which the clutch closes always, and above which the turbocharger is alone. */
export function clutchBand(profile: Profile): { topRpm: number; handOverRpm: number; source: string } {
  const top = profile.clutchBandTopRpm;
  const over = profile.handOverRpm;
  const topRpm = top?.value ?? Math.min(2400, over?.value ?? 2400);
  return {
    topRpm,
    handOverRpm: Math.max(topRpm, over?.value ?? 3500),
    source: (over ?? top)?.source ?? PRACTICE,
  };
}

/** Engagements exist only where a clutch closes: belt-driven compressors with a clutch. */
export function hasClutch(profile: Profile): boolean {
  if (profile.induction === 'twin-charged') return profile.clutch !== false;
  return profile.induction === 'supercharger' && profile.clutch === true;
}

export function regionsOf(profile: Profile): readonly Region[] {
  const band = clutchBand(profile);
  switch (profile.induction) {
    case 'naturally aspirated':
      return [];
    case 'supercharger':
      return [
        {
          key: 'low',
          fromRpm: 900,
          toRpm: hasClutch(profile) && profile.handOverRpm ? band.handOverRpm : 9000,
          id: 'boost.clutch-band',
          name: 'supercharger region',
          source: hasClutch(profile) ? band.source : PRACTICE,
          pointsTo: hasClutch(profile)
            ? 'clutch does not close or slips, drive or wiring to it, bypass flap stays open'
            : 'belt slips, bypass flap stays open, leak on the pressure side',
        },
      ];
    case 'twin-charged':
      return [
        {
          key: 'low',
          fromRpm: 900,
          toRpm: band.topRpm,
          id: 'boost.clutch-band',
          name: 'clutch band',
          spread: true,
          source: band.source,
          pointsTo: 'clutch does not close, drive or wiring to it, control flap stays open',
        },
        {
          key: 'middle',
          fromRpm: band.topRpm,
          toRpm: band.handOverRpm,
          id: 'boost.hand-over-dip',
          name: 'hand-over region',
          source: band.source,
          pointsTo: 'late turbocharger or control flap',
        },
        {
          key: 'high',
          fromRpm: band.handOverRpm,
          toRpm: 9000,
          id: 'boost.above-hand-over',
          name: 'region above the hand-over',
          source: band.source,
          pointsTo: 'turbocharger, its actuator, its pipes',
        },
      ];
    default: {
      const over = profile.handOverRpm;
      const edge = over?.value ?? 2000;
      const source = over?.source ?? PRACTICE;
      return [
        {
          key: 'low',
          fromRpm: 1100,
          toRpm: edge,
          id: 'boost.low-speed',
          name: `turbocharger region below ${edge} rpm`,
          source,
          pointsTo: 'turbocharger slow to answer, its actuator or vanes, leak before it closes',
        },
        {
          key: 'high',
          fromRpm: edge,
          toRpm: 9000,
          id: 'boost.above-hand-over',
          name: `turbocharger region above ${edge} rpm`,
          source,
          pointsTo: 'turbocharger, its actuator, its pipes',
        },
      ];
    }
  }
}
