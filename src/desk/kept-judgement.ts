/**
 * What was found out about an ended run, kept beside it: `judgement.json` and the decoded values, `samples.parquet`.
 * Both are caches. They may be deleted at any time, hold nothing that the capture does not, and are believed only under
 * their key (digest of the capture as it is now, program, profile, marks, what taught it) and with a seal that nobody
 * makes who has not this user's secret: a file that was damaged, altered or brought along from elsewhere is made again.
 */
import { createHash } from 'node:crypto';
import { lstat, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { LRUCache } from 'lru-cache';
import { say } from '../core/check-says.ts';
import type { Sample } from '../core/signals.ts';
import { codeStamp } from '../run/code-stamp.ts';
import { isPlainFile } from '../run/document.ts';
import { refuseReadOnly } from '../run/library-format.ts';
import { JUDGEMENT_FILE, replaceFile, SAMPLES_FILE } from '../run/meta.ts';
import type { CheckedCache } from '../run/read-documents.ts';
import type { RecordingFacts } from '../run/recording.ts';
import { bytesOf, isTooLarge, Sealed } from '../run/sealed.ts';
import type { Decoded } from './decoded.ts';

/** By itself and taught, before and after a change of what teaches or was answered, what it teaches, its check; the oldest goes first. */
const MOST_ENTRIES = 8;

interface Entry {
  readonly key: string;
  readonly value: unknown;
}

/** What a capture holds besides its samples. */
export interface KeptFacts extends Pick<RecordingFacts, 'marks' | 'gaps' | 'warnings'> {
  /** It tells where it was driven; where that was stays in the capture. */
  readonly hasPlaces: boolean;
}

interface Samples {
  readonly sha256: string;
  readonly of: string;
  readonly facts: KeptFacts;
}

interface Content {
  readonly format: 'handback.judged/2';
  /** SHA-256 of the samples' file, and from what they were decoded by which program; null where there is none. */
  readonly samples: Samples | null;
  readonly entries: readonly Entry[];
  /** SHA-256 of a compressed capture as a file, and of what it unpacks to; absent where it was not unpacked yet. */
  readonly compressed?: { readonly sha256: string; readonly of: string };
}

const ASIDE = 'handback.aside/1';
interface Aside {
  readonly format: typeof ASIDE;
  readonly key: string;
  readonly value: unknown;
}

const NOTHING: Content = { format: 'handback.judged/2', samples: null, entries: [] };

export class KeptJudgements {
  readonly #sealed: Sealed;
  readonly #mayWrite: (folder: string) => Promise<boolean>;
  /** Decoded last and not written: who asks next need not decode again. */
  #unwritten: (Samples & { readonly folder: string; readonly bytes: Uint8Array }) | null = null;
  /** Writings follow one another: the second sees what the first wrote. */
  #last: Promise<void> = Promise.resolve();

  /**
   * @param settings folder of the user's secret; absent: the user's own
   * @param mayWrite whether anything is kept beside the run in this folder; for whoever does not hold the library
   */
  constructor(settings?: string, mayWrite: (folder: string) => Promise<boolean> = async () => true) {
    this.#sealed = new Sealed(settings);
    this.#mayWrite = mayWrite;
  }

  /** What was written under this key; null where it is to be made again. */
  async read(folder: string, key: string): Promise<unknown> {
    return (await this.#content(folder)).entries.find((e) => e.key === key)?.value ?? null;
  }

  /** Whether its samples are kept, as far as that can be told without reading them. */
  async isDecoded(folder: string, capture: string): Promise<boolean> {
    const last = this.#unwritten;
    if (last?.folder === folder && last.of === decodedOf(capture)) return true;
    return (
      (await this.#content(folder)).samples?.of === decodedOf(capture) &&
      (await isPlainFile(join(folder, SAMPLES_FILE)))
    );
  }

  /**
   * What lies beside the run, by seals and digests.
   * @param aside names of files of their own
   */
  async check(folder: string, capture: string, aside: readonly string[]): Promise<CheckedCache[]> {
    const found: CheckedCache[] = [];
    const isSealed = async (file: string): Promise<boolean> =>
      (await this.#sealed.read(join(folder, file))) !== null;
    const { samples } = await this.#content(folder);
    const look = async (file: string, isOurs: () => Promise<boolean>, isOf: string | null): Promise<void> => {
      const path = join(folder, file);
      if ((await lstat(path).catch(() => null)) === null) return;
      const push = (state: CheckedCache['state'], says: CheckedCache['says']): void => {
        found.push({ path, state, says });
      };
      if (await isTooLarge(path)) push('not believed', say('check.cache.large'));
      else if (file === SAMPLES_FILE && samples === null) push('not believed', say('check.cache.unvouched'));
      else if (!(await isOurs())) push('not believed', say('check.cache.altered'));
      // each entry has a key of its own, which tells nothing of what it is of
      else if (isOf === null) push('sealed', say('check.cache.seal-only'));
      else if (isOf === decodedOf(capture)) push('agrees', say('check.cache.sealed'));
      else push('stale', say('check.cache.old'));
    };
    const isOf = samples?.of ?? null;
    const isDigest = async (): Promise<boolean> => {
      const bytes = await bytesOf(join(folder, SAMPLES_FILE));
      return bytes !== null && sha256(bytes) === samples?.sha256;
    };
    await look(JUDGEMENT_FILE, () => isSealed(JUDGEMENT_FILE), isOf);
    await look(SAMPLES_FILE, isDigest, isOf);
    for (const file of aside) await look(file, () => isSealed(file), null);
    return found;
  }

  /** All that was decoded from the run's capture, in the order in which it came; null where it is to be decoded again. */
  async decoded(
    folder: string,
    capture: string,
  ): Promise<{ readonly samples: Iterable<Sample>; readonly facts: KeptFacts } | null> {
    const last = this.#unwritten;
    if (last?.folder === folder && last.of === decodedOf(capture))
      return { samples: await decodedIn(last.bytes), facts: last.facts };
    const { samples } = await this.#content(folder);
    if (samples?.of !== decodedOf(capture)) return null;
    const bytes = await bytesOf(join(folder, SAMPLES_FILE));
    if (bytes === null || sha256(bytes) !== samples.sha256) return null;
    return { samples: await decodedIn(bytes), facts: samples.facts };
  }

  /** What was written under this key into a file of its own; null where it is to be made again. */
  async readAside(folder: string, file: string, key: string): Promise<unknown> {
    const text = await this.#sealed.read(join(folder, file));
    const aside = text === null ? null : (JSON.parse(text) as Aside);
    return aside?.format === ASIDE && aside.key === key ? aside.value : null;
  }

  /** As `write`, of what is large and seldom asked for. */
  async writeAside(folder: string, file: string, key: string, value: unknown): Promise<void> {
    try {
      if (!(await this.#mayWrite(folder))) return;
      await refuseReadOnly(folder);
      await this.#sealed.write(
        join(folder, file),
        JSON.stringify({ format: ASIDE, key, value } satisfies Aside),
      );
    } catch {
      // it is made again
    }
  }

  /** SHA-256 of what a compressed capture unpacks to, where this user's program unpacked these very bytes before. */
  async unpacksTo(folder: string, file: string): Promise<string | null> {
    const { compressed } = await this.#content(folder);
    return compressed?.sha256 === file ? compressed.of : null;
  }

  /** As `write`. */
  writeUnpacksTo(folder: string, file: string, capture: string): Promise<void> {
    return this.#changed(folder, async (known) => ({ ...known, compressed: { sha256: file, of: capture } }));
  }

  /** Never fails: a library that cannot be written is read as before. */
  write(
    folder: string,
    key: string,
    value: unknown,
    capture: string,
    decoded: { readonly samples: Decoded; readonly facts: KeptFacts } | null,
  ): Promise<void> {
    const bytes = decoded?.samples.parquet();
    const now = bytes && { sha256: sha256(bytes), of: decodedOf(capture), facts: decoded!.facts };
    if (now) this.#unwritten = { ...now, folder, bytes: bytes! };
    return this.#changed(folder, async (known) => {
      if (bytes) await replaceFile(join(folder, SAMPLES_FILE), bytes);
      const others = known.entries.filter((e) => e.key !== key);
      const entries = [{ key, value }, ...others].slice(0, MOST_ENTRIES);
      return { ...known, samples: now ?? known.samples, entries };
    });
  }

  #changed(folder: string, change: (known: Content) => Promise<Content>): Promise<void> {
    this.#last = this.#last.then(() => this.#write(folder, change)).catch(() => undefined);
    return this.#last;
  }

  async #write(folder: string, change: (known: Content) => Promise<Content>): Promise<void> {
    if (!(await this.#mayWrite(folder))) return;
    await refuseReadOnly(folder);
    const text = JSON.stringify(await change(await this.#content(folder)));
    await this.#sealed.write(join(folder, JUDGEMENT_FILE), text);
    if (this.#unwritten?.folder === folder) this.#unwritten = null;
  }

  /** Nothing, where there is no file that this user's program wrote for this run. */
  async #content(folder: string): Promise<Content> {
    const text = await this.#sealed.read(join(folder, JUDGEMENT_FILE));
    const content = text === null ? NOTHING : (JSON.parse(text) as Content); // sealed: as it was written
    return content.format === NOTHING.format ? content : NOTHING;
  }
}

/** Loaded where it is wanted: who only leaves beside a run what was found while it was driven needs none of it. */
const decodedIn = async (bytes: Uint8Array): Promise<Iterable<Sample>> =>
  (await import('./decoded.ts')).samplesFrom(bytes);

/** SHA-256 of a file that seldom changes; it is read again when its size, times or place on the disk differ. */
const digests = new LRUCache<string, { readonly stamp: string; readonly sha256: string }>({ max: 5000 });
export async function digestOf(path: string, read: (path: string) => Promise<string>): Promise<string> {
  const s = await stat(path);
  const stamp = `${s.ino} ${s.size} ${s.mtimeMs} ${s.ctimeMs}`;
  const known = digests.get(path);
  if (known?.stamp === stamp) return known.sha256;
  const digest = await read(path);
  digests.set(path, { stamp, sha256: digest });
  return digest;
}

export const keyOf = (parts: readonly unknown[]): string =>
  sha256(JSON.stringify([programStamp(), ...parts]));

/** Another build decodes anew as well. */
const decodedOf = (capture: string): string => keyOf([capture, 'decoded']);

/** What is kept hangs on the code of these. */
const ROOMS = [
  'core',
  'signal',
  'nmea',
  'isotp',
  'adapter',
  'j1979',
  'run',
  'analysis',
  'compare',
  'job',
  'desk',
];
/** Another build judges anew. */
let program: string | null = null;
function programStamp(): string {
  program ??= codeStamp(ROOMS);
  return program;
}

const sha256 = (content: string | Uint8Array): string => createHash('sha256').update(content).digest('hex');
