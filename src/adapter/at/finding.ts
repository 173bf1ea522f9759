/**
 * Finding out what adapter and vehicle can do, as a state machine: `next` tells what to do in a stage and which state
 * follows each way it may end. Nothing here waits, sends or remembers; the driver does.
 *
 *   supply → protocol ⇄ probe → name ┬ CAN  → address → count → group → count → wait → repeat → ready
 *               ↓                    └ other → count ──────────────────────────────────────────↗
 *        nobody: in the newer services once more; then, on K-lines, one unit by its own address; then given up
 *
 *   supply    how many volts at the plug
 *   protocol  chooses the next bus protocol, where the adapter does not search by itself
 *   unit      on a K-line of which nobody answers when all are asked: the header for one unit
 *   probe     asks what is supported: does anybody answer?
 *   name      which protocol it is
 *   address   asks one control unit by its own address; refused or silent, all are asked as before
 *   count     with the digit that tells how many answers to wait for, the answers must come back the same
 *   hurry     no such digit: the adapter waits for more answers each time, and that wait is shortened
 *   group     many PIDs at once, which the vehicle says it has: the answer must hold more than the first
 *   wait      one unit, told how many answers to wait for: a long wait costs nothing there; before, it is set only
 *             where that unit's answer stayed away, which may be one that is late
 *   repeat    an empty line for the line before: one character instead of all, and nothing to compare;
 *             not elsewhere than on CAN, where the adapter keeps a session with messages of its own
 */
import { saying } from '../../core/error-says.ts';
import { HandbackError } from '../../core/errors.ts';
import { toHex } from '../../core/hex.ts';
import { listed, type Says } from '../../core/says.ts';
import { say } from '../../core/wire-says.ts';
import type { DiagnosticRequest, Dialect, EcuMessage, Exchange, Services } from '../adapter.ts';
import { onlyAnswers } from '../answers.ts';
import { MOST_PIDS, PROBES, pidsOfProbe, refused, requestFor, shortestAnswer } from '../probes.ts';
import { CAN_IN_ORDER, PHYSICAL_IN_ORDER, PROTOCOLS, TRY_IN_ORDER, toOneUnit } from './protocols.ts';
import { isPadded, readAt } from './read.ts';
import type { Reply } from './setup.ts';
import {
  type Asked,
  type AtState,
  type FoundVehicle,
  isCan,
  type Search,
  type Stage,
  searches,
  withDialect,
  withInfo,
} from './state.ts';

/** Automatic search with slow wake-ups takes this long at worst (common practice, no source). */
const SEARCH_MS = 20_000;
/** One protocol, slow wake-up included. */
const ONE_PROTOCOL_MS = 7000;
/** No new try is begun after this. */
const GIVE_UP_MS = 45_000;
/** Of things that must not fail for one damaged byte. */
const TRIES = 3;
const AS_IT_IS = 'as it is';

/** What the driver is to do, and what then holds. */
export type Effect =
  | {
      readonly do: 'command';
      readonly text: string;
      /** Comes back into step when no prompt came. */
      readonly resync?: boolean;
      readonly after: (s: AtState, reply: Reply, nowUs: number) => AtState;
    }
  | {
      readonly do: 'ask';
      readonly request: DiagnosticRequest;
      readonly after: (s: AtState, answer: Asked) => AtState;
    }
  | {
      readonly do: 'aim at all' | 'long wait' | 'short wait' | 'go on';
      readonly after: (s: AtState) => AtState;
    }
  | { readonly do: 'give up'; readonly error: HandbackError };

export interface Now {
  readonly nowUs: number;
  /** Why the link is gone. */
  readonly lost: Says | null;
}

