/**
 * How wide the scatter of a healthy car's boost must be taken is chosen on one half of the trips by rule and reported on
 * the other, both ways. The table of src/analysis/boost/noise.ts that ships was chosen with all trips in view.
 */
import { type BoostBaseline, learnBoost, mergeLessons } from '../../src/analysis/boost/lesson.ts';
import { profileSchema } from '../../src/core/profile.ts';
import { seededRandom } from '../../src/core/random.ts';
import { clean, judgeBoost } from './boost.ts';
import { diesel, HALVES, type Half } from './boost-drives.ts';
import { scaleBoost } from './inject-boost.ts';

const DIESEL = profileSchema.parse({ induction: 'turbocharger', fuel: 'diesel' });
/** Times the table that ships. */
const WIDTHS = [0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.15, 1.3, 1.5] as const;
const TAUGHT = [3, 7] as const;
const LEFT = [1, 0.9, 0.8] as const;
/** Three other draws of the drives that teach. */
const DRAWS = ['x', 'y', 'z'] as const;

export interface HeldOutCase {
  readonly half: Half;
  readonly width: number;
  readonly taught: number;
  readonly left: number;
  readonly accused: boolean;
  readonly good: boolean;
}

export function heldOutCases(name: string): HeldOutCase[] {
  const half: Half = HALVES.A.includes(name) ? 'A' : 'B';
  // What teaches is of the same half: the other half has no part in what is reported.
  const others = HALVES[half].filter((n) => n !== name);
  const drives = LEFT.map((left) => ({
    left,
    samples: clean(left === 1 ? diesel(name) : scaleBoost(diesel(name), left, 'everywhere')),
  }));
  return TAUGHT.flatMap((taught) =>
    DRAWS.flatMap((draw) => {
      const random = seededRandom(`held out/${name}/${taught}/${draw}`);
      const by = others
        .map((n) => ({ n, at: random.next() }))
        .sort((a, b) => a.at - b.at)
        .slice(0, taught);
      const baseline = mergeLessons(by.map(({ n }) => learnBoost(clean(diesel(n)), DIESEL)));
      return WIDTHS.flatMap((width) =>
        drives.map(({ left, samples }) => {
          const o = judgeBoost(samples, DIESEL, widened(baseline, width));
          const accused = o.faults.some((id) => id.startsWith('boost'));
          return { half, width, taught, left, accused, good: o.systemGood };
        }),
      );
    }),
  );
}

function widened(baseline: BoostBaseline, width: number): BoostBaseline {
  const { slow, fast } = baseline.noiseScale;
  return { ...baseline, noiseScale: { slow: slow * width, fast: fast * width } };
}

/** The narrowest width of which, and of every wider one, no healthy drive of the half is accused, and one step wider. */
export function chosenWidth(all: readonly HeldOutCase[], half: Half): number {
  const last = WIDTHS.findLastIndex((w) =>
    all.some((c) => c.half === half && c.width === w && c.left === 1 && c.accused),
  );
  return WIDTHS[Math.min(WIDTHS.length - 1, last + 2)]!;
}

export function heldOutText(all: readonly HeldOutCase[]): string {
  const row = (label: string, half: Half, width: number): string => {
    const own = all.filter((c) => c.half === half && c.width === width);
    const of = (left: number, yes: (c: HeldOutCase) => boolean) => {
      const list = own.filter((c) => c.left === left);
      return `${list.filter(yes).length} of ${list.length}`;
    };
    const accused = (c: HeldOutCase) => c.accused;
    const good = (c: HeldOutCase) => c.good;
    return `| ${[label, half, `× ${width}`, of(1, accused), of(1, good), of(0.9, accused), of(0.8, accused), of(0.9, good), of(0.8, good)].join(' | ')} |`;
  };
  const head = [
    ...['width', 'reported on', 'times what ships', 'healthy accused', 'healthy good'],
    ...['× 0.9 found', '× 0.8 found', '× 0.9 good', '× 0.8 good'],
  ];
  return [
    `| ${head.join(' | ')} |`,
    `| ${head.map(() => '---').join(' | ')} |`,
    row('chosen on B', 'A', chosenWidth(all, 'B')),
    row('as it ships', 'A', 1),
    row('chosen on A', 'B', chosenWidth(all, 'A')),
    row('as it ships', 'B', 1),
  ].join('\n');
}
