/** The coolant part of docs/analysis-quality.md: each row by half, beside the goal and the plain rule of the same run. */
import { quantile } from 'simple-statistics';
import {
  CLIMBS,
  COLD,
  type CoolantOutcome,
  climbed,
  cold,
  GLITCHES,
  glitched,
  halfOf,
  healthy,
  slow,
  TAUGHT,
} from './coolant-cases.ts';
import type { Half } from './coolant-drives.ts';
import { exact } from './exact.ts';

export interface CoolantCase {
  readonly what: 'healthy' | 'glitch' | 'climb' | 'cold' | 'slow';
  readonly label: string;
  readonly half: Half;
  readonly name: string;
  readonly taught: number;
  /** The road's table: the one that ships, or chosen anew on the other half. */
  readonly road: 'shipped' | 'other half';
  readonly outcome: CoolantOutcome;
  readonly delayS: number | null;
  readonly plainDelayS: number | null;
}

const other = (half: Half): Half => (half === 'A' ? 'B' : 'A');
/** Drives that teach where every fault is tried; healthy drives are tried with all of TAUGHT. */
const FAULTS_TAUGHT = [0, 7];

/** @param goals only what the table of goals counts, and another draw than the page's */
export function coolantCases(
  name: string,
  tries: number,
  goals: { readonly draw?: string } | null = null,
): CoolantCase[] {
  const half: Half = halfOf('A').includes(name) ? 'A' : 'B';
  const out: CoolantCase[] = [];
  const draw = goals?.draw === undefined ? {} : { draw: goals.draw };
  for (const road of goals === null ? (['shipped', 'other half'] as const) : (['shipped'] as const)) {
    const chosen = road === 'shipped' ? null : other(half);
    const add = (
      what: CoolantCase['what'],
      label: string,
      taught: number,
      outcome: CoolantOutcome | null,
      delays: { readonly delayS: number | null; readonly plainDelayS: number | null } | null = null,
    ): void => {
      if (outcome)
        out.push({
          ...{ what, label, half, name, taught, road, outcome },
          delayS: delays?.delayS ?? null,
          plainDelayS: delays?.plainDelayS ?? null,
        });
    };
    for (const taught of road === 'shipped' ? TAUGHT : [0]) {
      const how = { taught, road: chosen, ...draw };
      add('healthy', '', taught, healthy(name, how));
      if (road === 'shipped' && taught > 0) add('slow', '', taught, slow(name, how));
    }
    for (const taught of road === 'shipped' ? FAULTS_TAUGHT : [0]) {
      const how = { taught, road: chosen, ...draw };
      for (const g of Object.keys(GLITCHES)) add('glitch', g, taught, glitched(name, g, how));
      if (goals !== null && taught > 0) continue;
      for (const label of Object.keys(CLIMBS))
        for (let k = 0; k < tries; k++) {
          const o = climbed(name, label, k, how);
          add('climb', label, taught, o, o);
        }
      if (road === 'shipped')
        for (const label of Object.keys(COLD)) add('cold', label, taught, cold(name, label, how));
    }
  }
  return out;
}

const pct = (x: number): string => `${Math.round(1000 * x) / 10} %`;
const share = (k: number, n: number): string => {
  if (n === 0) return 'none tried';
  const [a, b] = exact(k, n);
  return `${k} of ${n} (${pct(a)} to ${pct(b)})`;
};
const middle = (xs: readonly number[]): number => (xs.length > 0 ? quantile([...xs], 0.5) : Number.NaN);
const whole = (x: number): string => (Number.isFinite(x) ? String(Math.round(x)) : '–');

function table(head: readonly string[], rows: readonly (readonly (string | number)[])[]): string {
  const line = (cells: readonly (string | number)[]) => `| ${cells.join(' | ')} |`;
  return [line(head), line(head.map(() => '---')), ...rows.map(line)].join('\n');
}

/** Median over all tries, a miss counted as later than any. */
const medianDelay = (own: readonly CoolantCase[], of: 'delayS' | 'plainDelayS'): number =>
  middle(own.map((c) => c[of] ?? Number.POSITIVE_INFINITY));
