/**
 * Driver for AT-command text adapters. What it knows is one value (`state.ts`); what follows what is decided by
 * `finding.ts` (what adapter and vehicle can do), `health.ts` (what is to be mended) and `counting.ts` (how many
 * answers come), which are pure. Here it is done: sent, awaited, and the next state kept.
 */

import type { Clock } from '../../core/clock.ts';
import { toHex } from '../../core/hex.ts';
import { say } from '../../core/wire-says.ts';
import { FUNCTIONAL, requestIdOf } from '../../isotp/address.ts';
import {
  type Adapter,
  type AdapterDriver,
  type AdapterInfo,
  type DiagnosticRequest,
  type Exchange,
  newPort,
  type PortMemory,
} from '../adapter.ts';
import { onlyAnswers } from '../answers.ts';
import { Turns } from '../turns.ts';
import { Wire } from '../wire.ts';
import { countAnswers, digitFor } from './counting.ts';
import { type Effect, next, voltsIn } from './finding.ts';
import { afterExchange, MENDS, type Mend } from './health.ts';
import { PromptChannel } from './prompt.ts';
import { toOneUnit } from './protocols.ts';
import { readAt } from './read.ts';
import { applySettings, command, NO_NAME, sayHello, setUp } from './setup.ts';
import { lowerSpeed, raiseSpeed } from './speed.ts';
import { type Asked, type AtState, isCan, isRaised, newlySetUp, searches, withInfo } from './state.ts';
import { judge, notedIn } from './verdict.ts';

/** All of finding out, against a device that answers everything late or wrong. */
const CONNECT_MS = 90_000;
const FIRST_MS = { can: 1500, other: 6000 } as const;
const QUIET_MS = { can: 700, other: 3000 } as const;
const SEARCHING = /^[\s\0]*([0-9A-Fa-f ]{0,16}[\r\n]+)?[\s\0]*(SEARCHING|BUS INIT)/i;
/** Of a command with which the adapter is left as it was found. */
const CLOSE_MS = 300;
/**
 * One unit, told how many answers to wait for: then a long wait costs nothing where the answer comes, and one that
 * comes late (three times P2 and more) still belongs to its request. In the adapter's unit of 4 ms: 400 ms.
 */
const LATE_UNITS = '64';

export function atDriver(clock: Clock): AdapterDriver {
  return {
    async connect(link, tap, baud, haste = 'patient', memory = newPort(false)) {
      const wire = new Wire(link, tap, clock);
      const channel = new PromptChannel(wire);
      channel.limitUs = clock.nowUs() + CONNECT_MS * 1000;
      await sayHello(channel, haste);
      const adapter = new AtAdapter(wire, channel, newlySetUp(await setUp(channel), baud, memory), memory);
      await adapter.raiseSpeed();
      await adapter.findOut();
      channel.limitUs = Number.POSITIVE_INFINITY;
      return adapter;
    },
  };
}

class AtAdapter implements Adapter {
  readonly #wire: Wire;
  readonly #channel: PromptChannel;
  readonly #memory: PortMemory;
  readonly #turns = new Turns((request) => this.#answer(request));
  #s: AtState;
  #closed = false;

  constructor(wire: Wire, channel: PromptChannel, state: AtState, memory: PortMemory) {
    this.#wire = wire;
    this.#channel = channel;
    this.#memory = memory;
    this.#s = state;
    this.#sayDialect();
  }

  get info(): AdapterInfo {
    return this.#s.info;
  }

  get damaged(): number {
    return this.#channel.quality.retyped + this.#s.damaged;
  }

  formOf(payload: Uint8Array): Uint8Array {
    return payload;
  }

  request(request: DiagnosticRequest): Promise<Exchange> {
    return this.#turns.take(request);
  }