/** Null when everything is found out. */
export function next(s: AtState, now: Now): Effect | null {
  const { stage } = s;
  if (s.wait === 'long is due') return { do: 'long wait', after: (s) => ({ ...s, wait: 'long' }) };
  switch (stage.at) {
    case 'supply':
      return {
        do: 'command',
        text: 'ATRV',
        after: (s, { text }, nowUs) =>
          search(withInfo(s, { voltageV: voltsIn(text) }), 'classic', [], nowUs + GIVE_UP_MS * 1000),
      };

    case 'protocol': {
      const { protocols, i, chosen } = stage.search;
      const protocol = protocols[i];
      if (protocol === undefined || now.lost !== null || (protocol === AS_IT_IS && chosen > 0))
        return nobody(s, stage.search, now.lost);
      const unit = stage.search.units[i] ?? null;
      if (unit === null && (searches(s) || protocol === AS_IT_IS)) return goOn((s) => probe(s, stage.search));
      return {
        do: 'command',
        text: `ATSP${protocol}`,
        resync: true,
        after: (s, { ok }) =>
          !ok
            ? tryProtocol(s, stage.search, i + 1)
            : unit === null
              ? probe(s, { ...stage.search, chosen: chosen + 1 })
              : at(s, { at: 'unit', search: stage.search, commands: toOneUnit(protocol, unit) }),
      };
    }

    case 'unit': {
      const { search, commands } = stage;
      const [text, ...more] = commands;
      if (text === undefined)
        return goOn((s) => probe({ ...s, klineUnit: search.units[search.i] ?? null }, search));
      return {
        do: 'command',
        text,
        resync: true,
        after: (s, { ok }) =>
          ok ? at(s, { at: 'unit', search, commands: more }) : tryProtocol(s, search, search.i + 1),
      };
    }

    case 'probe': {
      const { i, timeoutMs, giveUpUs } = stage.search;
      if (stage.attempt >= TRIES || now.nowUs >= giveUpUs)
        return goOn((s) => tryProtocol(s, stage.search, i + 1));
      return ask({ payload: probeOf(s), timeoutMs }, (s, x) => probed(s, stage, x));
    }

    case 'name':
      return { do: 'command', text: 'ATDPN', after: (s, { text }) => named(s, stage, text) };

    case 'address': {
      const { ecu } = stage.found;
      const askAll = (s: AtState) =>
        count(
          { ...s, aim: { ...s.aim, can: false }, wait: 'learnt' },
          { ...stage.found, ecu: null },
          'probe',
          probeOf(s),
        );
      if (ecu === null || !s.info.dialect.headers || !s.aim.can) return goOn(askAll);
      if (stage.attempt >= TRIES) return { do: 'aim at all', after: askAll };
      return ask({ payload: probeOf(s), ecu }, (s, x) =>
        x.outcome === 'answered' && s.aim.at === ecu
          ? count(s, stage.found, 'probe', probeOf(s))
          : at(patient(s, x), { ...stage, attempt: stage.attempt + 1 }),
      );
    }

    case 'count':
      return ask({ payload: stage.payload, ...to(stage.found) }, (s, x) =>
        // With the digit it may be that which it does not know.
        counted(stage.without === null ? patient(s, x) : s, stage, x),
      );

    case 'hurry':
      return { do: 'command', text: 'ATAT2', after: (s) => group({ ...s, wait: 'learnt' }, stage.found) };

    case 'group': {
      const [size] = stage.sizes;
      if (size === undefined)
        return goOn((s) => at(withDigit(s, stage.digit), { at: 'wait', found: stage.found }));
      const payload = requestFor(servicesOf(s), [0x00, ...stage.found.pids.slice(0, size - 1)]);
      return ask({ payload, ...to(stage.found) }, (s, x) => grouped(patient(s, x), stage, size, payload, x));
    }

    case 'wait': {
      const after = (s: AtState): AtState =>
        isCan(s)
          ? { ...at(s, { at: 'repeat', found: stage.found, attempt: 0, before: null }), repeats: true }
          : at(s, { at: 'ready' });
      if (s.counting.digit && s.aim.at !== null) return { do: 'long wait', after };
      return s.wait === 'long'
        ? { do: 'short wait', after: (s) => after({ ...s, wait: 'learnt' }) }
        : goOn(after);
    }

    case 'repeat':
      return ask({ payload: probeOf(s), ...to(stage.found) }, (s, x) => {
        const { before, attempt } = stage;
        if (!x.repeated && attempt + 1 < 2 * TRIES)
          return at(s, { ...stage, attempt: attempt + 1, before: x });
        const proved = x.repeated && before !== null && x.outcome === 'answered' && sameShape(before, x);
        return { ...at(s, { at: 'ready' }), repeats: proved };
      });

    case 'ready':
      return null;
  }
}

/** V at the plug, as the adapter says it. */
export function voltsIn(text: string): number | null {
  const v = Number.parseFloat(/(\d{1,2}\.\d{1,2})\s*V?/i.exec(text)?.[1] ?? '');
  return Number.isFinite(v) ? v : null;
}

type In<K extends Stage['at']> = Extract<Stage, { at: K }>;