const count = (own: readonly CoolantCase[], yes: (c: CoolantCase) => boolean): string =>
  share(own.filter(yes).length, own.length);
const accused = (c: CoolantCase): boolean => c.outcome.verdict === 'fault';
const good = (c: CoolantCase): boolean => c.outcome.verdict === 'good';
const tooCold = (c: CoolantCase): boolean => c.outcome.faults.some((f) => f.id === 'coolant.too-cold');
const plainAccuses = (c: CoolantCase): boolean =>
  c.outcome.plainClimbS !== null || c.outcome.plainColdS !== null;

export function coolantText(all: readonly CoolantCase[]): string {
  const parts: string[] = [];
  const pick = (what: CoolantCase['what'], more: (c: CoolantCase) => boolean) =>
    all.filter((c) => c.what === what && more(c));
  const shipped = (c: CoolantCase) => c.road === 'shipped';
  for (const [title, of] of [
    ['reported on half A', (c: CoolantCase) => c.half === 'A'],
    ['reported on half B', (c: CoolantCase) => c.half === 'B'],
  ] as const) {
    parts.push(`### Coolant, ${title}`);
    const rows = TAUGHT.map((taught) => {
      const own = pick('healthy', (c) => of(c) && shipped(c) && c.taught === taught);
      const slowed = pick('slow', (c) => of(c) && c.taught === taught);
      return [
        taught,
        count(own, accused),
        count(own, plainAccuses),
        count(
          own.filter((c) => c.outcome.usable),
          good,
        ),
        taught === 0 ? '–' : count(slowed, (c) => c.outcome.faults.some((f) => f.id === 'coolant.warm-up')),
        taught === 0 ? '–' : slowed.filter((c) => c.outcome.warmUp !== null).length,
        taught === 0 ? '–' : slowed.filter((c) => c.outcome.warmUp === 'shown good').length,
        taught === 0 ? '–' : slowed.filter((c) => c.outcome.warmUp === null && good(c)).length,
      ];
    });
    const anew = pick('healthy', (c) => of(c) && !shipped(c));
    rows.push([
      '0, road chosen on the other half',
      count(anew, accused),
      '–',
      count(
        anew.filter((c) => c.outcome.usable),
        good,
      ),
      '–',
      '–',
      '–',
      '–',
    ]);
    parts.push(
      table(
        [
          ...[
            'drives that taught',
            'healthy accused (goal 0)',
            'plain rule',
            'usable shown good (goal 95 %)',
          ],
          ...[
            'doubled warm-up heat found (goal 80 %)',
            'of which it could be weighed',
            'warm-up called good (goal 0)',
            'not weighed, circulation and thermostat good',
          ],
        ],
        rows,
      ),
    );
    const glitches = (taught: number, road: CoolantCase['road']) =>
      pick('glitch', (c) => of(c) && c.road === road && c.taught === taught);
    parts.push(
      `Files with glitches accused (goal 0): ${count(glitches(0, 'shipped'), accused)}; with seven drives that taught ${count(glitches(7, 'shipped'), accused)}; road chosen on the other half ${count(glitches(0, 'other half'), accused)}; plain rule ${count(glitches(0, 'shipped'), plainAccuses)}.`,
    );
    parts.push(
      table(
        [
          ...['climb put in', 'found', 'median s', 'with 7 taught', 'road chosen on the other half'],
          ...['goal s', 'plain rule found', 'its median s', 'called good'],
        ],
        Object.entries(CLIMBS).map(([label, { goalS }]) => {
          const own = (taught: number, road: CoolantCase['road']) =>
            pick('climb', (c) => of(c) && c.label === label && c.taught === taught && c.road === road);
          const first = own(0, 'shipped');
          return [
            label,
            count(first, (c) => c.delayS !== null),
            whole(medianDelay(first, 'delayS')),
            whole(medianDelay(own(7, 'shipped'), 'delayS')),
            whole(medianDelay(own(0, 'other half'), 'delayS')),
            goalS ?? '–',
            count(first, (c) => c.plainDelayS !== null),
            whole(medianDelay(first, 'plainDelayS')),
            first.filter(good).length,
          ];
        }),
      ),
    );
    parts.push(
      table(
        [
          'thermostat stuck open',
          'found',
          'with 7 taught',
          'plain rule',
          'median min from start',
          'called good',
        ],
        Object.keys(COLD).map((label) => {
          const own = (taught: number) =>
            pick('cold', (c) => of(c) && c.label === label && c.taught === taught);
          const at = own(0).flatMap((c) =>
            c.outcome.faults.filter((f) => f.id === 'coolant.too-cold').map((f) => f.saidAtS / 60),
          );
          return [
            label,
            count(own(0), tooCold),
            count(own(7), tooCold),
            count(own(0), (c) => c.outcome.plainColdS !== null),
            whole(middle(at)),
            own(0).filter(good).length,
          ];
        }),
      ),
    );
  }
  return parts.join('\n\n');
}

