/** The boost part of docs/analysis-quality.md: each row by half, beside the goal and the plain rule of the same run. */
import { type BoostCase, enough, GLITCHES, LEFT, PLACES, TAUGHT } from './boost.ts';
import { exact } from './exact.ts';

const pct = (x: number): string => `${Math.round(1000 * x) / 10} %`;
const share = (k: number, n: number): string => {
  if (n === 0) return 'none tried';
  const [a, b] = exact(k, n);
  return `${k} of ${n} (${pct(a)} to ${pct(b)})`;
};
const table = (head: readonly string[], rows: readonly (readonly string[])[]): string =>
  [head, head.map(() => '---'), ...rows].map((cells) => `| ${cells.join(' | ')} |`).join('\n');

const accused = (c: BoostCase): boolean => c.faults.some((id) => id.startsWith('boost'));

/** "A 3/5, B 4/6": counted in each half. */
function byHalf(cases: readonly BoostCase[], hit: (c: BoostCase) => boolean): string {
  return (['A', 'B'] as const)
    .map((h) => cases.filter((c) => c.half === h))
    .map((list, i) => `${'AB'[i]} ${list.filter(hit).length}/${list.length}`)
    .join(', ');
}

type Row = readonly [what: string, goal: string, figure: string, short: string];

/** Rows beside the goals, over both halves. */
export function boostGoals(all: readonly BoostCase[]): Row[] {
  const healthy = all.filter((c) => c.what === 'healthy');
  const glitch = all.filter((c) => c.what === 'glitch');
  const loss = all.filter((c) => c.what === 'loss' && c.taught >= 3 && enough(c.evidence));
  const usable = healthy.filter((c) => c.taught >= 3 && c.evidence.pulls >= 3);
  // The system is good when both of its regions are: pulls in one alone cannot show it.
  const pulled = (c: BoostCase, place: string): boolean =>
    all.some((o) => o.name === c.name && o.label === place && o.evidence.pulls >= 3);
  const bothDriven = healthy.filter(
    (c) => c.taught === 13 && pulled(c, 'below 2000') && pulled(c, 'above 2000'),
  );
  const of = (list: readonly BoostCase[], hit: (c: BoostCase) => boolean) =>
    share(list.filter(hit).length, list.length);
  const bad = (list: readonly BoostCase[], hit: (c: BoostCase) => boolean) =>
    list.some(hit) ? `yes: ${[...new Set(list.filter(hit).map((c) => c.name))].join(', ')}` : 'no';
  const found = (left: number, place?: string): Row => {
    const list = loss.filter((c) => c.left === left && (place === undefined || c.label === place));
    const what = `boost × ${left}${place ? ` ${place} rpm` : ', anywhere'}, evidence there, taught there by three drives or more: found`;
    const goal = left === 0.9 ? 'wherever it can be seen' : 'all';
    const known = list.filter((c) => enough(c.taughtThere));
    const others = list.filter((c) => !enough(c.taughtThere));
    return [
      what,
      goal,
      `${of(known, accused)}${others.length > 0 ? `; where it is not taught ${others.filter(accused).length} of ${others.length}` : ''}`,
      known.every(accused) ? 'no' : `yes; plain rule ${of(known, (c) => c.plain)}`,
    ];
  };
  const gone = all.filter((c) => c.what === 'intermittent' && c.taught >= 3 && c.evidence.pulls >= 6);
  return [
    [
      'boost, healthy drives accused, 0 to 13 drives that teach',
      '0',
      of(healthy, accused),
      bad(healthy, accused),
    ],
    [
      'boost, healthy drives told of a fault on the way, whatever stands at the end',
      '0',
      of(healthy, (c) => c.spoken.length > 0),
      bad(healthy, (c) => c.spoken.length > 0),
    ],
    ['boost, files with glitches accused', '0', of(glitch, accused), bad(glitch, accused)],
    ...([0.9, 0.8, 0.7, 0.5, 0] as const).map((l) => found(l)),
    ...([0.8, 0.7, 0.5] as const).map((l) => found(l, 'above 2500')),
    [
      'boost gone in 30 % of pulls, six pulls or more: told',
      '95 %',
      of(gone, accused),
      gone.every(accused) ? 'no' : 'yes',
    ],
    [
      'boost, healthy, three pulls below and three above 2000 rpm, 13 drives that teach: shown good',
      '93 %',
      of(bothDriven, (c) => c.shownGood),
      bothDriven.filter((c) => c.shownGood).length >= 0.93 * bothDriven.length ? 'no' : 'yes',
    ],
    [
      'boost, healthy, three pulls anywhere, three drives that teach or more: shown good',
      '93 %',
      of(usable, (c) => c.shownGood),
      `yes: pulls in one half of engine speed, or speeds that nobody taught; plain rule accuses ${of(usable, (c) => c.plain)}`,
    ],
    [
      'boost, a loss that the drive holds evidence of, yet shown good',
      'never',
      of(loss, (c) => c.shownGood),
      bad(loss, (c) => c.shownGood),
    ],
  ];
}

export function boostText(all: readonly BoostCase[]): string {
  const sizes = TAUGHT.filter((t) => all.some((c) => c.taught === t));
  const columns = (list: readonly BoostCase[], hit: (c: BoostCase) => boolean): string[] =>
    sizes.map((t) =>
      byHalf(
        list.filter((c) => c.taught === t),
        hit,
      ),
    );
  const seen = all.filter((c) => c.what === 'loss' && enough(c.evidence));
  const head = sizes.map((t) => `${t} teach`);
  const list = (what: BoostCase['what'], label?: string) =>
    all.filter((c) => c.what === what && (label === undefined || c.label === label));
  return [
    '### Nothing wrong',
    table(
      ['drives', ...head],
      [
        ['healthy, accused', ...columns(list('healthy'), accused)],
        ['healthy, accused by the plain rule', ...columns(list('healthy'), (c) => c.plain)],
        ['healthy, shown good', ...columns(list('healthy'), (c) => c.shownGood)],
        ...Object.keys(GLITCHES).map((g) => [`${g}, accused`, ...columns(list('glitch', g), accused)]),
      ],
    ),
    '### Found, of the drives that hold evidence',
    table(
      ['loss', ...head, 'plain rule, 13 teach'],
      PLACES.flatMap((place) =>
        LEFT.map((left) => {
          const own = seen.filter((c) => c.label === place && c.left === left);
          const last = own.filter((c) => c.taught === 13);
          return [
            `× ${left} ${place}${place === 'everywhere' ? '' : ' rpm'}`,
            ...columns(own, accused),
            byHalf(last, (c) => c.plain),
          ];
        }),
      ),
    ),
    '### A loss that the drive holds evidence of, yet boost shown good',
    table(
      ['loss', ...head],
      PLACES.map((place) => [
        place,
        ...columns(
          seen.filter((c) => c.label === place),
          (c) => c.shownGood,
        ),
      ]),
    ),
    '### Boost gone in 30 % of the pulls',
    table(
      ['drives with six pulls or more', ...head],
      [
        [
          'told',
          ...columns(
            list('intermittent').filter((c) => c.evidence.pulls >= 6),
            accused,
          ),
        ],
      ],
    ),
  ].join('\n\n');
}