const at = (s: AtState, stage: Stage): AtState => ({ ...s, stage });
const withDigit = (s: AtState, digit: boolean): AtState => ({ ...s, counting: { ...s.counting, digit } });
const goOn = (after: (s: AtState) => AtState): Effect => ({ do: 'go on', after });
const ask = (request: DiagnosticRequest, after: (s: AtState, x: Asked) => AtState): Effect => ({
  do: 'ask',
  request,
  after,
});
const to = ({ ecu }: FoundVehicle): { ecu?: string } => (ecu === null ? {} : { ecu });
/** What one unit does not answer in time it may answer late. */
const patient = (s: AtState, { outcome }: Asked): AtState =>
  outcome === 'no data' && s.aim.at !== null && s.wait === 'learnt' ? { ...s, wait: 'long is due' } : s;
const servicesOf = (s: AtState): Services => s.info.services ?? 'classic';
const probeOf = (s: AtState): Uint8Array => PROBES[servicesOf(s)];

function search(s: AtState, services: Services, said: readonly Says[], giveUpUs: number): AtState {
  const asked = withInfo(s, { services });
  const all = services === 'newer' ? CAN_IN_ORDER : TRY_IN_ORDER;
  // One that lets no protocol be chosen has one of its own.
  const how = searches(asked)
    ? { protocols: ['0'], timeoutMs: SEARCH_MS }
    : { protocols: [...all, AS_IT_IS], timeoutMs: ONE_PROTOCOL_MS };
  return tryProtocol(asked, { services, ...how, units: [], i: 0, chosen: 0, said, giveUpUs }, 0);
}

/** The last resort: K-lines whose units are asleep to a call of all. Nobody who answers otherwise waits for it. */
function searchUnits(s: AtState, said: readonly Says[], giveUpUs: number): AtState {
  return tryProtocol(
    withInfo(s, { services: 'classic' }),
    {
      services: 'classic',
      protocols: PHYSICAL_IN_ORDER.map((p) => p.protocol),
      units: PHYSICAL_IN_ORDER.map((p) => p.unit),
      timeoutMs: ONE_PROTOCOL_MS,
      ...{ i: 0, chosen: 0, said, giveUpUs },
    },
    0,
  );
}

const tryProtocol = (s: AtState, search: Search, i: number): AtState =>
  at(s, { at: 'protocol', search: { ...search, i } });
const probe = (s: AtState, search: Search, attempt = 0): AtState => at(s, { at: 'probe', search, attempt });

/** In these services nobody answers, or all refuse them. */
function nobody(s: AtState, { services, units, said, giveUpUs }: Search, lost: Says | null): Effect {
  if (services === 'classic' && units.length === 0) return goOn((s) => search(s, 'newer', said, giveUpUs));
  if (units.length === 0 && lost === null && s.info.dialect.headers)
    return goOn((s) => searchUnits(s, said, giveUpUs));
  const { identity, voltageV: volts } = s.info;
  return {
    do: 'give up',
    error: new HandbackError(
      lost === null ? 'vehicle.silent' : 'link.lost',
      lost === null
        ? saying('error.car-silent', {
            adapter: identity,
            said: said.length === 0 ? say('wire.no-answer') : listed(said),
          })
        : saying('error.lost-looking', { why: lost }),
      {
        hint: volts !== null && volts < 6 ? saying('error.low-volts', { volts }) : saying('error.ignition'),
      },
    ),
  };
}

function probed(asked: AtState, { search, attempt }: In<'probe'>, x: Asked): AtState {
  const { i, protocols, said } = search;
  const [s, messages] = x.messages.length > 0 ? [asked, x.messages] : rereadBare(asked, x);
  if (refused(messages)) return tryProtocol(s, search, protocols.length);
  if (messages.length > 0) return at(s, { at: 'name', tried: protocols[i] ?? '', messages, rx: x.rx });
  const { why } = x;
  const known = why === null || said.some((s) => JSON.stringify(s) === JSON.stringify(why));
  const heard = known ? search : { ...search, said: [...said, why] };
  // A clear "nobody there" is believed; an unreadable answer is asked for again.
  return x.outcome === 'garbled' || x.outcome === 'timeout'
    ? probe(s, heard, attempt + 1)
    : tryProtocol(s, heard, i + 1);
}

/** Headers asked for and accepted but not printed: the same bytes read without, and that remembered. */
function rereadBare(s: AtState, { asked, rx }: Asked): [AtState, readonly EcuMessage[]] {
  if (!s.info.dialect.headers) return [s, []];
  const bare = withDialect(s, { headers: false });
  const { messages } = onlyAnswers({ payload: asked, ecu: null }, readAt(bare.info.dialect, asked, rx));
  return [messages.length > 0 ? bare : s, messages];
}

