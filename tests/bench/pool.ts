/**
 * A pool as it grows: `npx tsx tests/bench/pool.ts [drives=10000] [values=36000]` takes synthetic drives in (20 minutes,
 * 30 values a second) in four steps, and after each tells time and bytes a value, and how long each question takes; with
 * 0 values without samples, for the questions alone. On a busy computer the seconds of a core are what counts.
 */
import { mkdtempSync, readdirSync, rmSync, statSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { ask } from '../../src/pool/engine.ts';
import { Pool, partNames } from '../../src/pool/pool.ts';
import { QUESTIONS } from '../../src/pool/questions.ts';
import { Secret } from '../../src/pool/secret.ts';
import { syntheticCase } from '../pool/synthetic.ts';

const [drives = 10_000, values = 36_000] = process.argv.slice(2).map(Number);
const TRIES = 3;
const secret = new Secret(Buffer.alloc(32, 1));
const folder = mkdtempSync(join(tmpdir(), 'handback-pool-bench-'));
const pool = await Pool.begin(join(folder, 'pool'), secret);

const sizes = (): { bytes: number; samples: number; files: number } => {
  const out = { bytes: 0, samples: 0, files: 0 };
  for (const name of readdirSync(pool.folder, { recursive: true }) as string[]) {
    const info = statSync(join(pool.folder, name));
    if (!info.isFile()) continue;
    out.files++;
    out.bytes += info.size;
    if (name.startsWith('samples')) out.samples += info.size;
  }
  return out;
};

async function questions(): Promise<string> {
  const out: string[] = [];
  for (const { name, sql } of QUESTIONS) {
    const times: number[] = [];
    const cpu: number[] = [];
    for (let i = 0; i < TRIES; i++) {
      const from = performance.now();
      const used = process.cpuUsage();
      await ask(pool, sql, { kind: '', car: syntheticCase(secret, 0, 0).case.row.car! });
      times.push(performance.now() - from);
      const { user, system } = process.cpuUsage(used);
      cpu.push((user + system) / 1000);
    }
    const middle = (list: number[]): string => (list.sort((a, b) => a - b)[TRIES >> 1]! / 1000).toFixed(2);
    out.push(`${name} ${middle(times)} s (${middle(cpu)} s of a core)`);
  }
  return out.join(', ');
}

console.log(`${cpus().length} cores, Node.js ${process.version}, ${drives} drives of ${values} values`);
let done = 0;
for (const until of [drives / 4, drives / 2, (3 * drives) / 4, drives]) {
  const from = performance.now();
  const before = process.cpuUsage();
  const all = Array.from({ length: until - done }, (_, i) => syntheticCase(secret, done + i, values));
  for (const part of partNames()) {
    const own = all
      .filter((c) => c.part === part)
      .map((c) => (values === 0 ? { ...c.case, samples: [] } : c.case));
    if (own.length > 0) await pool.add(part, own, secret);
  }
  const seconds = (performance.now() - from) / 1000;
  const n = until - done;
  done = until;
  const { bytes, samples, files } = sizes();
  const { user, system } = process.cpuUsage(before);
  console.log(
    `${done} drives: ${((1000 * seconds) / n).toFixed(0)} ms a drive (${((user + system) / 1000 / n).toFixed(0)} ms of a core), ${files} files, ${(bytes / 1e6).toFixed(0)} MB, ` +
      `${(bytes / done / Math.max(1, values)).toFixed(2)} bytes a value (samples ${(samples / done / Math.max(1, values)).toFixed(2)})`,
  );
  console.log(`  ${await questions()}`);
}
const from = performance.now();
const tidied = await pool.tidy();
console.log(
  `tidied in ${((performance.now() - from) / 1000).toFixed(1)} s: ${tidied.before} files, then ${tidied.after}`,
);
console.log(`  ${await questions()}`);
rmSync(folder, { recursive: true });
