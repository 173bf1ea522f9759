/**
 * What healthy drives of other cars of the same kind teach about coolant: where it settles, from where a fan turns it
 * around, what a warm-up takes. It bounds and explains; it accuses only where no healthy car of the kind would stand.
 */
import { mean, median } from 'simple-statistics';
import { type Differ, learnOne, type OfKind } from '../between-cars.ts';
import { Z_BOTH, Z95 } from '../spread.ts';
import { type CoolantBaseline, type CoolantKind, mergeCoolant, type WarmUpLesson } from './baseline.ts';
import { HEAT_SOURCES } from './bins.ts';
import { inAir } from './warm-up-meter.ts';

/** One healthy car from drive to drive: plateaus (open drives: 89 to 91 and 86 to 88 °C), and the same of a fan (by hand, not measured). */
const DRIVE_PLATEAU_SD_C = 1;
const FAN_SD_C = 1.5;
/**
 * Until cars tell themselves how much they differ they are taken to differ by three times what is common (thermostats,
 * fan switches and sensors of one part number within 1 to 2 °C, heat within 5 to 8 %; common practice, no source). The
 * least is half a step of a reading, of an ordinary 90 °C; of a warm-up what no heater and no road makes alike.
 */
const DIFFER = {
  plateau: { unknown: 0.05, least: 0.006 },
  fan: { unknown: 0.06, least: 0.006 },
  warmUp: { unknown: 0.2, least: 0.03 },
} as const satisfies Record<string, Differ>;

/** From what each car's own healthy drives taught; null where no car taught anything. */
export function learnCoolantKind(cars: readonly CoolantBaseline[]): CoolantKind | null {
  const plateaus = meansOf(cars.map((c) => c.plateausC));
  const fans = meansOf(cars.map((c) => c.fansC));
  const warmUp = Object.fromEntries(
    HEAT_SOURCES.flatMap((source) => {
      const of = cars.map((c) => c.warmUps.filter((w) => w.source === source)).filter((w) => w.length > 0);
      return of.length === 0 ? [] : [[source, warmUpOf(of)]];
    }),
  );
  const taught = cars.filter((c) => c.plateausC.length + c.fansC.length + c.warmUps.length > 0).length;
  if (taught === 0) return null;
  return {
    schema: 'handback.coolant-kind/1',
    cars: taught,
    plateau: plateaus.length === 0 ? null : learnOne(plateaus, DIFFER.plateau),
    fan: fans.length === 0 ? null : learnOne(fans, DIFFER.fan),
    warmUp,
  };
}

const meansOf = (lists: readonly (readonly number[])[]): number[] =>
  lists.flatMap((list) => (list.length === 0 ? [] : mean([...list])));

function warmUpOf(cars: readonly (readonly WarmUpLesson[])[]): OfKind & { airC: number } {
  const airC = median(cars.flatMap((c) => c.map((w) => w.airC)));
  const values = cars.map((c) => Math.exp(mean(c.map((w) => inAir(w, airC)))));
  return { ...learnOne(values, DIFFER.warmUp), airC };
}

/** °C that a healthy car of the kind gives in one drive. */
export interface KindRange {
  readonly cars: number;
  readonly valueC: number;
  /** 95 of 100. */
  readonly withinC: number;
  /** Beyond it, either way, lies none at the odds of a fault shown. */
  readonly farC: number;
}

export const plateauOf = (kind: CoolantKind | undefined): KindRange | null =>
  kind?.plateau ? rangeOf(kind.plateau, DRIVE_PLATEAU_SD_C) : null;
export const fanOf = (kind: CoolantKind | undefined): KindRange | null =>
  kind?.fan ? rangeOf(kind.fan, FAN_SD_C) : null;

function rangeOf({ value, cars, sd, far }: OfKind, driveC: number): KindRange {
  const sdC = Math.hypot(value * sd, driveC);
  return { cars, valueC: value, withinC: Z_BOTH * sdC, farC: Z95 * sdC + value * far };
}

/** With what other cars of the kind teach, beside its own drives or in place of them. */
export function withCoolantKind(
  own: CoolantBaseline | null,
  kind: CoolantKind | null,
): CoolantBaseline | null {
  return kind === null ? own : { ...(own ?? mergeCoolant([])), kind };
}
