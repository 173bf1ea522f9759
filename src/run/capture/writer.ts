/** Appends records to a capture: never drops, on disk within a second, and says so when the disk refuses. */

import { createHash } from 'node:crypto';
import { uptime } from 'node:os';
import type { WireEvent } from '../../adapter/adapter.ts';
import { type Clock, systemClock, type Timer } from '../../core/clock.ts';
import { saying } from '../../core/error-says.ts';
import { HandbackError, toldOf } from '../../core/errors.ts';
import { asIs, type Says } from '../../core/says.ts';
import type { Sample } from '../../core/signals.ts';
import type { ReceiverEvent } from '../../nmea/event.ts';
import { DigestChain } from './chain.ts';
import { type CaptureFile, createCaptureFile } from './file.ts';
import {
  type AnchorWhy,
  BYTES_A_LINE,
  type CaptureRecord,
  CLOCK_JUMP_MS,
  clampTime,
  linesOf,
  VERSION_LINE,
  VERSION_LINE_RECEIVER,
} from './format.ts';

/** Written and synced this long after the first unwritten record: with the disk's own time, within a second. */
const FLUSH_MS = 500;
/** After a refused write. */
const RETRY_MS = 1000;
const MINUTE_MS = 60_000;
/** What is kept in memory while the disk refuses: hours of driving. */
const MAX_PENDING_BYTES = 64 << 20;

/** While the end is being written, a moment. */
const MAX_HELD = 10_000;

/** Time, kind, spaces and line end of a line of bytes. */
const MOST_AROUND = 32;
const UPPER_DIGITS = Buffer.from('0123456789ABCDEF', 'latin1');

/** Lines are gathered into blocks of at most this size; they are what waits for the disk. */
const BLOCK_BYTES = 1 << 16;

export interface CaptureSummary {
  readonly sha256: string;
  readonly seconds: number;
}

export class CaptureWriter {
  #startUs: number;
  readonly #clock: Clock;
  readonly #sinceBootMs: () => number;
  readonly #onMadeAgain: () => Promise<void>;
  readonly #onLine: (line: string, of: CaptureRecord) => void;
  readonly #onWire: (kind: 'rx' | 'tx', tUs: number) => void;
  readonly #file: CaptureFile;
  readonly #maxPendingBytes: number;
  readonly #whole = createHash('sha256');
  readonly #chain = new DigestChain();
  /** What the file does not hold for certain yet. */
  #pending: Buffer[] = [];
  #pendingBytes = 0;
  readonly #block = Buffer.alloc(BLOCK_BYTES);
  #blockBytes = 0;
  /** So much of the block is in the running digest, or is none of its lines. */
  #chainedBytes = 0;
  #position = 0;
  #lastUs = 0;
  #anchor = { nowUs: 0, wallMs: 0 };
  #awake = { nowUs: 0, sinceBootMs: 0 };
  /** Wall clock before the monotonic one when the system was last asked how long it has been up. */
  #aheadMs = Number.NEGATIVE_INFINITY;
  #flushTimer: Timer | null = null;
  #minuteTimer: Timer;
  #flushing: Promise<void> | null = null;
  #trouble: Says | null = null;
  #lost: { records: number; fromUs: number } | null = null;
  /** The file was made anew and what stood beside it is still missing. */
  #madeAgain = false;
  #closed = false;
  /** What came while the end was being written; it is recorded after all when the disk refuses. */
  #held: CaptureRecord[] = [];
  /** Run time of the newest record that is known to be on the disk. */
  #keptUs = 0;
  #sha256: string | null = null;

  /** Creates the file; it must not exist. @throws HandbackError run.write, run.busy */
  static async create(path: string, options: WriterOptions): Promise<CaptureWriter> {
    const file = await (options.openFile ?? createCaptureFile)(path);
    return new CaptureWriter(file, options);
  }

