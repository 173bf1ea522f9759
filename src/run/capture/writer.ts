/** Appends records to a capture: never drops, on disk within a second, and says so when the disk refuses. */
import { createHash } from 'node:crypto';
import { type FileHandle, open } from 'node:fs/promises';
import type { WireEvent } from '../../adapter/adapter.ts';
import type { Clock, Timer } from '../../core/clock.ts';
import { HandbackError, reasonOf } from '../../core/errors.ts';
import type { Sample } from '../../core/signals.ts';
import { DigestChain } from './chain.ts';
import { type AnchorWhy, type CaptureRecord, linesOf, VERSION_LINE } from './format.ts';

/** Written and synced this long after the first unwritten record: with the disk's own time, within a second. */
const FLUSH_MS = 500;
/** After a refused write. */
const RETRY_MS = 1000;
const MINUTE_MS = 60_000;
/** Wall clock and monotonic clock further apart than this since the last anchor: the laptop slept or was set. */
const CLOCK_JUMP_MS = 2000;
/** What is kept in memory while the disk refuses: hours of driving. */
const MAX_PENDING_BYTES = 64 << 20;

/** The little that a capture needs of a file; tests stand in a disk that is full. */
export interface CaptureFile {
  /** Writes at `position` and returns how many bytes were taken. */
  write(bytes: Uint8Array, position: number): Promise<number>;
  sync(): Promise<void>;
  close(): Promise<void>;
}

export interface CaptureSummary {
  readonly sha256: string;
  readonly seconds: number;
}

export class CaptureWriter {
  readonly path: string;
  /** The clock's time at which the run began. */
  readonly startUs: number;
  readonly #clock: Clock;
  readonly #file: CaptureFile;
  readonly #maxPendingBytes: number;
  readonly #whole = createHash('sha256');
  readonly #chain = new DigestChain();
  #pending: Buffer[] = [];
  #pendingBytes = 0;
  #position = 0;
  #lastUs = 0;
  #anchor = { nowUs: 0, wallMs: 0 };
  #flushTimer: Timer | null = null;
  #minuteTimer: Timer;
  #flushing: Promise<void> | null = null;
  #trouble: string | null = null;
  #lost: { records: number; fromUs: number } | null = null;
  #closed = false;
  #sha256: string | null = null;

  /** Creates the file; it must not exist. @throws HandbackError run.write, run.busy */
  static async create(
    path: string,
    options: {
      readonly clock: Clock;
      /** For tests: a disk that misbehaves, and a memory that is soon full. */
      readonly openFile?: (path: string) => Promise<CaptureFile>;
      readonly maxPendingBytes?: number;
    },
  ): Promise<CaptureWriter> {
    const file = await (options.openFile ?? openExclusively)(path);
    return new CaptureWriter(path, options.clock, file, options.maxPendingBytes ?? MAX_PENDING_BYTES);
  }

  private constructor(path: string, clock: Clock, file: CaptureFile, maxPendingBytes: number) {
    this.#maxPendingBytes = maxPendingBytes;
    this.path = path;
    this.#clock = clock;
    this.#file = file;
    this.startUs = clock.nowUs();
    this.#text(VERSION_LINE);
    this.anchor('start');
    this.#minuteTimer = clock.after(MINUTE_MS, () => this.#minute());
  }

  /** What happened on the wire; `tUs` by the clock. Events of before the run are put at its beginning. */
  wire(event: WireEvent): void {
    this.#record({ ...event, tUs: event.tUs - this.startUs });
  }

  /** A person's mark, now. Returns its run time. */
  mark(key: string, text: string): number {
    const tUs = this.#nowUs();
    this.#record({ kind: 'mark', tUs, key, text });
    return tUs;
  }

  /** A remark of the tool about the recording itself, now. */
  note(text: string): void {
    this.#record({ kind: 'note', tUs: this.#nowUs(), text });
  }

  /** A sample of a table that is kept as a run; its times are run times already. */
  sample(sample: Sample): void {
    this.#record({ kind: 'sample', ...sample });
  }

  /** Ties run time to wall time. Minutes and resumes are written by the writer itself. */
  anchor(why: AnchorWhy): void {
    this.#anchor = { nowUs: this.#clock.nowUs(), wallMs: this.#clock.wallMs() };
    const tUs = why === 'start' ? 0 : this.#anchor.nowUs - this.startUs;
    this.#record({ kind: 'anchor', tUs, why, wallMs: this.#anchor.wallMs });
  }

  /** Null while all is well; else what is wrong with writing and what to do, as sentences. */
  get trouble(): string | null {
    return this.#trouble;
  }

  /** Run time so far in seconds. */
  get seconds(): number {
    return this.#nowUs() / 1e6;
  }

