/** Regions of engine speed in which one machine owes the boost, by induction type; the profile overrides the defaults. */
import type { Profile } from '../../core/profile.ts';
import type { Says } from '../../core/says.ts';
import { say } from './says.ts';

export type RegionKey = 'low' | 'middle' | 'high';

export interface Region {
  readonly key: RegionKey;
  readonly fromRpm: number;
  readonly toRpm: number;
  /** Finding id. */
  readonly id: string;
  /** Shown good only with pulls low, middle and high in it. */
  readonly spread?: boolean;
  /** Hint when boost is short here and normal elsewhere. */
  readonly pointsTo: Says;
}

/** Demand from which the clutch must be closed inside its band, % (common practice, no source). */
export const ENGAGED_PCT = 60;

/** Where the profile does not say (common practice, no source). */
const BAND_TOP_RPM = 2400;
const HAND_OVER_RPM = 3500;
/**
 * Where a turbocharger is on its way up no longer, and the engine speeds from which chargers give anything, rpm (common
 * practice, no source).
 */
const TURBO_UP_RPM = 2000;
const BELT_FROM_RPM = 900;
const TURBO_FROM_RPM = 1100;
/**
 * Slower than this a compressor with a clutch may not have been closed yet, and gives next to nothing at part demand (common
 * practice, no source; three of eighteen healthy simulated cars were told of a fault at 1,090 to 1,190 rpm).
 */
export const CLUTCH_FROM_RPM = 1200;
/** Faster than any road engine runs (common practice, no source). */
const TOP_RPM = 9000;
/** What is asked to be driven: from, over, and at least to, rpm. Chosen by hand, not measured. */
const ASKED_FROM_RPM = 1200;
const ASKED_OVER_RPM = 1500;
const ASKED_TO_RPM = 3500;

/** Engine speed, rpm, up to which the clutch closes always, and above which the turbocharger is alone. */
export function clutchBand(profile: Profile): { topRpm: number; handOverRpm: number } {
  const top = profile.clutchBandTopRpm;
  const over = profile.handOverRpm;
  const topRpm = top?.value ?? Math.min(BAND_TOP_RPM, over?.value ?? BAND_TOP_RPM);
  return {
    topRpm,
    handOverRpm: Math.max(topRpm, over?.value ?? HAND_OVER_RPM),
  };
}

/** Engagements exist only where a clutch closes: belt-driven compressors with a clutch. */
export function hasClutch(profile: Profile): boolean {
  if (profile.induction === 'twin-charged') return profile.clutch !== false;
  return profile.induction === 'supercharger' && profile.clutch === true;
}

/** Engine speeds, rpm, in which a region is asked to be driven. */
export function askedRpm({ fromRpm, toRpm }: Pick<Region, 'fromRpm' | 'toRpm'>): {
  fromRpm: number;
  toRpm: number;
} {
  const from = Math.max(ASKED_FROM_RPM, fromRpm);
  return { fromRpm: from, toRpm: Math.min(toRpm, Math.max(from + ASKED_OVER_RPM, ASKED_TO_RPM)) };
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
          fromRpm: hasClutch(profile) ? CLUTCH_FROM_RPM : BELT_FROM_RPM,
          toRpm: hasClutch(profile) && profile.handOverRpm ? band.handOverRpm : TOP_RPM,
          id: 'boost.clutch-band',
          pointsTo: say(hasClutch(profile) ? 'boost.points.clutch-or-slip' : 'boost.points.belt'),
        },
      ];
    case 'twin-charged':
      return [
        {
          key: 'low',
          fromRpm: hasClutch(profile) ? CLUTCH_FROM_RPM : BELT_FROM_RPM,
          toRpm: band.topRpm,
          id: 'boost.clutch-band',
          spread: true,
          pointsTo: say(hasClutch(profile) ? 'boost.points.clutch' : 'boost.points.belt'),
        },
        {
          key: 'middle',
          fromRpm: band.topRpm,
          toRpm: band.handOverRpm,
          id: 'boost.hand-over-dip',
          pointsTo: say('boost.points.changeover'),
        },
        {
          key: 'high',
          fromRpm: band.handOverRpm,
          toRpm: TOP_RPM,
          id: 'boost.above-hand-over',
          pointsTo: say('boost.points.turbo'),
        },
      ];
    default: {
      const over = profile.handOverRpm;
      const edge = over?.value ?? TURBO_UP_RPM;
      return [
        {
          key: 'low',
          fromRpm: TURBO_FROM_RPM,
          toRpm: edge,
          id: 'boost.low-speed',
          pointsTo: say('boost.points.turbo-slow'),
        },
        {
          key: 'high',
          fromRpm: edge,
          toRpm: TOP_RPM,
          id: 'boost.above-hand-over',
          pointsTo: say('boost.points.turbo'),
        },
      ];
    }
  }
}
