/** An hour's run, for measuring what opening one costs. */
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { sha256OfFile } from '../../src/run/hash.ts';
import { CAPTURE_FILE, readMeta, writeMeta } from '../../src/run/meta.ts';
import { ROOT } from './versions.ts';

/**
 * A recorded capture driven over and over until an hour is full, as a run of its own in the library.
 * @returns id
 */
export async function anHour(library: string, id: string): Promise<string> {
  const folder = join(library, id);
  mkdirSync(folder);
  const [first, ...rest] = readFileSync(join(ROOT, 'captures/clutch-never-closes', CAPTURE_FILE), 'utf8')
    .trimEnd()
    .split('\n')
    .filter((line) => !line.includes(' digest '));
  const lines = rest.map(
    (line) => [Number(line.slice(0, line.indexOf(' '))), line.slice(line.indexOf(' '))] as const,
  );
  const lapUs = lines.at(-1)![0] + 1e5;
  const laps = Array.from({ length: Math.ceil(3600e6 / lapUs) }, (_, k) =>
    lines.map(([tUs, text]) => `${tUs + k * lapUs}${text}\n`).join(''),
  );
  const path = join(folder, CAPTURE_FILE);
  writeFileSync(path, `${first}\n${laps.join('')}`);
  const meta = await readMeta(join(ROOT, 'captures/clutch-never-closes'));
  await writeMeta(folder, { ...meta, id, sha256: await sha256OfFile(path) });
  return id;
}
