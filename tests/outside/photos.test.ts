/** Photos made by Pillow lose what a camera writes, and nothing else. */
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, expect } from 'vitest';
import { seededRandom } from '../../src/core/random.ts';
import { cleanPhoto, photoKind } from '../../src/job/photo/clean.ts';
import { needs } from '../require.ts';
import { scratch } from '../run/files.ts';

const PYTHON = '/usr/bin/python3';
const SCRIPT = join(import.meta.dirname, 'photos.py');
const hasPillow = spawnSync(PYTHON, ['-c', 'from PIL import Image']).status === 0;
const it = needs(hasPillow, 'python3-pil');

interface Told {
  readonly orientation: number;
  readonly tags: readonly number[];
  readonly place: number;
  readonly text: readonly string[];
}
const look = (folder: string): Record<string, Told> =>
  JSON.parse(execFileSync(PYTHON, [SCRIPT, 'look', folder], { encoding: 'utf8' })) as Record<string, Told>;

const folder = join(scratch(), 'as-taken');
const pictures = new Map<string, Buffer>();
const clean = (bytes: Buffer): Buffer | null => {
  const kind = photoKind(bytes);
  return kind && cleanPhoto(bytes, kind);
};

beforeAll(() => {
  if (!hasPillow) return;
  mkdirSync(folder);
  execFileSync(PYTHON, [SCRIPT, 'make', folder]);
  for (const name of readdirSync(folder)) pictures.set(name, readFileSync(join(folder, name)));
});

it('look the same, stand the same way up, keep their colours, and say nothing of camera, place or owner', () => {
  const into = join(scratch(), 'cleaned');
  mkdirSync(into);
  for (const [name, bytes] of pictures) writeFileSync(join(into, name), clean(bytes)!);
  const before = look(folder);
  const after = look(into);
  expect(Object.values(before).filter((p) => p.place > 0).length).toBeGreaterThan(15);
  for (const [name, was] of Object.entries(before)) {
    const bytes = readFileSync(join(into, name));
    expect(bytes.includes('SECRET'), name).toBe(false);
    const said = was.orientation === 1 ? [] : [0x0112];
    expect(after[name], name).toEqual({ ...was, tags: said, place: 0, text: [] });
    expect(clean(bytes), name).toEqual(bytes);
  }
}, 60_000);

it('are refused or cleaned wherever they are cut', () => {
  for (const [name, bytes] of pictures)
    for (let end = 12; end < bytes.length; end += end < 1500 ? 1 : 97) {
      const left = clean(bytes.subarray(0, end));
      expect(left?.includes('SECRET') ?? false, `${name} cut at ${end}`).toBe(false);
    }
});

it('never throw, whatever lengths and markers they are made to claim', () => {
  const random = seededRandom(17);
  const any = (n: number) => Math.floor(random.between(0, n));
  for (const [name, bytes] of pictures)
    for (let i = 0; i < 300; i++) {
      const spoilt = Buffer.from(bytes);
      for (let k = 0; k <= i % 4; k++)
        spoilt[12 + any(spoilt.length - 12)] = [0, 0xff, 0xe1, any(256)][any(4)]!;
      const left = clean(spoilt);
      expect(left === null || left.length <= spoilt.length + 64, name).toBe(true);
    }
});