  private constructor(file: CaptureFile, options: WriterOptions) {
    const { clock } = options;
    this.#maxPendingBytes = options.maxPendingBytes ?? MAX_PENDING_BYTES;
    this.#clock = clock;
    this.#file = file;
    this.#onMadeAgain = options.onMadeAgain ?? (async () => undefined);
    this.#onLine = options.onLine ?? (() => undefined);
    this.#onWire = options.onWire ?? (() => undefined);
    this.#sinceBootMs =
      options.sinceBootMs ?? (clock === systemClock ? () => uptime() * 1000 : () => clock.nowUs() / 1000);
    this.#startUs = clock.nowUs();
    this.#awake = { nowUs: this.#startUs, sinceBootMs: this.#sinceBootMs() };
    this.#text(options.receiver ? VERSION_LINE_RECEIVER : VERSION_LINE);
    this.anchor('start');
    this.#minuteTimer = clock.after(MINUTE_MS, () => this.#minute());
  }

  /**
   * What to subtract from the clock for run time. Moves back when the computer slept: run time goes on while the
   * clock stands still, so that an hour asleep is an hour without samples and not a jump of a second.
   */
  get startUs(): number {
    return this.#startUs;
  }

  /** False from when the end is being written: what comes then is recorded only when the disk refuses. */
  get takes(): boolean {
    return !this.#closed;
  }

