/** The bus side of an AT-command text adapter: one request out, frames in until the answers are complete. */
import type { Clock, Timer } from '../../core/clock.ts';
import type { BusNode, CanFrame, SimBus } from '../ecu/bus.ts';
import type { IdFilter } from './at-settings.ts';

export interface ExchangePlan {
  readonly frame: CanFrame;
  readonly filter: IdFilter;
  /** How long to wait for the first and for each further frame. */
  readonly timeoutMs: number;
  /** Complete messages after which nothing more is awaited; null = wait until the time is over. */
  readonly count: number | null;
  /** The flow control for a first frame of `id`; null = send none. */
  readonly flowFor: (id: number) => CanFrame | null;
  readonly onFrame: (frame: CanFrame) => void;
  readonly onEnd: (end: ExchangeEnd) => void;
}

export interface ExchangeEnd {
  readonly why: 'complete' | 'time over' | 'not acknowledged';
  readonly frames: number;
  /** Milliseconds from request to last frame; null without any. */
  readonly answerMs: number | null;
}

/** Control units that said "answer follows" (negative response 78) get this long; P2* of ISO 15031-5, from memory. */
const PENDING_MS = 5000;

export class BusSide implements BusNode {
  readonly #clock: Clock;
  readonly #bus: SimBus;
  #active = false;
  #plan: ExchangePlan | null = null;
  #monitor: ((frame: CanFrame) => void) | null = null;
  #timer: Timer | null = null;
  #startUs = 0;
  #lastUs: number | null = null;
  #frames = 0;
  #complete = 0;
  /** Bytes still to come of each unfinished message. */
  #open = new Map<number, number>();

  constructor(clock: Clock, bus: SimBus) {
    this.#clock = clock;
    this.#bus = bus;
    bus.attach(this);
  }

  awake(): boolean {
    return this.#active;
  }

  start(plan: ExchangePlan): void {
    this.stop();
    this.#active = true;
    this.#plan = plan;
    this.#startUs = this.#clock.nowUs();
    this.#lastUs = null;
    this.#frames = 0;
    this.#complete = 0;
    this.#open = new Map();
    this.#bus.send(plan.frame, this, (acknowledged) => {
      if (this.#plan !== plan) return;
      if (acknowledged) this.#arm(plan.timeoutMs);
      else this.#end('not acknowledged');
    });
  }

  /** Hears every frame until `stop`. */
  listen(heard: (frame: CanFrame) => void): void {
    this.stop();
    this.#active = true;
    this.#monitor = heard;
  }

  stop(): void {
    this.#plan = null;
    this.#monitor = null;
    this.#timer?.cancel();
    this.#timer = null;
  }

  close(): void {
    this.stop();
    this.#bus.detach(this);
  }

  receive(frame: CanFrame): void {
    this.#monitor?.(frame);
    const plan = this.#plan;
    if (plan === null || frame.extended !== plan.frame.extended) return;
    if ((frame.id & plan.filter.mask) >>> 0 !== (plan.filter.value & plan.filter.mask) >>> 0) return;
    this.#frames++;
    this.#lastUs = this.#clock.nowUs();
    plan.onFrame(frame);
    const pending = this.#follow(frame, plan);
    if (plan.count !== null && this.#complete >= plan.count && this.#open.size === 0) this.#end('complete');
    else this.#arm(pending ? PENDING_MS : plan.timeoutMs);
  }

  /** Keeps count of complete messages and lets long ones go on. True when the unit asks for more time. */
  #follow(frame: CanFrame, plan: ExchangePlan): boolean {
    const [first = 0, second = 0, , fourth = 0] = frame.data;
    switch (first >> 4) {
      case 0:
        if (second === 0x7f && fourth === 0x78) return true;
        this.#complete++;
        break;
      case 1: {
        this.#open.set(frame.id, (((first & 0x0f) << 8) | second) - 6);
        const flow = plan.flowFor(frame.id);
        if (flow !== null) this.#bus.send(flow, this);
        break;
      }
      case 2: {
        const left = (this.#open.get(frame.id) ?? 0) - 7;
        if (left > 0) this.#open.set(frame.id, left);
        else if (this.#open.delete(frame.id)) this.#complete++;
        break;
      }
    }
    return false;
  }

  #arm(ms: number): void {
    this.#timer?.cancel();
    this.#timer = this.#clock.after(ms, () => this.#end('time over'));
  }

  #end(why: ExchangeEnd['why']): void {
    const plan = this.#plan;
    if (plan === null) return;
    const answerMs = this.#lastUs === null ? null : (this.#lastUs - this.#startUs) / 1000;
    const frames = this.#frames;
    this.stop();
    plan.onEnd({ why, frames, answerMs });
  }
}
