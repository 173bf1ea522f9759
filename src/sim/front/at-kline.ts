/** The K-line side of an AT-command text adapter: wakes control units, asks, and keeps the session alive. */
import type { Clock, Timer } from '../../core/clock.ts';
import { isJ1850, type KLine, type KlineKind, requestMessage } from '../ecu/kline.ts';
import { ALL_UNITS, type AtSettings } from './at-settings.ts';

/** The dialect's protocol numbers of the K-line and of J1850. */
const KINDS: Readonly<Record<number, KlineKind>> = {
  ...{ 1: 'j1850-pwm', 2: 'j1850-vpw' },
  ...{ 3: 'iso9141', 4: 'kwp-slow', 5: 'kwp-fast' },
};

export function klineKindOf(protocol: number): KlineKind | null {
  return KINDS[protocol] ?? null;
}

/** The kind where units have to be woken; null elsewhere. */
export function wokenKindOf(protocol: number): KlineKind | null {
  const kind = klineKindOf(protocol);
  return kind === null || isJ1850(kind) ? null : kind;
}

/**
 * Whom the wake-up calls: the slow one the address set for it, the fast one that of the header where this is for one unit.
 * Null: all. Common practice, from memory.
 */
export function wokenBy(kind: KlineKind, s: Pick<AtSettings, 'header' | 'wakeAddress'>): number | null {
  if (kind === 'kwp-fast')
    return s.header !== null && /^[89AB]\w{5}$/.test(s.header)
      ? Number.parseInt(s.header.slice(2, 4), 16)
      : null;
  return s.wakeAddress === ALL_UNITS ? null : s.wakeAddress;
}

export interface KlineExchange {
  /** Three header bytes; null = the protocol's own, to all units. */
  readonly header: readonly number[] | null;
  readonly payload: Uint8Array;
  readonly timeoutMs: number;
  /** Messages after which nothing more is awaited; null = until the time is over. */
  readonly count: number | null;
  readonly onMessage: (message: Uint8Array) => void;
  readonly onEnd: (messages: number, answerMs: number | null) => void;
}

/** Pause before a request, P3; the adapter keeps the session by itself this often. From memory of ISO 14230-2. */
const REQUEST_GAP_MS = 55;
const KEEP_ALIVE_MS = 3000;
const PENDING_MS = 5000;

export class KlineSide {
  readonly #clock: Clock;
  readonly #line: KLine;
  readonly #keepsAlive: boolean;
  #timer: Timer | null = null;
  #keeper: Timer | null = null;
  #quietSinceUs = Number.NEGATIVE_INFINITY;

  constructor(clock: Clock, line: KLine, keepsAlive: boolean) {
    this.#clock = clock;
    this.#line = line;
    this.#keepsAlive = keepsAlive;
  }

  /** @param target address that the wake-up calls; null = all units */
  wake(kind: KlineKind, target: number | null, done: (awake: boolean) => void): void {
    this.stop();
    this.#line.wake(kind, target, (awake) => {
      this.#quietSinceUs = this.#clock.nowUs();
      if (awake) this.#keep();
      done(awake);
    });
  }

  start(plan: KlineExchange): void {
    this.stop();
    const { payload, header } = plan;
    const dueMs = isJ1850(this.#line.kind) ? 0 : REQUEST_GAP_MS;
    const gapMs = Math.max(0, dueMs - (this.#clock.nowUs() - this.#quietSinceUs) / 1000);
    let messages = 0;
    let sentUs = 0;
    let answerMs: number | null = null;
    const end = () => {
      this.stop();
      this.#quietSinceUs = this.#clock.nowUs();
      this.#keep();
      plan.onEnd(messages, answerMs);
    };
    const wait = (ms: number) => {
      this.#timer?.cancel();
      this.#timer = this.#clock.after(ms, end);
    };
    this.#timer = this.#clock.after(gapMs, () =>
      this.#line.send(
        requestMessage(this.#line.kind, header, payload),
        () => {
          sentUs = this.#clock.nowUs();
          wait(plan.timeoutMs);
        },
        (message) => {
          plan.onMessage(message);
          if (message[3] === 0x7f && message[5] === 0x78) return wait(PENDING_MS);
          messages++;
          answerMs = (this.#clock.nowUs() - sentUs) / 1000;
          if (plan.count !== null && messages >= plan.count) end();
          else wait(plan.timeoutMs);
        },
      ),
    );
  }

  /** Nothing is awaited any more; a session goes on only while `#keep` speaks. */
  stop(): void {
    this.#timer?.cancel();
    this.#keeper?.cancel();
    this.#timer = this.#keeper = null;
    this.#line.stop();
  }

  #keep(): void {
    this.#keeper?.cancel();
    if (!this.#keepsAlive) return;
    this.#keeper = this.#clock.after(KEEP_ALIVE_MS, () => {
      this.#line.keepAlive();
      this.#keep();
    });
  }
}
