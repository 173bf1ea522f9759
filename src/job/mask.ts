/**
 * Leaves plate and VIN out of a copy of a job: out of every text, marks in captures included, and the answers that
 * carry the VIN out of the captures; and where it was driven, unless it is asked for. Captures that this changes are
 * sealed anew and say so.
 */
import { createWriteStream } from 'node:fs';
import { mkdir, readFile, stat, writeFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { holdsAny, type LeftOut, linesWithout, textWithout } from '../run/capture/masked.ts';
import { isPlainFile } from '../run/document.ts';
import { sha256OfFile } from '../run/hash.ts';
import { CAPTURE_FILE, captureOf, META_FILE, sealedMeta, sealOfMeta } from '../run/meta.ts';
import { type During, partOf } from '../run/types.ts';
import { isPackedDamage, plainDigest, unpacked } from '../run/unpack.ts';
import { JOB_FILE, PHOTO_FOLDER } from './files.ts';
import { cleanPhoto, photoKind } from './photo/clean.ts';

export interface Hide {
  readonly plate: boolean;
  readonly vin: boolean;
  /** The places that a satellite receiver told stay in. Default: they are left out. */
  readonly withPlaces?: boolean;
}

/** Shorter ones would black out ordinary words. */
const SHORTEST = 3;
/** Names and times that a job hangs together by; a person writes none of them. */
const STRUCTURE = new Set(['format', 'schema', 'file', 'runId', 'at', 'openedAt', 'changedAt', 'closedAt']);
const STRUCTURE_OF_RUN = new Set([...STRUCTURE, 'id', 'startedAt', 'sha256', 'seal', 'tool']);

/**
 * What finds a plate or VIN wherever it is written: case, and spaces, dots and dashes between its characters make no
 * difference. Null for what is too short to be looked for.
 */
export function secretPattern(secret: string): RegExp | null {
  const characters = [...secret.replace(/[^\p{L}\p{N}]/gu, '')];
  return characters.length < SHORTEST ? null : new RegExp(characters.join('[\\s._·-]*'), 'giu');
}

export class Mask {
  readonly #hide: Hide;
  readonly #out: LeftOut;
  readonly #touched = new Map<string, Promise<boolean>>();

  private constructor(hide: Hide, words: ReadonlySet<string>) {
    this.#hide = hide;
    // longest first, so that no part of one is left behind by another
    const names = [...words].sort((a, b) => b.length - a.length).flatMap((w) => secretPattern(w) ?? []);
    this.#out = { names, plate: hide.plate, vin: hide.vin, places: !hide.withPlaces };
  }

  /** Collects what must not be seen from all of the job's files. */
  static async of(folder: string, names: readonly string[], hide: Hide): Promise<Mask> {
    const words = new Set<string>();
    for (const name of names.filter((n) => n.endsWith('.json'))) {
      const json = await jsonOf(join(folder, name));
      if (hide.plate && name === JOB_FILE) add(words, (json as { plate?: unknown } | null)?.plate);
      if (hide.vin) add(words, (json as { vin?: unknown } | null)?.vin);
    }
    // Snapshots hold the VIN's bytes as well.
    for (const word of [...words]) words.add(Buffer.from(word, 'latin1').toString('hex'));
    return new Mask(hide, words);
  }

  /** @returns the path of what is to be packed in place of the file */
  async copy(folder: string, name: string, into: string, during: During): Promise<string> {
    const [looking, writing] = [partOf(during, 0, 2), partOf(during, 1, 2)];
    const target = join(into, name);
    if (name.startsWith(`${PHOTO_FOLDER}/`)) return copiedPhoto(join(folder, name), target);
    if (!(await this.#concerns(folder, name, looking))) return asItIs(folder, name, target, writing);
    await mkdir(dirname(target), { recursive: true });
    if (name.endsWith('.json')) {
      const keep = name.endsWith(`/${META_FILE}`) ? STRUCTURE_OF_RUN : STRUCTURE;
      const json = this.#scrubbed(await jsonOf(join(folder, name)), keep);
      const text =
        name.endsWith(`/${META_FILE}`) && typeof json === 'object' && json !== null
          ? await this.#sealedAnew(join(folder, dirname(name)), into, name, json, writing)
          : `${JSON.stringify(json, null, 2)}\n`;
      await writeFile(target, text);
      return target;
    }
    if (name.endsWith(`/${CAPTURE_FILE}`)) {
      const capture = await captureIn(dirname(join(folder, name)));
      if (await this.#touches(capture, looking)) {
        await this.#capture(capture, target, writing);
        return target;
      }
    }
    return asItIs(folder, name, target, writing);
  }

  /** With plate and VIN shown, only runs that tell places are touched at all. */
  async #concerns(folder: string, name: string, during: During): Promise<boolean> {
    if (this.#hide.plate || this.#hide.vin) return true;
    const run = name.endsWith(`/${META_FILE}`) || name.endsWith(`/${CAPTURE_FILE}`);
    return run && (await this.#touches(await captureIn(dirname(join(folder, name))), during));
  }

  /** run.json with the hash of the capture as it is packed; what did not match before does not match afterwards. */
  async #sealedAnew(
    run: string,
    into: string,
    name: string,
    meta: { sha256?: unknown },
    during: During,
  ): Promise<string> {
    const capture = await captureIn(run);
    const sealed =
      typeof meta.sha256 === 'string' && meta.sha256 === (await digestOf(capture, partOf(during, 0, 4)));
    if (sealed && (await this.#touches(capture, partOf(during, 1, 4)))) {
      const copy = join(into, dirname(name), `${CAPTURE_FILE}.masked`);
      await this.#capture(capture, copy, partOf(during, 2, 4));
      meta.sha256 = await sha256OfFile(copy, partOf(during, 3, 4));
    }
    return (await sealOfMeta(run)) === 'differs' ? `${JSON.stringify(meta, null, 2)}\n` : sealedMeta(meta);
  }

  #scrubbed(value: unknown, keep: ReadonlySet<string>): unknown {
    if (typeof value === 'string') return textWithout(this.#out.names, value);
    if (Array.isArray(value)) return value.map((v) => this.#scrubbed(v, keep));
    if (typeof value !== 'object' || value === null) return value;
    const entries = Object.entries(value).map(([k, v]) => {
      if (keep.has(k)) return [k, v];
      // A job whose folder is named after its plate gets a name that a folder may have.
      return [
        k,
        k === 'id' && typeof v === 'string'
          ? textWithout(this.#out.names, v, 'left-out')
          : this.#scrubbed(v, keep),
      ];
    });
    return Object.fromEntries(entries);
  }

  /** Whether a capture holds anything that must not be seen; one without goes along byte for byte. */
  #touches(path: string, during: During): Promise<boolean> {
    let known = this.#touched.get(path);
    if (!known) {
      known = holdsAny(path, this.#out, during);
      this.#touched.set(path, known);
    }
    return known;
  }

  async #capture(from: string, to: string, during: During): Promise<void> {
    const digest = (await digestOf(from, partOf(during, 0, 2))) ?? 'not known, it is damaged';
    const lines = linesWithout(from, this.#out, digest, partOf(during, 1, 2));
    await pipeline(Readable.from(lines), createWriteStream(to));
  }
}

/** Where the capture of a run is, or would be. */
const captureIn = async (run: string): Promise<string> => (await captureOf(run)) ?? join(run, CAPTURE_FILE);

/** Null of a compressed one that cannot be read to its end. */
const digestOf = (capture: string, during: During): Promise<string | null> =>
  plainDigest(capture, during).catch((e) => {
    if (isPackedDamage(e)) return null;
    throw e;
  });

/** Bytes that are read for the copy of a file, about: of run.json those of its capture, which its digest is of. */
export async function workOf(folder: string, name: string): Promise<number> {
  const ofRun = name.endsWith(`/${CAPTURE_FILE}`) || name.endsWith(`/${META_FILE}`);
  const path = ofRun ? await captureIn(dirname(join(folder, name))) : join(folder, name);
  return (await stat(path).catch(() => null))?.size ?? 0;
}

/** A compressed capture is packed as the plain text it was, so that every program that takes archives in takes it. */
async function asItIs(folder: string, name: string, target: string, during: During): Promise<string> {
  const own = join(folder, name);
  if (!name.endsWith(`/${CAPTURE_FILE}`) || (await isPlainFile(own))) return own;
  await mkdir(dirname(target), { recursive: true });
  const bytes = readable(await captureIn(dirname(own)), during);
  await pipeline(Readable.from(bytes), createWriteStream(target));
  return target;
}

/** Of a damaged one what can be read: its digests and run.json tell that it is not whole. */
async function* readable(capture: string, during: During): AsyncGenerator<Uint8Array> {
  try {
    yield* unpacked(capture, during);
  } catch (e) {
    if (!isPackedDamage(e)) throw e;
  }
}

/** Earlier versions kept photos as they came: what their cameras wrote stays behind. */
async function copiedPhoto(from: string, to: string): Promise<string> {
  const bytes = await readFile(from);
  const kind = photoKind(bytes);
  const clean = kind && cleanPhoto(bytes, kind);
  // What is no picture is shown nowhere and packed as it is; what is as it should be, likewise.
  if (!clean || clean.equals(bytes)) return from;
  await mkdir(dirname(to), { recursive: true });
  await writeFile(to, clean);
  return to;
}

function add(words: Set<string>, value: unknown): void {
  if (typeof value !== 'string' || value.trim() === '') return;
  words.add(value.trim());
}

async function jsonOf(path: string): Promise<unknown> {
  try {
    return JSON.parse(await readFile(path, 'utf8'));
  } catch {
    return null; // damaged: packed as nothing rather than with what must not be seen
  }
}