function named(s: AtState, { tried, messages, rx }: In<'name'>, text: string): AtState {
  const number = /^A?([1-9])$/.exec(text.replaceAll(' ', ''))?.[1] ?? (/[1-9]/.test(tried) ? tried : null);
  const row = number === null ? undefined : PROTOCOLS[number];
  const bus = busOf(messages[0]?.ecu ?? '?');
  const told = withInfo(withDialect(s, row?.dialect ?? { bus }), { bus: row?.bus ?? busInWords(bus) });
  const { dialect } = told.info;
  const known = {
    ...(dialect.headers && isPadded(dialect, rx) ? withDialect(told, { padded: true }) : told),
    protocol: row ? number : null,
  };
  if (!isCan(known)) return count(known, { ecu: null, pids: [] }, 'probe', probeOf(known));
  const [ecu = null] = messages
    .map((m) => m.ecu)
    .filter((e) => e !== '?')
    .sort();
  const map = messages.find((m) => m.ecu === ecu && m.payload[0] !== 0x7f) ?? messages[0];
  const pids = pidsOfProbe(servicesOf(known), map?.payload);
  return at(known, { at: 'address', found: { ecu, pids }, attempt: 0 });
}

/** Twice, without the digit and with it. */
function count(s: AtState, found: FoundVehicle, of: 'probe' | 'group', payload: Uint8Array): AtState {
  return at(withDigit(s, false), { at: 'count', found, of, payload, attempt: 0, without: null });
}

function counted(s: AtState, stage: In<'count'>, x: Asked): AtState {
  const { found, of, payload, attempt, without } = stage;
  if (without === null) return at(withDigit(s, true), { ...stage, without: x });
  const trusted = without.outcome === 'answered' && sameShape(without, x);
  if (!trusted && attempt + 1 < TRIES)
    return at(withDigit(s, false), { ...stage, attempt: attempt + 1, without: null });
  if (of === 'probe') return trusted ? group(s, found) : at(withDigit(s, false), { at: 'hurry', found });
  if (trusted) return at(s, { at: 'wait', found });
  return s.counting.frames
    ? at(withDigit(s, false), { at: 'wait', found })
    : count({ ...s, counting: { ...s.counting, frames: true } }, found, of, payload);
}

/** Elsewhere than on CAN one request is for one PID. */
function group(s: AtState, found: FoundVehicle): AtState {
  if (!isCan(s)) return at(s, { at: 'wait', found });
  const most = MOST_PIDS[servicesOf(s)];
  const sizes = [most, most >> 1].filter((n) => n >= 2 && found.pids.length >= n - 1);
  return at(withDigit(s, false), { at: 'group', found, sizes, attempt: 0, digit: s.counting.digit });
}

function grouped(s: AtState, stage: In<'group'>, size: number, payload: Uint8Array, x: Asked): AtState {
  const { found, sizes, attempt, digit } = stage;
  const least = shortestAnswer(servicesOf(s), size);
  if (!x.messages.some((m) => m.payload[0] !== 0x7f && m.payload.length >= least))
    return attempt + 1 < TRIES
      ? at(s, { ...stage, attempt: attempt + 1 })
      : at(s, { ...stage, sizes: sizes.slice(1), attempt: 0 });
  const known = withDigit(withInfo(s, { maxPidsPerRequest: size }), digit);
  return digit ? count(known, found, 'group', payload) : at(known, { at: 'wait', found });
}

function busOf(ecu: string): Dialect['bus'] {
  if (ecu === '?') return 'unknown';
  return ecu.length === 3 ? 'can11' : ecu.length === 8 ? 'can29' : 'kline';
}

function busInWords(bus: Dialect['bus']): string {
  if (bus === 'can11') return 'CAN 11 bit';
  if (bus === 'can29') return 'CAN 29 bit';
  return bus === 'kline' ? 'K-line or J1850' : 'bus not told by the adapter';
}

/** From the same units, as long, to the same question. Not the same values: at idle those flicker. */
function sameShape(a: Exchange, b: Exchange): boolean {
  const shape = (x: Exchange) =>
    x.messages
      .map((m) => `${m.ecu} ${m.payload.length} ${toHex(m.payload.subarray(0, 2))}`)
      .sort()
      .join();
  return shape(a) === shape(b);
}