  /** What happened on either wire; `tUs` by the clock. Events of before the run are put at its beginning. */
  wire(event: WireEvent | ReceiverEvent): void {
    this.#noticeSleep();
    const tUs = event.tUs - this.#startUs;
    // Most of what comes, and as a rule there is nothing else to think of.
    if ((event.kind === 'rx' || event.kind === 'tx') && this.#isWell)
      this.#bytes(event.kind, tUs, event.bytes);
    else this.#record({ ...event, tUs });
  }

  /** A person's mark, now. Returns its run time. */
  mark(key: string, text: string): number {
    this.#noticeSleep();
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
    const tUs = why === 'start' ? 0 : this.#anchor.nowUs - this.#startUs;
    this.#record({ kind: 'anchor', tUs, why, wallMs: this.#anchor.wallMs });
  }

  /** Null while all is well; else what is wrong with writing and what to do, as sentences. */
  get trouble(): Says | null {
    return this.#trouble;
  }

  /** Run time so far in seconds. */
  get seconds(): number {
    return this.#nowUs() / 1e6;
  }

  /** Brings everything that came so far to the disk. @throws HandbackError run.write when it refuses */
  async flush(): Promise<void> {
    if (this.#sha256 !== null) return;
    this.#flushTimer?.cancel();
    this.#flushTimer = null;
    await this.#flushing;
    await this.#flush();
    if (this.#trouble !== null) throw new HandbackError('run.write', this.#trouble);
  }

  /**
   * Writes the last digest and everything pending, and closes the file.
   * @throws HandbackError run.write when the disk refuses: nothing is given up, recording goes on
   */
  async close(): Promise<CaptureSummary> {
    if (this.#sha256 === null) {
      await this.flush();
      this.anchor('end');
      this.#seal();
      this.#closed = true;
      try {
        await this.flush();
      } catch (thrown) {
        this.#closed = false;
        for (const record of this.#held.splice(0)) this.#record(record);
        throw thrown;
      }
      await this.#end();
      this.#sha256 = this.#whole.digest('hex');
    }
    return { sha256: this.#sha256, seconds: this.#lastUs / 1e6 };
  }

  /**
   * Ends with what the disk took: a half-written rest is cut off, so that whole lines stand there. Never throws.
   * @returns run time from which on nothing was kept, and of the last record that came, s
   */
  async giveUp(): Promise<{ readonly keptS: number; readonly cameS: number }> {
    this.#closed = true;
    this.#flushTimer?.cancel();
    await this.#flushing;
    if (this.#sha256 === null) {
      await this.#file.cut?.(this.#position).catch(() => undefined);
      await this.#end();
    }
    return { keptS: this.#keptUs / 1e6, cameS: this.#lastUs / 1e6 };
  }

  async #end(): Promise<void> {
    this.#minuteTimer.cancel();
    this.#flushTimer?.cancel();
    this.#held = [];
    await this.#file.close().catch(() => undefined); // it was synced
  }

  #nowUs(): number {
    return this.#clock.nowUs() - this.#startUs;
  }

  #record(record: CaptureRecord): void {
    if (this.#closed) {
      if (this.#held.length < MAX_HELD) this.#held.push(record);
      return;
    }
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
    if (record.kind === 'rx' || record.kind === 'tx') {
      this.#bytes(record.kind, record.tUs, record.bytes);
      return;
    }
    for (const line of linesOf(record)) {
      this.#text(line);
      this.#onLine(line, record);
    }
    this.#lastUs = Math.max(this.#lastUs, record.tUs);
  }

  /** Lines are taken, there is room for them, and no loss to be told of. */
  get #isWell(): boolean {
    return !this.#closed && this.#lost === null && this.#pendingBytes <= this.#maxPendingBytes;
  }

  /** What most lines are, as `linesOf` has them, without a text in between. */
  #bytes(kind: 'rx' | 'tx', tUs: number, bytes: Uint8Array): void {
    this.#lastUs = Math.max(this.#lastUs, tUs);
    const us = clampTime(tUs);
    for (let from = 0; from < bytes.length; from += BYTES_A_LINE) {
      const to = Math.min(bytes.length, from + BYTES_A_LINE);
      if (this.#blockBytes + MOST_AROUND + 2 * (to - from) > BLOCK_BYTES) this.#endBlock();
      const block = this.#block;
      let at = this.#blockBytes + block.write(`${us} ${kind} `, this.#blockBytes, 'latin1');
      for (let i = from; i < to; i++) {
        block[at++] = UPPER_DIGITS[bytes[i]! >> 4]!;
        block[at++] = UPPER_DIGITS[bytes[i]! & 15]!;
      }
      block[at++] = 10;
      this.#took(at - this.#blockBytes);
      this.#onWire(kind, us);
    }
  }

  #text(line: string): void {
    // of UTF-16 each unit takes three bytes at most
    if (this.#blockBytes + 3 * line.length + 1 > BLOCK_BYTES) this.#endBlock();
    this.#took(this.#block.write(`${line}\n`, this.#blockBytes, 'utf8'));
  }

  /** So many bytes more stand in the block. */
  #took(bytes: number): void {
    this.#blockBytes += bytes;
    this.#pendingBytes += bytes;
    this.#flushTimer ??= this.#clock.after(FLUSH_MS, () => this.#onFlushTimer());
  }

  /** What came since the last time, all at once: a call for each line costs more than its bytes. */
  #chained(): void {
    this.#chain.update(this.#block.subarray(this.#chainedBytes, this.#blockBytes));
    this.#chainedBytes = this.#blockBytes;
  }

  #endBlock(): void {
    this.#chained();
    if (this.#blockBytes > 0) this.#pending.push(Buffer.from(this.#block.subarray(0, this.#blockBytes)));
    this.#blockBytes = 0;
    this.#chainedBytes = 0;
  }

  #seal(): void {
    this.#chained();
    if (this.#chain.empty) return;
    this.#text(this.#chain.seal(this.#lastUs));
    this.#chainedBytes = this.#blockBytes;
  }

  #minute(): void {
    this.#minuteTimer = this.#clock.after(MINUTE_MS, () => this.#minute());
    this.#noticeSleep(true);
    this.#noticeClockJump();
    this.anchor('minute');
    this.#seal();
  }

