/**
 * `npm run package -- TARGET… [--kind KIND] [--out DIR]`: one file a technician can be given, for each kind of the target. The same
 * sources give the same bytes. Needs what `npm ci` brought and the target's runtime, which is fetched once and cached.
 */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { gzipSync } from 'node:zlib';
import { writeDeb } from './debian.ts';
import { type Tree, tarOf } from './tar.ts';
import { type Kind, TARGETS, type TargetName } from './targets.ts';
import { build, ROOT, shownProgram, treeOf, version } from './tree.ts';
import { writeSetup, writeZip } from './windows.ts';

const args = process.argv.slice(2);
const outAt = args.indexOf('--out');
const out = resolve(outAt < 0 ? join(ROOT, 'dist', 'packages') : (args.splice(outAt, 2)[1] ?? '.'));
const kindAt = args.indexOf('--kind');
const only = kindAt < 0 ? null : args.splice(kindAt, 2)[1];
const names = args.length > 0 ? args : Object.keys(TARGETS);
const unknown = names.find((name) => !(name in TARGETS));
if (unknown !== undefined) {
  console.error(`There is no target "${unknown}". Known: ${Object.keys(TARGETS).join(', ')}.`);
  process.exit(2);
}

/** Every file carries the time of the last change of the sources (reproducible-builds.org: SOURCE_DATE_EPOCH). */
const atS = Number(process.env.SOURCE_DATE_EPOCH ?? lastChangeS());
mkdirSync(out, { recursive: true });
const built = build();
const shown = await shownProgram();
for (const name of names as TargetName[]) {
  const target = TARGETS[name];
  const tree = treeOf(target, built, shown);
  for (const kind of target.kinds.filter((k) => only === null || k === only)) {
    const file = join(out, `handback-${version()}-${name}.${kind}`);
    await write(kind, file, tree, name);
    const packed = readFileSync(file);
    const mb = (packed.length / 1e6).toFixed(1);
    console.log(
      `${createHash('sha256').update(packed).digest('hex')}  ${file}  ${mb} MB, ${tree.size} files`,
    );
  }
}

async function write(kind: Kind, file: string, tree: Tree, name: TargetName): Promise<void> {
  const folder = `handback-${version()}-${name}`;
  if (kind === 'deb') writeDeb(file, tree, TARGETS[name], { version: version(), atS });
  else if (kind === 'tar.gz') writeFileSync(file, gzipSync(tarOf(tree, folder, atS), { level: 9 }));
  else if (kind === 'zip') await writeZip(file, tree, folder, atS);
  else writeSetup(file, tree, version());
}

function lastChangeS(): string {
  const git = spawnSync('git', ['log', '-1', '--format=%ct'], { cwd: ROOT, encoding: 'utf8' });
  return git.status === 0 ? git.stdout.trim() : '1767225600';
}