/** Rows for the table of goals: both halves together, each drive judged as it ships. */
export function coolantGoals(
  all: readonly CoolantCase[],
): readonly (readonly [what: string, goal: string, figure: string, short: string])[] {
  const own = all.filter((c) => c.road === 'shipped');
  const of = (what: CoolantCase['what']) => own.filter((c) => c.what === what);
  const row = (
    what: string,
    goal: string,
    list: readonly CoolantCase[],
    yes: (c: CoolantCase) => boolean,
    ok: (k: number, n: number) => boolean,
  ) => [what, goal, count(list, yes), ok(list.filter(yes).length, list.length) ? 'no' : 'yes'] as const;
  const none = (k: number) => k === 0;
  return [
    row('coolant, healthy drives accused, 0 to 13 taught', '0', of('healthy'), accused, none),
    row(
      'coolant, healthy drives told of a fault on the way, whatever stands at the end',
      '0',
      of('healthy'),
      (c) => c.outcome.spoken > 0,
      none,
    ),
    row('coolant, files with glitches accused', '0', of('glitch'), accused, none),
    row(
      'coolant, healthy and usable, shown good',
      '95 %',
      of('healthy').filter((c) => c.outcome.usable),
      good,
      (k, n) => k >= 0.95 * n,
    ),
    ...Object.entries(CLIMBS).flatMap(([label, { goalS }]) => {
      const list = of('climb').filter((c) => c.label === label && c.taught === 0);
      const found = list.filter((c) => c.delayS !== null).length;
      const at = medianDelay(list, 'delayS');
      return goalS === null
        ? []
        : [
            [
              `coolant ${label}`,
              `all, median ≤ ${goalS} s`,
              `${share(found, list.length)}, median ${whole(at)} s`,
              found < list.length ? 'yes: missed some' : at > goalS ? 'yes: median' : 'no',
            ] as const,
          ];
    }),
    row(
      'stuck-open thermostat',
      'all',
      of('cold').filter((c) => c.taught === 0),
      tooCold,
      (k, n) => k === n,
    ),
    row(
      'stuck-open thermostat, drives usable for it',
      'all',
      of('cold').filter((c) => c.taught === 0 && c.outcome.usable),
      tooCold,
      (k, n) => k === n,
    ),
    row(
      'warm-up with twice the heat, 13 taught, 70 °C reached in one go',
      '80 %',
      of('slow').filter((c) => c.taught === 13 && c.outcome.warmUp !== null),
      (c) => c.outcome.faults.some((f) => f.id === 'coolant.warm-up'),
      (k, n) => k >= 0.8 * n,
    ),
    row(
      'coolant shown good with a climb or an open thermostat put in',
      'never',
      [...of('climb'), ...of('cold')],
      good,
      none,
    ),
    row(
      'warm-up with twice the heat shown good, 1 to 13 taught',
      'never',
      of('slow').filter((c) => c.taught > 0 && c.outcome.warmUp !== null),
      (c) => c.outcome.warmUp === 'shown good',
      none,
    ),
  ];
}