  /** The time since the computer started counts its sleep, the monotonic clock (on Linux and macOS) does not. */
  #noticeSleep(looked = false): void {
    const nowUs = this.#clock.nowUs();
    // Asking the system costs a read of a file; a wall clock that ran as the other did says that nobody slept.
    const aheadMs = this.#clock.wallMs() - nowUs / 1000;
    if (!looked && Math.abs(aheadMs - this.#aheadMs) < CLOCK_JUMP_MS) return;
    this.#aheadMs = aheadMs;
    const sinceBootMs = this.#sinceBootMs();
    const asleepMs = sinceBootMs - this.#awake.sinceBootMs - (nowUs - this.#awake.nowUs) / 1000;
    if (asleepMs < CLOCK_JUMP_MS) {
      if (asleepMs < 0) this.#awake = { nowUs, sinceBootMs };
      return;
    }
    this.#awake = { nowUs, sinceBootMs };
    this.#startUs -= Math.round(asleepMs * 1000);
    this.anchor('resume');
    this.note(`the computer slept for ${Math.round(asleepMs / 1000)} s`);
  }

  #noticeClockJump(): void {
    const ran = (this.#clock.nowUs() - this.#anchor.nowUs) / 1000;
    const aheadMs = this.#clock.wallMs() - this.#anchor.wallMs - ran;
    if (Math.abs(aheadMs) < CLOCK_JUMP_MS) return;
    this.anchor('resume');
    this.note(
      aheadMs > 0
        ? `the wall clock was set forward by ${Math.round(aheadMs / 1000)} s`
        : `the wall clock was set back by ${Math.round(-aheadMs / 1000)} s`,
    );
  }

  #onFlushTimer(): void {
    this.#flushTimer = null;
    this.#noticeSleep(true);
    this.#noticeClockJump();
    void this.#flush();
  }

  #flush(): Promise<void> {
    this.#flushing ??= this.#write().finally(() => {
      this.#flushing = null;
      if (this.#pendingBytes > 0 && !this.#closed)
        this.#flushTimer ??= this.#clock.after(this.#trouble ? RETRY_MS : FLUSH_MS, () =>
          this.#onFlushTimer(),
        );
    });
    return this.#flushing;
  }

  /**
   * Writes at a fixed position: a half-written line is written over by the retry, never followed by it. What was
   * written counts only when it was synced; after a failed sync all of it is written again, for the system may have
   * thrown it away.
   */
  async #write(): Promise<void> {
    this.#endBlock();
    const blocks = [...this.#pending];
    const uptoUs = this.#lastUs;
    try {
      const written = { bytes: this.#position, sha256: () => this.#whole.copy().digest('hex') };
      if (await this.#file.confirm?.(written)) this.#madeAgain = true;
      if (this.#madeAgain) await this.#onMadeAgain();
      this.#madeAgain = false;
      let position = this.#position;
      for (const block of blocks) {
        for (let done = 0; done < block.length; ) {
          const taken = await this.#file.write(block.subarray(done), position);
          if (taken <= 0) throw new Error('the disk takes no more');
          done += taken;
          position += taken;
        }
      }
      await this.#file.sync();
      for (const block of blocks) this.#whole.update(block);
      this.#pendingBytes -= position - this.#position;
      this.#position = position;
      this.#pending.splice(0, blocks.length);
      this.#keptUs = uptoUs;
      this.#trouble = null;
    } catch (e) {
      this.#trouble = saying('error.disk', {
        why: plainly(e),
        room: Math.min(1, this.#pendingBytes / this.#maxPendingBytes),
        lost: this.#lost?.records ?? 0,
      });
    }
  }
}

/** The system's words without the path. */
function plainly(thrown: unknown): Says {
  const told = toldOf(thrown);
  const text = told.id === 'text' ? String(told.args.text) : '';
  return /^[A-Z]+: /.test(text) ? asIs(text.split(', ')[0] ?? text) : told;
}

export interface WriterOptions {
  readonly clock: Clock;
  /** Lines of a satellite receiver may come. */
  readonly receiver?: boolean;
  /** Milliseconds since the computer started, its sleep included; default: the system's, for the system's clock. */
  readonly sinceBootMs?: () => number;
  /** Called when the file had to be made anew because its folder was deleted: what else stood there is gone too. */
  readonly onMadeAgain?: () => Promise<void>;
  /** Hears each record's lines as they are taken, and what they are of; digests are none, nor those that `onWire` hears. */
  readonly onLine?: (line: string, of: CaptureRecord) => void;
  /** Hears that a line of bytes was taken. */
  readonly onWire?: (kind: 'rx' | 'tx', tUs: number) => void;
  /** For tests: a disk that misbehaves, and a memory that is soon full. */
  readonly openFile?: (path: string) => Promise<CaptureFile>;
  readonly maxPendingBytes?: number;
}
