/** A job packed and taken in again, with plate and VIN left out on request; archives made to do harm are refused. */

import {
  appendFileSync,
  createWriteStream,
  existsSync,
  lstatSync,
  readdirSync,
  readFileSync,
  readlinkSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { gunzipSync, gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import yazl from 'yazl';
import { ManualClock } from '../../src/core/clock.ts';
import { HandbackError } from '../../src/core/errors.ts';
import { seededRandom } from '../../src/core/random.ts';
import { packJob, unpackJob } from '../../src/job/archive.ts';
import { savePhoto } from '../../src/job/files.ts';
import { createJob, findJob, updateJob } from '../../src/job/library.ts';
import type { Hide } from '../../src/job/mask.ts';
import { check } from '../../src/run/check.ts';
import { compressRun } from '../../src/run/compress.ts';
import { sha256OfFile } from '../../src/run/hash.ts';
import { createRun } from '../../src/run/library.ts';
import { lockRun } from '../../src/run/lock.ts';
import { CAPTURE_FILE, readMeta, writeMeta } from '../../src/run/meta.ts';
import { openRecording } from '../../src/run/recording.ts';
import { english } from '../../src/words/spelled.ts';
import { inWords } from '../in-words.ts';
import { plain, scratch } from '../run/files.ts';
import { IN_FULL } from '../torture/compressed.ts';
import { shortRun, VIN } from './drives.ts';
import { POINT, pointWith } from './point.ts';

const clock = new ManualClock(0, Date.UTC(2026, 2, 5, 9));

async function madeJob(library: string, original = false) {
  const fields = {
    vehicle: 'Practice',
    plate: 'AB-C 12',
    vin: VIN,
    complaint: `Howls. Plate ab-c 12, VIN ${VIN}.`,
  };
  const { job, folder } = await createJob(library, fields, clock);
  const run = await shortRun({ library: folder });
  const photo = await savePhoto(
    folder,
    job,
    { bytes: pointWith('taken here'), caption: 'pump', original },
    job.openedAt,
  );
  await updateJob(library, job.id, clock, (j) => ({ ...j, photos: [photo] }));
  return { id: job.id, folder, run };
}

const photoOf = (folder: string): string => readdirSync(join(folder, 'photos'))[0]!;

async function packed(folder: string, hide: Hide = { plate: false, vin: false }): Promise<string> {
  const file = join(scratchOfFile, `${Math.random().toString(36).slice(2)}.zip`);
  await packJob(folder, file, hide);
  return file;
}
const scratchOfFile = scratch();
const OPEN_FILES = '/proc/self/fd';
/** Before every file in a .zip (its application note, 4.3.7). */
const FILE_HEAD = Buffer.from('PK\x03\x04');

const filesOf = (folder: string): Record<string, Buffer> =>
  Object.fromEntries(
    readdirSync(folder, { recursive: true, withFileTypes: true })
      .filter((e) => e.isFile())
      .map((e) => join(e.parentPath, e.name))
      .map((path) => [path.slice(folder.length + 1), readFileSync(path)]),
  );

describe('a packed job', () => {
  it('tells how far it is, and given up at any place leaves nothing behind', async () => {
    const { folder } = await madeJob(scratch());
    const file = await packed(folder);
    const other = scratch();
    const shares: number[] = [];
    await unpackJob(file, other, { ...IN_FULL, progress: (s) => shares.push(s) });
    expect(shares).toEqual(shares.toSorted((a, b) => a - b));
    expect(shares.at(-1)).toBe(1);
    for (const at of [shares[1]!, shares.at(-2)!, 1]) {
      const gone = new AbortController();
      const progress = (s: number): void => {
        if (s >= at) gone.abort(new Error('no more'));
      };
      const empty = scratch();
      await expect(unpackJob(file, empty, { signal: gone.signal, progress })).rejects.toThrow('no more');
      expect(readdirSync(empty)).toEqual([]);
    }
  });

  it('tells how far one large capture is taken in, and stops in its midst', async () => {
    const { folder, run } = await madeJob(scratch());
    const capture = join(folder, run.id, CAPTURE_FILE);
    const random = seededRandom(5);
    const words = () =>
      Array.from({ length: 20 }, () => Math.floor(1e9 * random.next()).toString(36)).join(' ');
    let text = '';
    while (text.length < 2e6) text += `2000000 note "${words()}"\n`;
    appendFileSync(capture, text);
    await writeMeta(join(folder, run.id), { ...run, sha256: await sha256OfFile(capture) });
    const file = await packed(folder);
    const shares: number[] = [];
    const other = scratch();
    await unpackJob(file, other, { ...IN_FULL, progress: (s) => shares.push(s) });
    expect(shares).toEqual(shares.toSorted((a, b) => a - b));
    expect(new Set(shares.filter((s) => s > 0.01 && s < 0.49)).size).toBeGreaterThan(10);
    const gone = new AbortController();
    const progress = (s: number): void => {
      if (s > 0.2) gone.abort(new Error('no more'));
    };
    const empty = scratch();
    await expect(unpackJob(file, empty, { signal: gone.signal, progress })).rejects.toThrow('no more');
    expect(readdirSync(empty)).toEqual([]);
  });

  it('comes back byte for byte and its runs are as they were recorded', async () => {
    const { id, folder } = await madeJob(scratch(), true);
    const other = scratch();
    expect(await unpackJob(await packed(folder), other)).toEqual({ id, remarks: [] });
    const { [`originals/${photoOf(folder)}`]: original, ...files } = filesOf(folder);
    expect(original?.includes('taken here')).toBe(true);
    expect(filesOf(join(other, id))).toEqual(files);
    expect(files[`photos/${photoOf(folder)}`]).toEqual(POINT);
    expect((await check(other)).ok).toBe(true);
    expect(readdirSync(other)).toEqual([id]);
  });

  it('leaves out where it was driven unless asked, and every value stays', async () => {
    const { folder } = await madeJob(scratch());
    const GGA = '$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47';
    const RMC = '$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A';
    const GLL = '$GPGLL,4807.038,N,01131.000,E,123519,A*24';
    const open = await createRun({
      ...{ where: { library: folder }, purpose: 'other', tool: 'test', clock, receiver: true },
    });
    for (const [i, line] of [GGA, RMC, GLL, `${GGA.slice(0, -1)}0`].entries())
      open.capture.wire({ kind: 'nmea', tUs: clock.nowUs() + i, line });
    await open.close();
    const seen = async (withPlaces: boolean) => {
      const other = scratch();
      const { id } = await unpackJob(await packed(folder, { plate: false, vin: false, withPlaces }), other);
      const run = join(other, id, open.id);
      expect(await check(run)).toMatchObject({ ok: true });
      const { table } = await openRecording(run);
      return { text: readFileSync(join(run, 'capture.txt'), 'utf8'), samples: [...table] };
    };
    const whole = await seen(true);
    expect(whole.text).toBe(readFileSync(join(open.folder, 'capture.txt'), 'utf8'));
    const without = await seen(false);
    expect(without.text).toContain('where it was driven was left out of this copy');
    expect(without.text.match(/ nmea /g)).toHaveLength(2);
    expect(without.text).not.toMatch(/4807|01131/);
    expect(without.samples).toEqual(whole.samples);
    expect(without.samples).toHaveLength(7);
  });

  it('leaves out where it was driven of a capture that somebody packed', async () => {
    const { folder } = await madeJob(scratch());
    const open = await createRun({
      ...{ where: { library: folder }, purpose: 'other', tool: 'test', clock, receiver: true },
    });
    const line = '$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47';
    open.capture.wire({ kind: 'nmea', tUs: clock.nowUs(), line });
    await open.close();
    const path = join(open.folder, 'capture.txt');
    writeFileSync(path, gzipSync(readFileSync(path)));
    const other = scratch();
    const { id } = await unpackJob(await packed(folder), other);
    const bytes = readFileSync(join(other, id, open.id, 'capture.txt'));
    const text = bytes[0] === 0x1f ? gunzipSync(bytes).toString() : bytes.toString();
    expect(text).toContain(' nmea ');
    expect(text).not.toContain('4807');
  });

  it('leaves out what cameras wrote of photos that an earlier version kept as they came', async () => {
    const { id, folder } = await madeJob(scratch());
    writeFileSync(join(folder, 'photos', photoOf(folder)), pointWith('taken here'));
    const other = scratch();
    await unpackJob(await packed(folder), other);
    expect(filesOf(join(other, id))[`photos/${photoOf(folder)}`]).toEqual(POINT);
  });

  it('is never packed without one of its runs, nor while one is being recorded', async () => {
    const { folder, run } = await madeJob(scratch());
    const out = join(scratch(), 'job.zip');
    const release = await lockRun(join(folder, run.id));
    await expect(packJob(folder, out)).rejects.toMatchObject({ code: 'run.busy' });
    await release();
    renameSync(join(folder, run.id), join(folder, 'Before repair'));
    await expect(packJob(folder, out)).rejects.toMatchObject({
      code: 'library.path',
      message: expect.stringContaining('Before repair'),
    });
    expect(existsSync(out)).toBe(false);
  });

  it('says so when its file cannot be made, and writes over none', async () => {
    const { folder } = await madeJob(scratch());
    const out = join(scratch(), 'job.zip');
    await expect(packJob(folder, join(out, 'nowhere.zip'))).rejects.toMatchObject({ code: 'run.write' });
    writeFileSync(out, 'mine');
    await expect(packJob(folder, out)).rejects.toMatchObject({ code: 'run.write' });
    expect(readFileSync(out, 'utf8')).toBe('mine');
  });

  it('is not taken in over a job that is there', async () => {
    const library = scratch();
    const { folder } = await madeJob(library);
    const file = await packed(folder);
    await expect(unpackJob(file, library)).rejects.toMatchObject({ code: 'library.path' });
    expect((await findJob(library, folder.split('/').at(-1)!)).runs).toHaveLength(1);
  });

  it('without plate and VIN holds neither, and its captures are sealed anew and say so', async () => {
    const { id, folder, run } = await madeJob(scratch());
    const other = scratch();
    await unpackJob(await packed(folder, { plate: true, vin: true }), other);
    const all = Object.entries(filesOf(join(other, id)));
    const hex = Buffer.from(VIN).toString('hex');
    const answers = Buffer.from(hex.slice(0, 6).toUpperCase()).toString('hex');
    for (const [name, bytes] of all) {
      const text = bytes.toString('latin1').toLowerCase();
      for (const secret of [VIN.toLowerCase(), hex, answers, 'ab-c 12'])
        expect([name, text.includes(secret)]).toEqual([name, false]);
    }
    expect((await findJob(other, id)).job.complaint).toBe('Howls. Plate (left out), VIN (left out).');
    expect((await check(other)).ok).toBe(true);
    const [before, after] = [
      await openRecording(join(folder, run.id)),
      await openRecording(join(other, id, run.id)),
    ];
    expect(plain(after.table)).toEqual(plain(before.table));
    expect(after.warnings.map(inWords).join()).toContain(run.sha256);
  });

  it('without the plate alone loses it from marks as well, however it is spaced, and keeps its wire', async () => {
    const { id, folder, run } = await madeJob(scratch());
    const meta = await readMeta(join(folder, run.id));
    const capture = join(folder, run.id, 'capture.txt');
    const mark = '1 mark {"key":"M","text":"the grey one, abc 12"}\n';
    writeFileSync(capture, readFileSync(capture, 'utf8') + mark);
    await writeMeta(join(folder, run.id), { ...meta, sha256: await sha256OfFile(capture) });
    const other = scratch();
    await unpackJob(await packed(folder, { plate: true, vin: false }), other);
    const copy = readFileSync(join(other, id, run.id, 'capture.txt'), 'utf8');
    expect(copy).toContain('the grey one, (left out)');
    const wire = (text: string) => text.split('\n').filter((l) => / (?:rx|tx|request) /.test(l));
    expect(wire(copy)).toEqual(wire(readFileSync(capture, 'utf8')));
    expect((await check(other)).items.map((i) => i.hash)).toEqual(['matches']);
  });

  it('named after its plate gets another name where the plate is left out', async () => {
    const library = scratch();
    const { job, folder } = await createJob(library, { reference: 'AB-C 12', plate: 'AB-C 12' }, clock);
    expect(job.id).toContain('ab-c-12');
    const { id } = await unpackJob(await packed(folder, { plate: true, vin: false }), scratch());
    expect(id).toBe(job.id.replace('ab-c-12', 'left-out'));
  });

  it('of a compressed run holds what that of the plain one holds, whatever is left out', async () => {
    const library = scratch();
    const { folder, run } = await madeJob(library);
    const runFolder = join(folder, run.id);
    const hides: Hide[] = [
      { plate: false, vin: false },
      { plate: true, vin: false },
      { plate: true, vin: true },
    ];
    const seen = async () => {
      const all = [];
      for (const hide of hides) {
        const other = scratch();
        const { id, remarks } = await unpackJob(await packed(folder, hide), other);
        expect(remarks).toEqual([]);
        all.push(filesOf(join(other, id)));
      }
      return all;
    };
    const before = await seen();
    await compressRun(runFolder, IN_FULL);
    expect(existsSync(join(runFolder, 'capture.txt'))).toBe(false);
    expect(await seen()).toEqual(before);
    // a damaged one is packed with what can be read of it, and what is taken in says so
    const file = join(runFolder, 'capture.txt.gz');
    writeFileSync(file, readFileSync(file).subarray(0, -60));
    for (const hide of hides) {
      const other = scratch();
      const { id, remarks } = await unpackJob(await packed(folder, hide), other);
      expect(remarks.length).toBeGreaterThan(0);
      expect((await openRecording(join(other, id, run.id))).table.length).toBeGreaterThan(20);
    }
  });

  it('without the VIN still does not match when it did not before', async () => {
    const { folder, run } = await madeJob(scratch());
    const capture = join(folder, run.id, 'capture.txt');
    writeFileSync(capture, readFileSync(capture, 'utf8').replace(' rx 37', ' rx 38'));
    const other = scratch();
    await unpackJob(await packed(folder, { plate: false, vin: true }), other);
    expect((await check(other)).items.map((i) => i.hash)).toEqual(['differs']);
  });

  it('is not written from what is no job', async () => {
    await expect(packed(scratch())).rejects.toMatchObject({ code: 'input.file' });
  });

  it('says what was wrong with a run before it was packed', async () => {
    const { folder, run } = await madeJob(scratch());
    const capture = join(folder, run.id, 'capture.txt');
    writeFileSync(capture, readFileSync(capture, 'utf8').replace(' rx 37', ' rx 38'));
    const other = scratch();
    const { remarks } = await unpackJob(await packed(folder), other);
    expect(remarks.map((r) => english.say(r)).join(' ')).toContain('SHA-256');
  });
});

type Build = (zip: yazl.ZipFile) => void;

async function zipOf(build: Build, patch: (bytes: Buffer) => void = () => undefined): Promise<string> {
  const zip = new yazl.ZipFile();
  build(zip);
  zip.end();
  const file = join(scratchOfFile, `${Math.random().toString(36).slice(2)}.zip`);
  await pipeline(zip.outputStream, createWriteStream(file));
  const bytes = readFileSync(file);
  patch(bytes);
  writeFileSync(file, bytes);
  return file;
}

/** Both places where a name stands, by one of the same length. */
const renamed = (from: string, to: string) => (bytes: Buffer) => {
  expect(to).toHaveLength(from.length);
  for (let at = bytes.indexOf(from); at >= 0; at = bytes.indexOf(from, at + 1)) bytes.write(to, at, 'latin1');
};

const JSON_BYTES = Buffer.from('{}');
const basics: Build = (zip) => {
  zip.addBuffer(JSON_BYTES, 'job.json');
  zip.addBuffer(JSON_BYTES, 'archive.json');
};
const CENTRAL = Buffer.from('504b0102', 'hex');

/** Writes into the central directory's entry of a name. */
const inDirectory = (name: string, write: (bytes: Buffer, at: number) => void) => (bytes: Buffer) => {
  for (let at = bytes.indexOf(CENTRAL); at >= 0; at = bytes.indexOf(CENTRAL, at + 1))
    if (bytes.subarray(at + 46, at + 46 + name.length).toString() === name) write(bytes, at);
};

describe('an archive made to do harm', () => {
  const named = (name: string): [Build, (bytes: Buffer) => void] => {
    const place = `x${'y'.repeat(name.length - 1)}`;
    return [
      (zip) => {
        basics(zip);
        zip.addBuffer(JSON_BYTES, place);
      },
      renamed(place, name),
    ];
  };
  const bomb: Build = (zip) => {
    basics(zip);
    zip.addBuffer(Buffer.alloc(8 * 2 ** 20), 'snapshots/a.json');
  };
  const cases: [string, string, Build, ((bytes: Buffer) => void)?][] = [
    ['climbs out of its folder', 'invalid relative path', ...named('../../evil.json')],
    ['names an absolute path', 'absolute path', ...named('/etc/handback.json')],
    ['uses backslashes', 'invalid characters', ...named('photos\\..\\x.json')],
    ['names a device', 'name of a device', ...named('snapshots/con.json')],
    ['brings a program', 'is no file of a job', ...named('photos/run.exe')],
    ['brings an archive in the archive', 'is no file of a job', ...named('photos/inner.zip')],
    ['turns letters around', 'is no file of a job', ...named('photos/a\u0080gpj.exe')],
    ['holds a hidden file', 'is no file of a job', ...named('photos/.htaccess')],
    [
      'has a name twice',
      'is in it twice',
      (zip) => {
        basics(zip);
        zip.addBuffer(JSON_BYTES, 'job.json');
      },
    ],
    [
      'carries a link',
      'is a link',
      basics,
      inDirectory('job.json', (bytes, at) => void bytes.writeUInt32LE((0o120777 << 16) >>> 0, at + 38)),
    ],
    [
      'is encrypted',
      'is encrypted',
      basics,
      inDirectory(
        'job.json',
        (bytes, at) => void bytes.writeUInt16LE(bytes.readUInt16LE(at + 8) | 1, at + 8),
      ),
    ],
    ['is a bomb and says so', 'absurd size', bomb],
    [
      'is a bomb and denies it',
      'cannot be unpacked',
      bomb,
      inDirectory('snapshots/a.json', (bytes, at) => void bytes.writeUInt32LE(1000, at + 24)),
    ],
    [
      'declares more than the largest file',
      'is too large',
      basics,
      inDirectory('job.json', (bytes, at) => void bytes.writeUInt32LE(0x7fff_0000, at + 24)),
    ],
    [
      'lets two files share their bytes',
      'overlap',
      basics,
      inDirectory('archive.json', (bytes, at) => void bytes.writeUInt32LE(5, at + 42)),
    ],
    [
      'holds too many files',
      'more than 2000',
      (zip) => {
        basics(zip);
        for (let i = 0; i < 2000; i++) zip.addBuffer(JSON_BYTES, `snapshots/n${i}.json`);
      },
    ],
    ['has no job', 'has no job.json', (zip) => zip.addBuffer(JSON_BYTES, 'archive.json')],
  ];
  it.each(cases)('and %s is refused', async (_what, why, build, patch) => {
    const library = scratch();
    const file = await zipOf(build, patch);
    const error = await unpackJob(file, library).catch((e: unknown) => e);
    expect(error).toBeInstanceOf(HandbackError);
    expect((error as HandbackError).message).toContain(why);
    expect(readdirSync(library)).toEqual([]);
    expect(existsSync(join(library, '..', 'evil.json'))).toBe(false);
  });

  it.each([Buffer.alloc(0), Buffer.from('no zip at all'), Buffer.alloc(4000, 0x50)])(
    'or is no archive',
    async (bytes) => {
      const library = scratch();
      const file = join(scratchOfFile, 'junk.zip');
      writeFileSync(file, bytes);
      await expect(unpackJob(file, library)).rejects.toMatchObject({ code: 'input.format' });
      expect(readdirSync(library)).toEqual([]);
    },
  );

  it.skipIf(!existsSync(OPEN_FILES))(
    'that lacks the head of a file is refused and leaves none open',
    async () => {
      const good = readFileSync(await packed((await madeJob(scratch())).folder));
      const file = join(scratchOfFile, 'headless.zip');
      const library = scratch();
      for (let at = good.indexOf(FILE_HEAD); at >= 0; at = good.indexOf(FILE_HEAD, at + 1)) {
        const bytes = Buffer.from(good);
        bytes[at] = 0;
        writeFileSync(file, bytes);
        await expect(unpackJob(file, library)).rejects.toMatchObject({ code: 'input.format' });
      }
      const paths = readdirSync(OPEN_FILES).flatMap((n) => {
        const link = join(OPEN_FILES, n);
        return lstatSync(link, { throwIfNoEntry: false }) ? [readlinkSync(link)] : [];
      });
      expect(paths.filter((path) => path.startsWith(library))).toEqual([]);
    },
  );

  it('that was changed anywhere is refused, or comes in exactly as packed', async () => {
    const { id, folder } = await madeJob(scratch());
    const good = readFileSync(await packed(folder));
    const files = filesOf(folder);
    const file = join(scratchOfFile, 'changed.zip');
    let refused = 0;
    for (let at = 0; at < good.length; at += Math.ceil(good.length / 60)) {
      const bytes = Buffer.from(good);
      bytes[at]! ^= 0x55;
      writeFileSync(file, bytes);
      const library = scratch();
      const got = await unpackJob(file, library).catch((e: unknown) => e);
      if (got instanceof HandbackError) {
        refused++;
        expect(readdirSync(library)).toEqual([]);
      } else expect(filesOf(join(library, id))).toEqual(files);
    }
    expect(refused).toBeGreaterThan(30);
  });
});

describe('an archive that is given up', () => {
  it('while its files are packed, told byte by byte, leaves no file', async () => {
    const { folder } = await madeJob(join(scratchOfFile, 'packing'), true);
    const pack = (file: string, during: Parameters<typeof packJob>[3]) =>
      packJob(folder, file, { plate: false, vin: false }, during);
    const shares: number[] = [];
    await pack(join(scratchOfFile, 'whole.zip'), { ...IN_FULL, progress: (s) => shares.push(s) });
    expect(shares).toEqual(shares.toSorted((a, b) => a - b));
    expect(shares.at(-1)).toBe(1);
    const packing = shares.filter((s) => s > 0.5);
    expect(packing.length).toBeGreaterThan(3);
    for (const at of [packing[0]!, packing.at(-2)!]) {
      const stop = new AbortController();
      const progress = (s: number): void => {
        if (s >= at) stop.abort(new Error('stopped'));
      };
      const file = join(scratchOfFile, `stopped-at-${at}.zip`);
      await expect(pack(file, { signal: stop.signal, progress })).rejects.toThrow('stopped');
      expect(existsSync(file)).toBe(false);
    }
  });

  it.each([
    ['shown', { plate: false, vin: false }],
    ['hidden', { plate: true, vin: true }],
  ])(
    'tells how far the copy of one large capture is, plate and VIN %s, and leaves nothing in its midst',
    async (which, hide) => {
      const { folder, run } = await madeJob(join(scratchOfFile, `large-${which}`));
      const capture = join(folder, run.id, CAPTURE_FILE);
      appendFileSync(capture, '2000000 note "a remark that is long enough to fill a file"\n'.repeat(80_000));
      await writeMeta(join(folder, run.id), { ...run, sha256: await sha256OfFile(capture) });
      const shares: number[] = [];
      const file = join(scratchOfFile, `large-${which}.zip`);
      await packJob(folder, file, hide, { ...IN_FULL, progress: (s) => shares.push(s) });
      expect(shares).toEqual(shares.toSorted((a, b) => a - b));
      // Five megabytes, looked at a quarter of one at a time, and hashed.
      expect(new Set(shares.filter((s) => s > 0.01 && s < 0.49)).size).toBeGreaterThan(30);
      const stop = new AbortController();
      const progress = (s: number): void => {
        if (s > 0.2) stop.abort(new Error('stopped'));
      };
      rmSync(file);
      const stopped = packJob(folder, file, hide, { signal: stop.signal, progress });
      await expect(stopped).rejects.toThrow('stopped');
      expect(existsSync(file)).toBe(false);
    },
  );

  it.each([0, 1])('while file %i is read leaves no file', async (at) => {
    const { folder } = await madeJob(join(scratchOfFile, `stopped-${at}`));
    const stop = new AbortController();
    let read = 0;
    const during = {
      signal: stop.signal,
      progress: () => {
        if (read++ === at) stop.abort(new Error('stopped'));
      },
    };
    const file = join(scratchOfFile, `stopped-${at}.zip`);
    await expect(packJob(folder, file, { plate: false, vin: false }, during)).rejects.toThrow('stopped');
    expect(existsSync(file)).toBe(false);
  });
});