  /**
   * Writes the last digest and everything pending, and closes the file. May be called again after a refusal.
   * @throws HandbackError run.write when the disk still refuses; nothing is given up.
   */
  async close(): Promise<CaptureSummary> {
    if (!this.#closed) {
      this.anchor('end');
      this.#closed = true;
      this.#minuteTimer.cancel();
      this.#seal();
    }
    this.#flushTimer?.cancel();
    this.#flushTimer = null;
    await this.#flushing;
    if (this.#sha256 === null) {
      await this.#flush();
      if (this.#trouble !== null) throw new HandbackError('run.write', this.#trouble);
      await this.#file.close();
      this.#sha256 = this.#whole.digest('hex');
    }
    return { sha256: this.#sha256, seconds: this.#lastUs / 1e6 };
  }

  #nowUs(): number {
    return this.#clock.nowUs() - this.startUs;
  }

  #record(record: CaptureRecord): void {
    if (this.#closed) return; // a last event of a link that is being closed
    if (this.#lost && this.#pendingBytes < this.#maxPendingBytes / 2) {
      const { records, fromUs } = this.#lost;
      this.#lost = null;
      this.note(
        `${records} records from ${fromUs / 1e6} s on were lost: the disk refused and the memory was full`,
      );
    }
    if (this.#pendingBytes > this.#maxPendingBytes) {
      this.#lost ??= { records: 0, fromUs: record.tUs };
      this.#lost.records++;
      return;
    }
    for (const line of linesOf(record)) this.#text(line);
    this.#lastUs = Math.max(this.#lastUs, record.tUs);
  }

  #text(line: string): void {
    const bytes = Buffer.from(`${line}\n`, 'utf8');
    this.#chain.update(bytes);
    this.#append(bytes);
  }

  #append(bytes: Buffer): void {
    this.#whole.update(bytes);
    this.#pending.push(bytes);
    this.#pendingBytes += bytes.length;
    this.#flushTimer ??= this.#clock.after(FLUSH_MS, () => this.#onFlushTimer());
  }

  #seal(): void {
    if (!this.#chain.empty) this.#append(Buffer.from(`${this.#chain.seal(this.#lastUs)}\n`, 'utf8'));
  }

  #minute(): void {
    this.#minuteTimer = this.#clock.after(MINUTE_MS, () => this.#minute());
    this.#noticeClockJump();
    this.anchor('minute');
    this.#seal();
  }

  #noticeClockJump(): void {
    const ran = (this.#clock.nowUs() - this.#anchor.nowUs) / 1000;
    const aheadMs = this.#clock.wallMs() - this.#anchor.wallMs - ran;
    if (Math.abs(aheadMs) < CLOCK_JUMP_MS) return;
    this.anchor('resume');
    this.note(
      aheadMs > 0
        ? `the wall clock is ${Math.round(aheadMs / 1000)} s further on: the computer slept or its clock was set`
        : `the wall clock was set back by ${Math.round(-aheadMs / 1000)} s`,
    );
  }

  #onFlushTimer(): void {
    this.#flushTimer = null;
    this.#noticeClockJump();
    void this.#flush();
  }

  #flush(): Promise<void> {
    this.#flushing ??= this.#write().finally(() => {
      this.#flushing = null;
      if (this.#pending.length > 0 && !this.#closed)
        this.#flushTimer ??= this.#clock.after(this.#trouble ? RETRY_MS : FLUSH_MS, () =>
          this.#onFlushTimer(),
        );
    });
    return this.#flushing;
  }

  /** Writes at a fixed position: a half-written line is written over by the retry, never followed by it. */
  async #write(): Promise<void> {
    const bytes = Buffer.concat(this.#pending);
    this.#pending = [bytes];
    try {
      let done = 0;
      while (done < bytes.length) {
        const taken = await this.#file.write(bytes.subarray(done), this.#position + done);
        if (taken <= 0) throw new Error('the disk takes no more');
        done += taken;
      }
      await this.#file.sync();
      this.#position += bytes.length;
      this.#pending.shift();
      this.#pendingBytes -= bytes.length;
      this.#trouble = null;
    } catch (e) {
      const lost = this.#lost ? ` ${this.#lost.records} records are lost already.` : '';
      this.#trouble = `The recording cannot be written to ${this.path} (${reasonOf(e)}). It is kept in memory and tried again every second: make room on the disk.${lost}`;
    }
  }
}

async function openExclusively(path: string): Promise<CaptureFile> {
  let handle: FileHandle;
  try {
    handle = await open(path, 'wx');
  } catch (e) {
    const exists = (e as NodeJS.ErrnoException).code === 'EEXIST';
    throw new HandbackError(
      exists ? 'run.busy' : 'run.write',
      exists
        ? `${path} exists already; a capture is never written over.`
        : `${path} cannot be created: ${reasonOf(e)}.`,
      { cause: e },
    );
  }
  return {
    write: async (bytes, position) => (await handle.write(bytes, 0, bytes.length, position)).bytesWritten,
    sync: () => handle.datasync(),
    close: () => handle.close(),
  };
}
