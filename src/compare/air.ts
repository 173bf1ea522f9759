/** The air on both sides: pressures are brought to one barometric pressure, what is left in doubt is told. */
import { UNKNOWN_BARO } from '../analysis/boost/barometer.ts';
import { type AirTemp, ANY_DAY, meanAir, airOf as tempOf } from '../analysis/boost/warmth.ts';
import type { Says } from '../core/says.ts';
import type { AirDoubt } from './boost.ts';
import type { Gathered } from './gather.ts';
import { named, type SidedRun } from './runs.ts';
import { say } from './says.ts';
import type { Role } from './types.ts';

/**
 * Readings of one sensor in steps of 1 kPa: the difference of two is known to this, kPa. By definition: 1 kPa ·
 * √(2/12).
 */
const STEP_SD_KPA = 0.41;
/**
 * Barometric pressures this near to each other are called the same, kPa. Half of a step of the printed tenth, by
 * definition.
 */
const SAME_KPA = 0.05;
/** Zero of the Celsius scale, K, by definition. */
const ZERO_C_K = 273.15;
/** Two drives of one workshop whose air is not known: weather and the lie of the land, kPa (common practice, no source). */
const UNKNOWN_SD_KPA = 2.5;

type Baro = NonNullable<Gathered['baro']>;

export interface Air {
  readonly doubt: AirDoubt;
  /** What the run's pressures are divided by. */
  factorOf(gathered: Gathered): number;
  readonly corrections: readonly Says[];
  readonly problems: readonly Says[];
}

/** Pressures are brought to the mean barometric pressure of the runs before. */
export function airOf(runs: readonly SidedRun[]): Air {
  const of = (role: Role) => runs.filter((r) => r.role === role);
  const baros = (role: Role): Baro[] => of(role).flatMap((r) => r.gathered.baro ?? []);
  const known = runs.every((r) => r.gathered.baro !== null);
  const reference = meanKpa(baros('before'), meanKpa(baros('after'), UNKNOWN_BARO.kpa));
  const after = meanKpa(baros('after'), reference);
  const sdKpa = known ? sdOf([...baros('before'), ...baros('after')]) : UNKNOWN_SD_KPA;
  const unread = runs.some((r) => r.gathered.air === null);
  const oneDay = new Set(runs.map((r) => r.day)).size < 2;
  // Of one day's air nothing need be known to know that it was alike.
  const temp = (r: SidedRun): AirTemp =>
    unread && oneDay ? [ANY_DAY[0], 0] : tempOf(r.gathered.air?.c ?? null);
  const warmth = (role: Role): AirTemp => meanAir(of(role).map((r) => ({ weight: 1, air: temp(r) })));
  const [before, later] = [warmth('before'), warmth('after')];
  const bothSides = of('before').length > 0 && of('after').length > 0;
  return {
    doubt: {
      lnBaro: Math.log(after / reference),
      baroSd: sdKpa / reference,
      baroKpa: reference,
      before,
      after: later,
    },
    // Half the runs corrected would be worse than none.
    factorOf: (g) => (known && g.baro !== null ? g.baro.kpa / reference : 1),
    corrections: [
      ...(known && runs.length > 0 ? [broughtTo(reference, after)] : []),
      ...(!unread && bothSides ? [denser(before[0], later[0])] : []),
      ...(unread && !oneDay ? [say('compare.air-unread')] : []),
    ],
    problems: runs
      .filter((r) => r.gathered.baro === null)
      .map(({ run }) => say('compare.no-baro', { run: named(run), allowedKpa: UNKNOWN_SD_KPA })),
  };
}

/** What a sensor reads is known to its step; what was worked out, to its own error. */
function sdOf(baros: readonly Baro[]): number {
  const read = ['barometric sensor', 'MAP with the engine stopped'];
  return Math.max(STEP_SD_KPA, ...baros.map((b) => (read.includes(b.source) ? 0 : b.sdKpa)));
}

const broughtTo = (toKpa: number, fromKpa: number): Says =>
  Math.abs(fromKpa - toKpa) < SAME_KPA
    ? say('compare.baro.same', { kpa: toKpa })
    : say('compare.baro.brought', { fromKpa, toKpa, change: toKpa / fromKpa - 1 });

const denser = (beforeC: number, afterC: number): Says =>
  say('compare.air', { beforeC, afterC, density: (beforeC + ZERO_C_K) / (afterC + ZERO_C_K) - 1 });

const meanKpa = (baros: readonly Baro[], otherwise: number): number =>
  baros.length === 0 ? otherwise : baros.reduce((sum, b) => sum + b.kpa, 0) / baros.length;
