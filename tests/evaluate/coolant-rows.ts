/**
 * `npx tsx tests/evaluate/coolant-rows.ts [DRAW]`: the rows of docs/analysis-quality.md on coolant of the open drives alone,
 * in two processes, and each drive that stands against its goal. DRAW is any word: other drives that teach, other
 * onsets and other glitches than the page's.
 */
import { fork } from 'node:child_process';
import { halfOf } from './coolant-cases.ts';
import { type CoolantCase, coolantCases, coolantGoals } from './coolant-report.ts';

const WORKER = '--worker';
const draw = process.argv.slice(2).find((word) => word !== WORKER);

if (!process.argv.includes(WORKER)) {
  const names = [...halfOf('A'), ...halfOf('B')];
  let next = 0;
  const results: CoolantCase[][] = [];
  const worker = () =>
    new Promise<void>((whole, failed) => {
      const child = fork(import.meta.filename, [WORKER, ...(draw === undefined ? [] : [draw])]);
      let mine = -1;
      const give = () => {
        if (next >= names.length) {
          child.disconnect();
          return whole();
        }
        mine = next++;
        child.send(names[mine]!);
      };
      child.on('message', (cases) => {
        results[mine] = cases as CoolantCase[];
        give();
      });
      child.on('error', failed);
      child.on('exit', (code) => code !== 0 && failed(new Error(`worker ended with ${code}`)));
      give();
    });
  await Promise.all([worker(), worker()]);
  const all = results.flat();
  console.log('| what | goal | measured | falls short |\n| --- | --- | --- | --- |');
  for (const row of coolantGoals(all)) console.log(`| ${row.join(' | ')} |`);
  const wrong = (c: CoolantCase): string | null => {
    const shown = c.outcome.faults.map((f) => f.id).join(', ');
    if (c.what === 'healthy' || c.what === 'glitch') return shown === '' ? null : `accused: ${shown}`;
    if (c.outcome.verdict === 'good' && c.what !== 'slow') return 'called good';
    if (c.what === 'climb') return c.delayS === null ? 'not found' : null;
    if (c.what === 'cold' && c.taught === 0 && c.outcome.usable && !shown.includes('coolant.too-cold'))
      return 'not found, usable';
    return null;
  };
  for (const c of all) {
    const why = wrong(c);
    if (why !== null) console.log(`- ${c.name}, ${c.what} ${c.label}, ${c.taught} taught: ${why}`);
  }
} else
  process.on('message', (name: string) => {
    process.send!(coolantCases(name, 1, draw === undefined ? {} : { draw }));
  });
