/**
 * One interface for every kind of adapter: send one diagnostic request, get what each control unit answered.
 * A driver knows its dialect and its limits, never what a PID means.
 *
 * Live and replay are the same by construction: a driver hands every exchange, with the bytes received, to
 * `interpret` (see interpret.ts), and a replay hands the recorded bytes to the same function.
 */
import type { Says } from '../core/says.ts';
import type { Link } from '../link/link.ts';

/** How the bytes of an exchange are to be read; JSON, written to the capture whenever it changes. */
export interface Dialect {
  /** The dialect's name, see `dialects.ts`. */
  readonly family: string;
  /** Where known: what carries the diagnostics behind the adapter. */
  readonly bus: 'can11' | 'can29' | 'kline' | 'j1850' | 'unknown';
  /** AT: header bytes are printed in front of each line. */
  readonly headers?: boolean;
  /** AT: the adapter removes and adds ISO-TP bytes itself and numbers the lines of long answers. */
  readonly autoFormat?: boolean;
  /** AT, CAN: every frame comes with all its eight bytes, so that one with fewer has lost some on the way. */
  readonly padded?: boolean;
  /** Bus bit rate in bit/s where known. */
  readonly bitrate?: number;
}

export interface DiagnosticRequest {
  /** Service byte and its parameters, without ISO-TP bytes. */
  readonly payload: Uint8Array;
  /** Control unit to ask (see `EcuMessage.ecu`); absent = all of them (functional addressing). */
  readonly ecu?: string;
  /** How many control units are expected to answer, where known; lets the driver stop waiting early. */
  readonly expect?: number;
  /** Give up after this; absent = the driver's learned time. */
  readonly timeoutMs?: number;
  /** Where nothing answers: look at the supply of the plug, too. */
  readonly withSupply?: boolean;
}

/** One complete message of one control unit. */
export interface EcuMessage {
  /** Response address in upper-case hex: "7E8", "18DAF110"; K-line: source byte "10"; "?" when headers are off. */
  readonly ecu: string;
  /** Service byte (with 0x40 set, or 0x7F) and what follows, without framing. */
  readonly payload: Uint8Array;
  /** When its last byte arrived. */
  readonly tUs: number;
}

/** Bytes that could not be read as a message, never dropped silently. */
export interface Discard {
  readonly tUs: number;
  readonly bytes: Uint8Array;
  readonly why: string;
}

export type Outcome =
  | 'answered' // at least one complete message
  | 'no data' // the adapter says that no control unit answered
  | 'bus error' // the adapter reports a bus, initialisation or voltage problem
  | 'garbled' // something came, nothing of it could be read
  | 'timeout' // the adapter itself did not finish in time
  | 'lost'; // the link closed while waiting

export interface Exchange {
  /** The payload that was sent: the request's, or more, see `Adapter.formOf`. */
  readonly asked: Uint8Array;
  readonly sentUs: number;
  readonly doneUs: number;
  readonly outcome: Outcome;
  /** For people: the adapter's own words or what was awaited; null when answered. */
  readonly why: Says | null;
  readonly messages: readonly EcuMessage[];
  readonly discards: readonly Discard[];
  /** What the adapter said of itself while it waited, where it has words for it. */
  readonly noted?: readonly ('searched' | 'supply dipped')[];
  /** V at the plug, where it was asked for and measured. */
  readonly supplyV?: number | null;
}

/** `classic`: SAE J1979. `newer`: ISO 14229 as SAE J1979-2 uses it. */
export type Services = 'classic' | 'newer';

export interface AdapterInfo {
  readonly family: string;
  /** What it says of itself, as received (never trusted, shown as text). */
  readonly identity: string;
  readonly baud: number | null;
  /** The speed it was found at, where `baud` is one that it was raised to. */
  readonly raisedFrom?: number;
  readonly bus: string; // for people: "CAN 11 bit, 500 kbit/s"
  readonly dialect: Dialect;
  /** In which the vehicle answered; absent = classic. */
  readonly services?: Services;
  /** PIDs that one request may carry (1 where grouping is not possible). */
  readonly maxPidsPerRequest: number;
  /** Supply voltage at the connector in V where the adapter measures it. */
  readonly voltageV: number | null;
}

/** Everything that goes over or happens to the wire, in order: the capture is made of these. */
export type WireEvent =
  | { readonly kind: 'tx'; readonly tUs: number; readonly bytes: Uint8Array }
  | { readonly kind: 'rx'; readonly tUs: number; readonly bytes: Uint8Array }
  | { readonly kind: 'dialect'; readonly tUs: number; readonly dialect: Dialect }
  | {
      readonly kind: 'request';
      readonly tUs: number;
      readonly payload: Uint8Array;
      readonly ecu: string | null;
    }
  | {
      readonly kind: 'done';
      readonly tUs: number;
      readonly outcome: Outcome;
      /** Live: what the driver made of the bytes. A capture holds the bytes alone, and its reader makes the same of them. */
      readonly messages?: readonly EcuMessage[];
    }
  | {
      readonly kind: 'link';
      readonly tUs: number;
      readonly state: 'opened' | 'lost' | 'reopening' | 'identified' | 'closed';
      /** For people, one line. */
      readonly text: string;
    };

export type WireTap = (event: WireEvent) => void;

/** A driver bound to one open link. One request in flight at a time unless the driver says otherwise. */
export interface Adapter {
  readonly info: AdapterInfo;
  /** Lines that did not come as they were sent, or exchanges in which something was damaged, since the connection. */
  readonly damaged: number;
  /**
   * What is sent for a payload: itself, or where characters may get lost unnoticed a fuller request, of which nothing
   * else can become. Null when there is no such form: it asks for too much at once, or for what can't be asked without risk.
   */
  formOf(payload: Uint8Array): Uint8Array | null;
  /** Never rejects for what the other end does: the outcome tells. Rejects only on programming mistakes. */
  request(request: DiagnosticRequest): Promise<Exchange>;
  /** Leaves the adapter as found where it can, then closes the link. Never rejects. */
  close(): Promise<void>;
}

export interface AdapterDriver {
  /**
   * Identifies and sets up on an open link; rejects with adapter.* or vehicle.silent, saying what was tried.
   * @param haste how long to wait for a first sign of life: `quick` passes over an adapter that is still starting
   * @param memory what was learnt about this port before; the driver writes into it
   */
  connect(
    link: Link,
    tap: WireTap,
    baud: number | null,
    haste?: Haste,
    memory?: PortMemory,
  ): Promise<Adapter>;
}

/** Learnt about one port, remembered over its reopenings. */
export interface PortMemory {
  /** May the line speed be raised; the driver says no for the next time when it did not go well. */
  mayRaise: boolean;
  /** An adapter that keeps its power while the port is closed is still at `to`; one that lost it is at `from`. */
  raised: { readonly from: number; readonly to: number } | null;
  /** The line loses more characters than this dialect can bear safely: it is refused until it passed a trial. */
  lossy: boolean;
}

export const newPort = (mayRaise: boolean): PortMemory => ({ mayRaise, raised: null, lossy: false });

export type Haste = 'quick' | 'patient';
