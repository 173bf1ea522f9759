/** All that the driver knows of one adapter and the vehicle behind it, as one value that is replaced, never changed. */
import type { Says } from '../../core/says.ts';
import type { AdapterInfo, Dialect, EcuMessage, Exchange, PortMemory, Services } from '../adapter.ts';
import type { RxChunk } from '../received.ts';
import { type AnswerCounting, NOTHING_COUNTED } from './counting.ts';
import { type Health, WELL } from './health.ts';
import type { AdapterSettings } from './setup.ts';

export interface AtState {
  /** How far finding out has come, see `finding.ts`. */
  readonly stage: Stage;
  readonly info: AdapterInfo;
  readonly settings: AdapterSettings;
  /** Number of the bus protocol, where the adapter names it or it was chosen. */
  readonly protocol: string | null;
  readonly aim: {
    /** One control unit can be asked by its own address. */
    readonly can: boolean;
    /** Control unit whose address is set as header; null = all (functional). */
    readonly at: string | null;
  };
  /** The unit of a K-line that is called by its own address, since it answers to nothing else; null = all. */
  readonly klineUnit: string | null;
  readonly counting: AnswerCounting;
  /** For one unit that is asked by itself, while finding out: as the adapter learns it, or long, because an answer stayed away. */
  readonly wait: 'learnt' | 'long is due' | 'long';
  /** An empty line may stand for the request before. */
  readonly repeats: boolean;
  readonly health: Health;
  /** Exchanges in which something could not be read. */
  readonly damaged: number;
}

/** What to ask with: whom, and for which PIDs. */
export interface FoundVehicle {
  /** The first control unit; null = all are asked. */
  readonly ecu: string | null;
  /** PIDs 01–1F that it says it has. */
  readonly pids: readonly number[];
}

export interface Search {
  readonly services: Services;
  /** Numbers for ATSP, tried in this order. */
  readonly protocols: readonly string[];
  /** Of each protocol the unit of a K-line that is called by its own address; empty: all are asked. */
  readonly units: readonly string[];
  readonly timeoutMs: number;
  readonly i: number;
  /** Of those so far, how many the adapter let choose. */
  readonly chosen: number;
  /** What it said instead of an answer, each once, for people. */
  readonly said: readonly Says[];
  /** After this nothing new is tried. */
  readonly giveUpUs: number;
}

export type Stage =
  | { readonly at: 'supply' }
  | { readonly at: 'protocol'; readonly search: Search }
  | {
      /** Setting up for one unit of a K-line: commands that are still to be given. */
      readonly at: 'unit';
      readonly search: Search;
      readonly commands: readonly string[];
    }
  | { readonly at: 'probe'; readonly search: Search; readonly attempt: number }
  | {
      readonly at: 'name';
      readonly tried: string;
      /** The first answer, and the bytes that it was made of. */
      readonly messages: readonly EcuMessage[];
      readonly rx: readonly RxChunk[];
    }
  | { readonly at: 'address'; readonly found: FoundVehicle; readonly attempt: number }
  | {
      readonly at: 'count';
      readonly found: FoundVehicle;
      readonly of: 'probe' | 'group';
      readonly payload: Uint8Array;
      readonly attempt: number;
      /** The answer to the request without the digit, once it is there. */
      readonly without: Exchange | null;
    }
  | { readonly at: 'hurry'; readonly found: FoundVehicle }
  | {
      readonly at: 'group';
      readonly found: FoundVehicle;
      readonly sizes: readonly number[];
      readonly attempt: number;
      /** Whether the digit was found to work. */
      readonly digit: boolean;
    }
  | { readonly at: 'wait'; readonly found: FoundVehicle }
  | {
      readonly at: 'repeat';
      readonly found: FoundVehicle;
      readonly attempt: number;
      readonly before: Exchange | null;
    }
  | { readonly at: 'ready' };

/** An exchange with what it was made of. */
export interface Asked extends Exchange {
  readonly rx: readonly RxChunk[];
  /** An empty line stood for the request. */
  readonly repeated: boolean;
}

export function newlySetUp(settings: AdapterSettings, baud: number | null, { raised }: PortMemory): AtState {
  return {
    stage: { at: 'supply' },
    info: {
      family: 'at',
      identity: settings.identity,
      baud,
      ...(raised && raised.to === baud ? { raisedFrom: raised.from } : {}),
      bus: 'not known yet',
      dialect: { family: 'at', bus: 'unknown', headers: settings.headers, autoFormat: true },
      maxPidsPerRequest: 1,
      voltageV: null,
    },
    settings,
    protocol: null,
    aim: { can: true, at: null },
    klineUnit: null,
    counting: NOTHING_COUNTED,
    wait: 'learnt',
    repeats: false,
    health: WELL,
    damaged: 0,
  };
}

export function withInfo(s: AtState, info: Partial<AdapterInfo>): AtState {
  return { ...s, info: { ...s.info, ...info } };
}

export function withDialect(s: AtState, dialect: Partial<Dialect>): AtState {
  return withInfo(s, { dialect: { ...s.info.dialect, ...dialect } });
}

export function isCan({ info }: AtState): boolean {
  return info.dialect.bus === 'can11' || info.dialect.bus === 'can29';
}

export function isRaised({ info }: AtState): boolean {
  return info.raisedFrom !== undefined;
}

/** May the adapter look for the bus by itself? It asks all units with service 01. */
export function searches(s: AtState): boolean {
  return s.settings.autoProtocol && s.info.services !== 'newer' && s.klineUnit === null;
}
