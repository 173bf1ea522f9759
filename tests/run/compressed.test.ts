/** Captures of ended runs, compressed: the same to every reader, never lost on the way, never believed when altered. */
import { execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import {
  appendFileSync,
  cpSync,
  existsSync,
  readdirSync,
  readFileSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { digestOf } from '../../src/cli/judged-apart.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { HandbackError } from '../../src/core/errors.ts';
import { StoredRuns } from '../../src/desk/stored-runs.ts';
import { check } from '../../src/run/check.ts';
import { compressRun } from '../../src/run/compress.ts';
import { createRun, listRuns, recoverRun } from '../../src/run/library.ts';
import { CAPTURE_FILE, COMPRESSED_FILE, readMeta, writeMeta } from '../../src/run/meta.ts';
import { openRecording } from '../../src/run/recording.ts';
import { plainDigest, unpacked } from '../../src/run/unpack.ts';
import { argv, ROOT } from '../cli/program.ts';
import { needs, onPath } from '../require.ts';
import {
  alterCompressed,
  compressedInPowerCuts,
  IN_FULL,
  LONG_RUN,
  plainOf,
  SHORT_RUN,
} from '../torture/compressed.ts';
import { FsTap } from '../torture/fs-tap.ts';
import { scratch } from './files.ts';

const captures = (folder: string) => readdirSync(folder).filter((name) => name.startsWith('capture'));

function copyOf(from: string, into = scratch(), name = 'run'): string {
  const folder = join(into, name);
  cpSync(from, folder, { recursive: true });
  return folder;
}

async function compressedCopy(from: string): Promise<string> {
  const folder = copyOf(from);
  expect((await compressRun(folder, IN_FULL)).is).toBe('compressed');
  expect(captures(folder)).toEqual([COMPRESSED_FILE]);
  return folder;
}

describe('a compressed capture', () => {
  it('is opened, checked and judged as the plain one, to the last digit, and is smaller', async () => {
    const library = scratch();
    const plain = copyOf(LONG_RUN, library);
    const stored = () => new StoredRuns(library, false);
    const id = (await readMeta(plain)).id;
    const seen = async () => ({
      samples: [...(await openRecording(plain)).table],
      facts: { ...(await openRecording(plain)), table: null },
      check: await check(plain),
      share: await digestOf(plain),
      view: (await stored().view(IN_FULL, id)).value,
      sheet: new TextDecoder().decode(
        await stored().sheet(IN_FULL, { of: { run: id }, choice: {}, pdf: false, nowMs: 1.7e12 }),
      ),
    });
    const before = await seen();
    const size = statSync(join(plain, CAPTURE_FILE)).size;
    const bytes = readFileSync(join(plain, CAPTURE_FILE));
    expect(await compressRun(plain, IN_FULL)).toMatchObject({ is: 'compressed', plainBytes: size });
    expect(captures(plain)).toEqual([COMPRESSED_FILE]);
    expect(statSync(join(plain, COMPRESSED_FILE)).size).toBeLessThan(size / 3);
    expect(await seen()).toEqual(before);
    expect(before.check.ok).toBe(true);
    expect(await plainOf(plain)).toEqual(bytes);
    expect(await compressRun(plain, IN_FULL)).toEqual({ is: 'already' });
    // alone, without its run.json, it is a capture as any other
    const alone = await openRecording(join(plain, COMPRESSED_FILE));
    expect([alone.kind, alone.warnings, alone.table.length]).toEqual(['capture', [], before.samples.length]);
  });

  needs(onPath('gzip'), 'gzip is not there')(
    'is what gzip(1) unpacks, and a run that gzip unpacked is one',
    async () => {
      const folder = await compressedCopy(SHORT_RUN);
      execFileSync('gzip', ['-t', join(folder, COMPRESSED_FILE)]);
      execFileSync('gzip', ['-d', join(folder, COMPRESSED_FILE)]);
      expect(readFileSync(join(folder, CAPTURE_FILE))).toEqual(readFileSync(join(SHORT_RUN, CAPTURE_FILE)));
      expect((await check(folder)).ok).toBe(true);
      execFileSync('gzip', [join(folder, CAPTURE_FILE)]); // and one that somebody packed with it
      expect((await check(folder)).ok).toBe(true);
      expect((await openRecording(folder)).warnings).toEqual([]);
    },
  );

  it('is still whole, whenever the power goes while it is made', async () => {
    const { states, broken } = await compressedInPowerCuts(SHORT_RUN);
    expect(broken).toEqual([]);
    expect(states).toBeGreaterThan(200);
  });

  it('is never believed altered; what can be read is opened, with a warning', async () => {
    const small = await alterCompressed(SHORT_RUN, 400, true);
    const large = await alterCompressed(LONG_RUN, 8, true);
    for (const r of [small, large]) expect(r).toMatchObject({ believed: 0, notOpened: 0 });
    expect(small.tried).toBeGreaterThan(330);
    expect(small.harmless).toBeLessThan(0.02 * small.tried);
  });

  it('loses a damaged stretch and what is cut off, and nothing else', async () => {
    const folder = await compressedCopy(LONG_RUN);
    const file = join(folder, COMPRESSED_FILE);
    const whole = readFileSync(file);
    const plain = readFileSync(join(LONG_RUN, CAPTURE_FILE));
    const left = async (bytes: Buffer) => {
      writeFileSync(file, bytes);
      const { warnings, table } = await openRecording(folder);
      const report = await check(folder);
      const read: Uint8Array[] = [];
      const why = await (async () => {
        for await (const chunk of unpacked(file)) read.push(chunk);
      })().catch((e: Error) => e.message);
      const is = Buffer.concat(read);
      return {
        ids: warnings.map((w) => w.id),
        n: table.length,
        ok: report.ok,
        hash: report.items[0]!.hash,
        why,
        is,
      };
    };
    const middle = Math.floor(whole.length / 2);
    const damaged = await left(Buffer.from(whole).fill(whole[middle]! ^ 4, middle, middle + 1));
    expect(damaged).toMatchObject({ ok: false, hash: 'differs', why: 'the packed file is damaged' });
    expect(damaged.ids).toEqual(expect.arrayContaining(['warn.packed', 'warn.changed']));
    // its beginning and its end, each to a line's end
    expect(damaged.is.subarray(0, 100_000)).toEqual(plain.subarray(0, 100_000));
    expect(damaged.is.subarray(-50_000)).toEqual(plain.subarray(-50_000));
    expect(damaged.is.length).toBeGreaterThan(plain.length - 300_000);

    const cut = await left(whole.subarray(0, middle));
    expect(cut).toMatchObject({ ok: false, hash: 'differs', why: 'the packed file is cut off' });
    expect(cut.is.at(-1)).toBe(10);
    expect(cut.is).toEqual(plain.subarray(0, cut.is.length));
    expect(cut.is.length).toBeGreaterThan(0.4 * plain.length);
    expect(cut.n).toBeGreaterThan(2000);

    for (const bytes of [whole.subarray(1), Buffer.concat([Buffer.from('x'), whole])]) {
      const shifted = await left(bytes); // even its first bytes
      expect(shifted).toMatchObject({ ok: false, why: 'the packed file is damaged' });
      expect(shifted.is.length).toBeGreaterThan(0.9 * plain.length);
    }
    expect((await left(Buffer.concat([whole, Buffer.alloc(3)]))).ok).toBe(false);
  });

  it('that would unpack to an absurd size is refused by everything that reads it', async () => {
    const folder = copyOf(SHORT_RUN);
    const zeros = gzipSync(Buffer.alloc(16 << 20));
    const bomb = Buffer.concat(Array.from({ length: 6 }, () => zeros)); // 96 MB of 100 kB
    const first = readFileSync(join(folder, CAPTURE_FILE));
    execFileSync('rm', [join(folder, CAPTURE_FILE)]);
    writeFileSync(join(folder, COMPRESSED_FILE), Buffer.concat([gzipSync(first), bomb]));
    const codeOf = (work: Promise<unknown>) =>
      work.then(
        () => 'no error',
        (e: unknown) => (e instanceof HandbackError ? `${e.code} ${e.told.message.id}` : String(e)),
      );
    expect(await codeOf(openRecording(folder))).toBe('input.format error.bomb');
    expect(await codeOf(plainDigest(join(folder, COMPRESSED_FILE)))).toBe('input.format error.bomb');
    expect((await check(folder)).items[0]).toMatchObject({ ok: false });
    const table = join(folder, 'table.csv.gz');
    writeFileSync(table, Buffer.concat([gzipSync('t_s,rpm\n0,800\n'), bomb]));
    expect(await codeOf(openRecording(table))).toMatch(/^input\.format/);
  });
});

describe('compressing', () => {
  it('leaves alone what is open, not as it was recorded, or no plain file', async () => {
    const clock = new ManualClock();
    const where = { folder: join(scratch(), 'run') };
    const open = await createRun({ where, purpose: 'other', tool: 'test', clock });
    expect(await compressRun(open.folder, IN_FULL)).toEqual({ is: 'open' });
    await open.close();
    const capture = join(open.folder, CAPTURE_FILE);
    const whole = readFileSync(capture);
    appendFileSync(capture, '1 note "added"\n');
    expect(await compressRun(open.folder, IN_FULL)).toEqual({ is: 'changed' });
    expect(captures(open.folder)).toEqual([CAPTURE_FILE]);
    writeFileSync(capture, whole);
    const outside = join(scratch(), 'elsewhere');
    writeFileSync(outside, 'mine');
    symlinkSync(outside, join(open.folder, COMPRESSED_FILE));
    await expect(compressRun(open.folder, IN_FULL)).rejects.toMatchObject({ code: 'input.file' });
    expect(readFileSync(outside, 'utf8')).toBe('mine');
    expect(readFileSync(capture)).toEqual(whole);
  });

  it('keeps the right one of two, and puts aside what is not', async () => {
    const folder = await compressedCopy(SHORT_RUN);
    const whole = readFileSync(join(folder, COMPRESSED_FILE));
    const plain = readFileSync(join(SHORT_RUN, CAPTURE_FILE));
    writeFileSync(join(folder, `${COMPRESSED_FILE}.0a1b2c3d.tmp`), whole.subarray(0, 40));
    writeFileSync(join(folder, CAPTURE_FILE), plain);
    expect((await compressRun(folder, IN_FULL)).is).toBe('compressed');
    expect(captures(folder)).toEqual([COMPRESSED_FILE]);
    // the compressed one is no good: made anew
    writeFileSync(join(folder, CAPTURE_FILE), plain);
    writeFileSync(join(folder, COMPRESSED_FILE), whole.subarray(0, 40));
    expect((await check(folder)).ok).toBe(true);
    expect((await compressRun(folder, IN_FULL)).is).toBe('compressed');
    expect(readFileSync(join(folder, COMPRESSED_FILE))).toEqual(whole);
    // the plain one is not what was recorded
    writeFileSync(join(folder, CAPTURE_FILE), 'handback-capture 1\n');
    expect((await check(folder)).ok).toBe(false);
    await compressRun(folder, IN_FULL);
    expect(captures(folder).sort()).toEqual(['capture.changed.txt', COMPRESSED_FILE]);
    expect((await check(folder)).ok).toBe(true);
    // neither is: nothing is touched
    writeFileSync(join(folder, CAPTURE_FILE), 'x\n');
    writeFileSync(join(folder, COMPRESSED_FILE), 'y\n');
    expect((await compressRun(folder, IN_FULL)).is).toBe('changed');
    expect(captures(folder)).toHaveLength(3);
  });

  it('on a full disk, or stopped, leaves the plain one and nothing else', async () => {
    const folder = copyOf(SHORT_RUN);
    const before = readFileSync(join(folder, CAPTURE_FILE));
    for (const [failing, nth] of [
      ['write', 0],
      ['write', 1],
      ['sync', 0],
      ['rename', 0],
    ] as const) {
      const tap = new FsTap();
      let seen = 0;
      tap.fail = (op) =>
        op === failing && seen++ === nth ? Object.assign(new Error('full'), { code: 'ENOSPC' }) : null;
      tap.install();
      const thrown = await compressRun(folder, IN_FULL).catch((e: unknown) => e);
      tap.uninstall();
      expect([failing, (thrown as HandbackError).code]).toEqual([failing, 'run.write']);
      expect(captures(folder)).toEqual([CAPTURE_FILE]);
    }
    const stop = new AbortController();
    const stopped = compressRun(folder, {
      signal: stop.signal,
      progress: (share) => {
        if (share > 0.3) stop.abort(new Error('stopped'));
      },
    });
    await expect(stopped).rejects.toThrow('stopped');
    expect(captures(folder)).toEqual([CAPTURE_FILE]);
    expect(readFileSync(join(folder, CAPTURE_FILE))).toEqual(before);
  });

  it('is refused where nothing can be added any more, and a new run does not hide one', async () => {
    const folder = await compressedCopy(SHORT_RUN);
    await writeMeta(folder, { ...(await readMeta(folder)), sha256: null, seconds: null });
    await expect(recoverRun(folder)).rejects.toMatchObject({ code: 'run.write' });
    expect(captures(folder)).toEqual([COMPRESSED_FILE]);
    execFileSync('rm', [join(folder, 'run.json')]);
    const clock = new ManualClock();
    const again = createRun({ where: { folder }, purpose: 'other', tool: 'test', clock });
    await expect(again).rejects.toMatchObject({ code: 'library.path' });
    expect((await openRecording(folder)).table.length).toBeGreaterThan(0);
  });

  it('is done by a command for a whole library, by two at once as well', async () => {
    const library = scratch();
    for (const name of ['one', 'two', 'three']) {
      const folder = copyOf(LONG_RUN, library, name);
      await writeMeta(folder, { ...(await readMeta(folder)), id: name });
    }
    const run = async () => {
      const child = spawn(process.execPath, argv('--json', 'compress', '--library', library), { cwd: ROOT });
      let out = '';
      child.stdout.on('data', (d: Buffer) => (out += d.toString()));
      let err = '';
      child.stderr.on('data', (d: Buffer) => (err += d.toString()));
      const [status] = (await once(child, 'close')) as [number];
      return { status, out, err };
    };
    const two = await Promise.all([run(), run()]);
    // one of them may come upon the other's work, or be told that the library is in use; nothing is lost by it
    for (const { runs } of [await listRuns(library)]) expect(runs).toHaveLength(3);
    expect((await check(library)).ok).toBe(true);
    const last = await run();
    expect([last.status, JSON.parse(last.out)]).toMatchObject([0, { open: 0, changed: 0 }]);
    for (const name of ['one', 'two', 'three']) {
      expect(captures(join(library, name))).toEqual([COMPRESSED_FILE]);
      expect(existsSync(join(library, name, 'lock'))).toBe(false);
    }
    expect((await check(library)).ok).toBe(true);
    expect(two.map((t) => t.status).every((s) => [0, 2, 5].includes(s))).toBe(true);
  });
});
