/** The air on both sides: pressures are brought to one barometric pressure, what is left in doubt is told. */
import { UNKNOWN_BARO } from '../analysis/boost/barometer.ts';
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
/** Zero of the Celsius scale, K, by definition; and air of 15 °C, rounded (ISO 2533), where nothing tells. */
const ZERO_C_K = 273.15;
const STANDARD_AIR_K = 288;
/** Two drives of one workshop whose air is not known: weather and the lie of the land, kPa (common practice, no source). */
const UNKNOWN_SD_KPA = 2.5;

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
  const baros = (role: Role) => of(role).flatMap((r) => r.gathered.baro ?? []);
  const known = runs.every((r) => r.gathered.baro !== null);
  const reference = meanOr(
    baros('before').map((b) => b.kpa),
    meanOr(
      baros('after').map((b) => b.kpa),
      UNKNOWN_BARO.kpa,
    ),
  );
  const after = meanOr(
    baros('after').map((b) => b.kpa),
    reference,
  );
  const sensors = [...baros('before'), ...baros('after')];
  const sdKpa = known
    ? Math.max(
        STEP_SD_KPA,
        ...sensors.map((b) =>
          b.source === 'barometric sensor' || b.source === 'MAP with the engine stopped' ? 0 : b.sdKpa,
        ),
      )
    : UNKNOWN_SD_KPA;
  const kelvins = (role: Role) =>
    of(role).flatMap((r) => (r.gathered.air ? [r.gathered.air.c + ZERO_C_K] : []));
  const warmBefore = meanOr(kelvins('before'), STANDARD_AIR_K);
  const warmAfter = meanOr(kelvins('after'), warmBefore);
  const corrections: Says[] = [];
  if (known && runs.length > 0)
    corrections.push(
      Math.abs(after - reference) < SAME_KPA
        ? say('compare.baro.same', { kpa: reference })
        : say('compare.baro.brought', {
            fromKpa: after,
            toKpa: reference,
            change: reference / after - 1,
          }),
    );
  if (kelvins('before').length > 0 && kelvins('after').length > 0)
    corrections.push(
      say('compare.air', {
        beforeC: warmBefore - ZERO_C_K,
        afterC: warmAfter - ZERO_C_K,
        density: warmBefore / warmAfter - 1,
      }),
    );
  return {
    doubt: {
      lnBaro: Math.log(after / reference),
      lnKelvin: Math.log(warmAfter / warmBefore),
      baroSd: sdKpa / reference,
    },
    // Half the runs corrected would be worse than none.
    factorOf: (g) => (known && g.baro !== null ? g.baro.kpa / reference : 1),
    corrections,
    problems: runs
      .filter((r) => r.gathered.baro === null)
      .map(({ run }) => say('compare.no-baro', { run: named(run), allowedKpa: UNKNOWN_SD_KPA })),
  };
}

function meanOr(list: readonly number[], otherwise: number): number {
  return list.length === 0 ? otherwise : list.reduce((a, b) => a + b, 0) / list.length;
}