  async close(): Promise<void> {
    if (this.#closed) return;
    this.#closed = true;
    if (!this.#wire.lost && !this.#s.health.outOfStep) {
      await command(this.#channel, 'ATPC', CLOSE_MS);
      await this.#slowDown(false).catch(() => undefined);
      await command(this.#channel, 'ATD', CLOSE_MS);
    }
    await this.#wire.close();
  }

  /**
   * Where the line has a speed to change, both ends cope with a faster one and nobody said no.
   * @throws HandbackError adapter.silent when the adapter was lost over it
   */
  async raiseSpeed(): Promise<void> {
    const { baud } = this.info;
    const { setBaud } = this.#wire;
    const { identity } = this.#s.settings;
    if (!this.#memory.mayRaise || isRaised(this.#s)) return;
    if (baud === null || setBaud === null || identity === NO_NAME) return;
    this.#memory.mayRaise = false; // unless it goes well
    const end = await raiseSpeed({ channel: this.#channel, setBaud, identity }, baud);
    if (end.failed) this.#become({ ...this.#s, settings: await applySettings(this.#channel) });
    // One that went well at a lower speed may do so again.
    this.#memory.mayRaise = !end.failed || end.baud !== baud;
    if (end.baud === baud) return;
    this.#memory.raised = { from: baud, to: end.baud };
    this.#become(withInfo(this.#s, { baud: end.baud, raisedFrom: baud }));
  }

  /** @throws HandbackError vehicle.silent, link.lost, adapter.silent */
  async findOut(): Promise<void> {
    for (;;) {
      const effect = next(this.#s, { nowUs: this.#wire.clock.nowUs(), lost: this.#wire.lost });
      if (effect === null) return;
      this.#become(await this.#perform(effect));
    }
  }

  async #perform(effect: Effect): Promise<AtState> {
    switch (effect.do) {
      case 'command': {
        const reply = await command(this.#channel, effect.text);
        if (effect.resync && reply.end === 'timeout') await this.#channel.resync();
        return effect.after(this.#s, reply, this.#wire.clock.nowUs());
      }
      case 'ask': {
        const answer = await this.#exchange(effect.request);
        return effect.after(this.#s, answer);
      }
      case 'aim at all':
        await this.#aim(null);
        if (this.#s.wait === 'long') await this.#setWait(false);
        return effect.after(this.#s);
      case 'long wait':
      case 'short wait':
        await this.#setWait(effect.do === 'long wait');
        return effect.after(this.#s);
      case 'go on':
        return effect.after(this.#s);
      case 'give up':
        throw effect.error;
    }
  }

  #become(state: AtState): void {
    const before = this.#s;
    this.#s = state;
    if (state.info.dialect !== before.info.dialect) this.#sayDialect();
  }

  async #answer(request: DiagnosticRequest): Promise<Exchange> {
    const { rx: _, repeated: __, ...x } = await this.#exchange(request);
    const look = request.withSupply === true && x.messages.length === 0 && !this.#s.health.outOfStep;
    if (!look || this.#wire.lost) return x;
    return { ...x, supplyV: voltsIn((await command(this.#channel, 'ATRV')).text) };
  }

  async #exchange(request: DiagnosticRequest): Promise<Asked> {
    await this.#mend();
    const { payload } = request;
    if (this.#s.health.outOfStep && !this.#wire.lost) {
      const nowUs = this.#wire.clock.nowUs();
      return {
        ...{ asked: payload, sentUs: nowUs, doneUs: nowUs, outcome: 'timeout', messages: [], rx: [] },
        why: say('wire.adapter-deaf'),
        discards: this.#channel.takeStray(),
        repeated: false,
      };
    }
    const ecu = await this.#aim(request.ecu ?? null);
    const key = `${ecu ?? ''} ${toHex(payload)}`;
    const digit = digitFor(this.#s.counting, key, request, ecu);
    const pace = isCan(this.#s) ? 'can' : 'other';
    const firstMs = request.timeoutMs ?? FIRST_MS[pace];
    const strays = this.#channel.takeStray();

    let sentUs: number | null = null;
    const onSend = () => {
      const tUs = this.#wire.clock.nowUs();
      if (sentUs !== null) this.#wire.tap({ kind: 'done', tUs, outcome: 'timeout' }); // sent anew
      sentUs = tUs;
      this.#wire.tap({ kind: 'request', tUs, payload, ecu });
    };
    const repeatedBefore = this.#channel.quality.repeated;
    const { rx, end } = await this.#channel.ask(`${toHex(payload)}${digit}`, firstMs, {
      quietMs: Math.min(QUIET_MS[pace], firstMs),
      longWords: SEARCHING,
      mayRepeat: this.#s.repeats,
      onSend,
    });
    if (sentUs === null) onSend();
    const reading = readAt(this.info.dialect, payload, rx);
    const { messages, discards } = onlyAnswers({ payload, ecu }, reading);
    const verdict = judge(end, messages, discards.length, reading, firstMs, this.#wire.lost);
    const { outcome } = verdict;
    const doneUs = this.#wire.clock.nowUs();
    this.#wire.tap({ kind: 'done', tUs: doneUs, outcome, messages });

    const s = this.#s;
    this.#become({
      ...s,
      damaged: s.damaged + (reading.discards.length > 0 ? 1 : 0),
      counting: countAnswers(s.counting, key, digit, messages, outcome, reading.discards.length === 0),
      health: afterExchange(s.health, {
        ...{ end, outcome, nowUs: doneUs, raised: isRaised(s) },
        restarted: reading.words.some((w) => w.word === 'power'),
        kline: s.info.dialect.bus === 'kline',
      }),
    });
    return {
      asked: payload,
      sentUs: sentUs ?? doneUs,
      doneUs,
      ...verdict,
      messages,
      discards: [...strays, ...discards],
      noted: notedIn(reading),
      rx,
      repeated: this.#channel.quality.repeated > repeatedBefore,
    };
  }

  /** Back in step and set up before anything is asked, as far as that goes. */
  async #mend(): Promise<void> {
    for (const mend of MENDS) {
      if (this.#wire.lost || !mend.due(this.#s.health, isRaised(this.#s))) continue;
      const wentWell = await this.#doMend(mend.what);
      this.#become({ ...this.#s, health: mend.after(this.#s.health, wentWell) });
    }
  }

  async #doMend(what: Mend['what']): Promise<boolean> {
    switch (what) {
      case 'resync':
        return this.#channel.resync();
      case 'slow down':
        this.#memory.mayRaise = false;
        return succeeds(this.#slowDown(this.#s.health.outOfStep));
      case 'wake':
        return (await command(this.#channel, 'ATPC')).ok;
      case 'set up': {
        const { aim, counting } = this.#s;
        this.#become({ ...this.#s, aim: { ...aim, at: null }, counting: { ...counting, seen: new Map() } });
        return succeeds(this.#setUpAnew());
      }
    }
  }

  /** @throws HandbackError adapter.silent */
  async #setUpAnew(): Promise<void> {
    const { protocol, klineUnit } = this.#s;
    // A header for one unit of a K-line must not meet the search for another bus.
    if (klineUnit !== null) await command(this.#channel, 'ATD');
    this.#become({ ...this.#s, settings: await applySettings(this.#channel) });
    if (protocol && klineUnit !== null) {
      for (const text of [`ATSP${protocol}`, ...toOneUnit(protocol, klineUnit)])
        await command(this.#channel, text);
      return;
    }
    if (protocol) await command(this.#channel, `ATSP${searches(this.#s) ? 'A' : ''}${protocol}`);
  }

  /** Back to the speed it was found at. @throws HandbackError adapter.silent */
  async #slowDown(silent: boolean): Promise<void> {
    const { baud, raisedFrom, ...info } = this.info;
    const { setBaud } = this.#wire;
    if (raisedFrom === undefined || baud === null || setBaud === null) return;
    this.#become({ ...this.#s, info: { ...info, baud: raisedFrom } });
    this.#memory.raised = null;
    const { identity } = this.#s.settings;
    await lowerSpeed({ channel: this.#channel, setBaud, identity }, baud, raisedFrom, silent);
  }

  /** Sets the header for one control unit or for all. @returns whom the next request will reach. */
  async #aim(ecu: string | null): Promise<string | null> {
    const { aim, info, counting, health } = this.#s;
    if (!aim.can) return null;
    if (this.#wire.lost || health.outOfStep || ecu === aim.at) return aim.at;
    const { bus } = info.dialect;
    // Elsewhere all are asked: who answers stands in the header.
    if (bus !== 'can11' && bus !== 'can29') return null;
    const address = ecu === null ? FUNCTIONAL[bus] : requestIdOf(ecu);
    if (address === null || (address.length === 3) !== (bus === 'can11')) return aim.at;
    // The priority byte of a 29-bit address keeps its default of 18.
    const header = await command(this.#channel, `ATSH${bus === 'can11' ? address : address.slice(2)}`);
    const aimed = (at: string | null, can: boolean, outOfStep: boolean) =>
      this.#become({ ...this.#s, aim: { can, at }, health: { ...health, outOfStep } });
    if (!header.ok) {
      aimed(aim.at, !header.refused, header.end === 'timeout');
      return aim.at;
    }
    let filter = await command(this.#channel, ecu === null ? 'ATAR' : `ATCRA${ecu}`);
    if (ecu === null && !filter.ok) filter = await command(this.#channel, 'ATCRA');
    if (counting.digit) await this.#setWait(ecu !== null);
    aimed(ecu, true, filter.end === 'timeout');
    return ecu;
  }

  /** Long for one unit; for all of them what the adapter learns, since nobody knows how many there are. */
  async #setWait(long: boolean): Promise<void> {
    if (!long) await command(this.#channel, 'ATAT1');
    else if ((await command(this.#channel, 'ATAT0')).ok) await command(this.#channel, `ATST${LATE_UNITS}`);
  }

  #sayDialect(): void {
    this.#wire.tap({ kind: 'dialect', tUs: this.#wire.clock.nowUs(), dialect: this.info.dialect });
  }
}

function succeeds(doing: Promise<void>): Promise<boolean> {
  return doing.then(
    () => true,
    () => false,
  );
}
