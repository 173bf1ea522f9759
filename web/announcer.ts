/**
 * What may sound when: priorities, rate limits, and the coolant alarm as a state. Pure: time is an input.
 * Ideas from memory of IEC 60601-1-8 (three priorities, the higher silences the lower) and ISA 18.2 (an alarm that
 * ended unacknowledged stays to be seen; acknowledging silences, it does not end).
 */
import type { ToneName } from './tones.ts';

export interface Message {
  readonly tone: ToneName;
  readonly sentence: string | null;
}

/** 3 the coolant, 2 act soon, 1 good to know, 0 answer to a key. */
export const PRIORITY: Readonly<Record<ToneName, 0 | 1 | 2 | 3>> = {
  coolant: 3,
  missed: 2,
  lost: 2,
  back: 1,
  covered: 1,
  held: 1,
  ask: 1,
  noted: 0,
};

/** Messages that waited longer are only on the screen: late is worse than never for what has passed. */
const STALE_MS = [500, 6000, 15_000, 15_000] as const;
/** The same sentence is not said again sooner. */
const SAME_MS = 20_000;
/** Nor the same tone: one event may be reported twice, by its engagement and by its finding. */
const SAME_TONE_MS = 4000;
/** Good news keeps this distance, so that a lively drive does not become a chatter. */
const CALM_MS = 3000;

interface Waiting extends Message {
  readonly atMs: number;
}

export interface Sounding {
  /** Null when this tone was just heard. */
  readonly tone: ToneName | null;
  readonly sentence: string | null;
  /** What is being said must be cut off. */
  readonly cut: boolean;
}

export class Announcer {
  /** At most one waits in each priority: the newest. */
  readonly #waiting: (Waiting | null)[] = [null, null, null, null];
  readonly #toneAt = new Map<ToneName, number>();
  readonly #saidAt = new Map<string, number>();
  #busyUntilMs = 0;
  #busyWith: 0 | 1 | 2 | 3 = 0;
  #last: string | null = null;

  push(message: Message, nowMs: number): void {
    const p = PRIORITY[message.tone];
    const before = this.#waiting[p];
    // A sentence is not pushed aside by a bare tone.
    if (before?.sentence && message.sentence === null) return;
    this.#waiting[p] = { ...message, atMs: nowMs };
  }

  /** What to sound now, or null. @param lengthMs how long it will take, by tone and sentence */
  next(nowMs: number, lengthMs: (s: { tone: ToneName | null; sentence: string | null }) => number) {
    for (const p of [3, 2, 1, 0] as const) {
      const w = this.#waiting[p];
      if (!w) continue;
      const busy = nowMs < this.#busyUntilMs;
      if (busy && p <= this.#busyWith && p > 0) return null;
      if (p === 1 && nowMs < this.#busyUntilMs + CALM_MS && this.#busyWith === 1) return null;
      this.#waiting[p] = null;
      if (nowMs - w.atMs > STALE_MS[p]) continue;
      if (busy && p === 0 && this.#busyWith > 0) continue;
      const sounding = this.#sounding(w, nowMs, busy);
      if (!sounding) continue;
      this.#busyUntilMs = nowMs + lengthMs(sounding);
      this.#busyWith = p;
      return sounding;
    }
    return null;
  }

  /** The sentence said last, for saying it once more. */
  get last(): string | null {
    return this.#last;
  }

  #sounding(w: Waiting, nowMs: number, busy: boolean): Sounding | null {
    const p = PRIORITY[w.tone];
    const toneAt = this.#toneAt.get(w.tone) ?? Number.NEGATIVE_INFINITY;
    const saidAt = this.#saidAt.get(w.sentence ?? '') ?? Number.NEGATIVE_INFINITY;
    const tone = p !== 2 || nowMs - toneAt >= SAME_TONE_MS ? w.tone : null;
    const sentence = w.sentence !== null && nowMs - saidAt >= SAME_MS ? w.sentence : null;
    if (tone === null && sentence === null) return null;
    if (tone) this.#toneAt.set(tone, nowMs);
    if (sentence) {
      this.#saidAt.set(sentence, nowMs);
      if (this.#saidAt.size > 200) this.#saidAt.delete(this.#saidAt.keys().next().value as string);
      this.#last = sentence;
    }
    return { tone, sentence, cut: busy };
  }
}

/** Acknowledging silences the coolant alarm for so long and no longer. */
export const ACKNOWLEDGED_MS = 60_000;
/** Climbing so much further ends the silence at once. */
const FURTHER_C = 3;

export type AlarmPhase = 'off' | 'ringing' | 'acknowledged' | 'over';

export class CoolantAlarm {
  phase: AlarmPhase = 'off';
  #untilMs = 0;
  #ackC = 0;
  #valueC = 0;

  /** @param hot the coolant is climbing, or at its limit; null: not known, which ends nothing */
  step(hot: boolean | null, valueC: number | null, nowMs: number): AlarmPhase {
    if (valueC !== null) this.#valueC = valueC;
    if (hot === true) {
      const silent =
        this.phase === 'acknowledged' && nowMs < this.#untilMs && this.#valueC < this.#ackC + FURTHER_C;
      if (!silent) this.phase = 'ringing';
    } else if (hot === false) {
      if (this.phase === 'ringing') this.phase = 'over';
      else if (this.phase === 'acknowledged') this.phase = 'off';
    } else if (this.phase === 'acknowledged' && nowMs >= this.#untilMs) this.phase = 'ringing';
    return this.phase;
  }

  acknowledge(nowMs: number): AlarmPhase {
    if (this.phase === 'over') this.phase = 'off';
    else if (this.phase === 'ringing') {
      this.phase = 'acknowledged';
      this.#untilMs = nowMs + ACKNOWLEDGED_MS;
      this.#ackC = this.#valueC;
    }
    return this.phase;
  }

  reset(): void {
    this.phase = 'off';
  }
}
