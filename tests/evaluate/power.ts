/**
 * `npx tsx tests/evaluate/power.ts [PAIRS]`: one simulated healthy car on two roads of different grade, as before and after:
 * how often the interval of what is left for accelerating and climbing holds no change, how far it is off, how wide it is.
 */
import { compareRuns } from '../../src/compare/compare.ts';
import { profileSchema } from '../../src/core/profile.ts';
import { english } from '../../src/words/spelled.ts';
import { pullRoute } from '../compare/pull-route.ts';
import { receiverDrive } from '../compare/receiver-drive.ts';

const PAIRS = Number(process.argv[2] ?? 40);
const GRADES = [
  [0, 5],
  [0, 0],
  [5, 0],
  [-4, 4],
] as const;
const RATES = [
  [1, 5],
  [5, 2],
  [5, 5],
  [1, 1],
] as const;
const twin = profileSchema.parse({ induction: 'twin-charged', fuel: 'petrol' });

const mean = (list: readonly number[]): number => list.reduce((a, b) => a + b, 0) / list.length;

async function main(): Promise<void> {
  for (const pulls of [3, 4, 6]) {
    const regions = new Map<string, { off: number[]; half: number[]; level: number[]; covered: number }>();
    for (let k = 0; k < PAIRS; k++) {
      const grades = GRADES[k % 4]!;
      const rates = RATES[Math.floor(k / 4) % 4]!;
      const drives = [];
      for (const i of [0, 1])
        drives.push(
          await receiverDrive({
            route: pullRoute(grades[i]!, pulls),
            seed: 100 + 2 * k + i,
            hz: rates[i]!,
            ambientC: 15,
            baroKpa: 99,
          }),
        );
      const runs = drives.map(({ samples }, i) => {
        const role = i === 0 ? ('before' as const) : ('after' as const);
        return { id: role, label: role, role, startedAt: null, vin: null, profile: twin, samples };
      });
      for (const r of compareRuns(runs).overall) {
        if (!r.power?.interval) continue;
        const name = english.say(r.region);
        const cell = regions.get(name) ?? { off: [], half: [], level: [], covered: 0 };
        regions.set(name, cell);
        const [low, high] = r.power.interval;
        if (low <= 0 && high >= 0) cell.covered++;
        cell.off.push(r.power.differenceWkg);
        cell.half.push((high - low) / 2);
        cell.level.push(r.power.before.wkg);
      }
    }
    for (const [name, { off, half, level, covered }] of regions)
      console.log(
        `${pulls} pulls a side, ${name}: ${covered} of ${off.length} hold no change; off by ${Math.sqrt(mean(off.map((d) => d * d))).toFixed(2)} W/kg (mean ${mean(off).toFixed(2)}), interval ±${mean(half).toFixed(1)}, level ${mean(level).toFixed(0)}`,
      );
  }
}

await main();
