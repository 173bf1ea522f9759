/** What an AT-command text adapter remembers, its commands as a table, and the protocols it knows by number. */

/** Protocol numbers as the dialect has them; the CAN ones can reach the simulated vehicle. */
interface Protocol {
  readonly name: string;
  readonly can: { readonly bitrate: number; readonly extended: boolean } | null;
  /** How long an attempt to wake a control unit takes when none is there, ms. */
  readonly attemptMs: number;
}

export const PROTOCOLS: Readonly<Record<number, Protocol>> = {
  1: { name: 'SAE J1850 PWM', can: null, attemptMs: 150 },
  2: { name: 'SAE J1850 VPW', can: null, attemptMs: 150 },
  3: { name: 'ISO 9141-2', can: null, attemptMs: 2600 },
  4: { name: 'ISO 14230-4 (KWP 5BAUD)', can: null, attemptMs: 2600 },
  5: { name: 'ISO 14230-4 (KWP FAST)', can: null, attemptMs: 400 },
  6: { name: 'ISO 15765-4 (CAN 11/500)', can: { bitrate: 500_000, extended: false }, attemptMs: 250 },
  7: { name: 'ISO 15765-4 (CAN 29/500)', can: { bitrate: 500_000, extended: true }, attemptMs: 250 },
  8: { name: 'ISO 15765-4 (CAN 11/250)', can: { bitrate: 250_000, extended: false }, attemptMs: 250 },
  9: { name: 'ISO 15765-4 (CAN 29/250)', can: { bitrate: 250_000, extended: true }, attemptMs: 250 },
};
/** Order of the automatic search. */
export const SEARCH_ORDER: readonly number[] = [6, 8, 7, 9, 5, 3, 4, 1, 2];

/** Address that a slow wake-up of all units calls, from memory of ISO 9141-2. */
export const ALL_UNITS = 0x33;
const DEFAULT_TIMEOUT_MS = 200;
const TIMEOUT_UNIT_MS = 4;

export interface IdFilter {
  readonly mask: number;
  readonly value: number;
}

export interface AtSettings {
  echo: boolean;
  linefeed: boolean;
  spaces: boolean;
  headers: boolean;
  autoFormat: boolean;
  showLength: boolean;
  responses: boolean;
  adaptive: 0 | 1 | 2;
  timeoutMs: number;
  auto: boolean;
  /** Chosen protocol; 0 while automatic search has not found one. */
  protocol: number;
  /** A control unit has answered on `protocol`. */
  connected: boolean;
  /** Hex digits as set; null = the protocol's own. */
  header: string | null;
  priority: string;
  /** Called by a slow wake-up. */
  wakeAddress: number;
  filter: IdFilter | null;
  flowControl: boolean;
  flowMode: 0 | 1;
  flowHeader: string | null;
  flowData: readonly number[];
  voltageScale: number;
  /** For the confirmation of another line speed. */
  handshakeMs: number;
}

export function factorySettings(): AtSettings {
  return {
    echo: true,
    linefeed: false,
    spaces: true,
    headers: false,
    autoFormat: true,
    showLength: false,
    responses: true,
    adaptive: 1,
    timeoutMs: DEFAULT_TIMEOUT_MS,
    auto: true,
    protocol: 0,
    connected: false,
    header: null,
    priority: '18',
    wakeAddress: ALL_UNITS,
    filter: null,
    flowControl: true,
    flowMode: 0,
    flowHeader: null,
    flowData: [0x30, 0, 0],
    voltageScale: 1,
    handshakeMs: 75,
  };
}

/** What a command may do beside changing settings. */
export interface AtActions {
  readonly identity: string;
  readonly description: string;
  reset(kind: 'cold' | 'warm'): void;
  monitor(): void;
  measuredVoltage(): number;
  changeSpeed(baud: number): void;
}

/** Returns what to print; null when the command itself takes care of the answer. */
type Run = (s: AtSettings, m: readonly string[], act: AtActions) => string | null;

export interface AtCommand {
  readonly pattern: RegExp;
  readonly run: Run;
  /** A quirk under which the command is unknown. */
  /** A quirk without which it is unknown. */
  readonly onlyWith?: 'line-speed';
  readonly absentWith?: 'no-headers' | 'no-filters' | 'no-auto-protocol' | 'no-adaptive-timing';
}

const set =
  (change: (m: readonly string[], s: AtSettings) => Partial<AtSettings>): Run =>
  (s, m) => {
    Object.assign(s, change(m, s));
    return 'OK';
  };
const on = (m: readonly string[]): boolean => m[1] === '1';
/** The action prints its own answer, later. */
const itself = (_started: unknown): null => null;
const nothing: Run = () => 'OK';
const hexBytes = (text: string): number[] =>
  (text.match(/../g) ?? []).map((pair) => Number.parseInt(pair, 16));

function chosen(auto: boolean, protocol: number): Partial<AtSettings> {
  return { auto, protocol, connected: false };
}

/** `X` stands for a digit that does not matter. */
function receiveFilter(text: string): IdFilter {
  const digits = (hit: (c: string) => string) => Number.parseInt([...text].map(hit).join(''), 16) >>> 0;
  return { mask: digits((c) => (c === 'X' ? '0' : 'F')), value: digits((c) => (c === 'X' ? '0' : c)) };
}

/** The dialect as the trade knows it (from memory, no source); spaces are taken out and letters made capitals first. */
export const COMMANDS: readonly AtCommand[] = [
  { pattern: /^Z$/, run: (_s, _m, act) => itself(act.reset('cold')) },
  { pattern: /^WS$/, run: (_s, _m, act) => itself(act.reset('warm')) },
  { pattern: /^I$/, run: (_s, _m, act) => act.identity },
  { pattern: /^@1$/, run: (_s, _m, act) => act.description },
  { pattern: /^D$/, run: set(() => factorySettings()) },
  { pattern: /^E([01])$/, run: set((m) => ({ echo: on(m) })) },
  { pattern: /^L([01])$/, run: set((m) => ({ linefeed: on(m) })) },
  { pattern: /^S([01])$/, run: set((m) => ({ spaces: on(m) })) },
  { pattern: /^H([01])$/, run: set((m) => ({ headers: on(m) })), absentWith: 'no-headers' },
  { pattern: /^D([01])$/, run: set((m) => ({ showLength: on(m) })) },
  { pattern: /^R([01])$/, run: set((m) => ({ responses: on(m) })) },
  { pattern: /^CAF([01])$/, run: set((m) => ({ autoFormat: on(m) })) },
  { pattern: /^CFC([01])$/, run: set((m) => ({ flowControl: on(m) })) },
  { pattern: /^(AL|NL|M[01]|BI|V[01]|CSM[01]|KW[01]|IFR[0-2]|SS|FE)$/, run: nothing },
  { pattern: /^LP$/, run: nothing },
  {
    pattern: /^(?:SP|TP)(?:00|0|A0)$/,
    run: set(() => chosen(true, 0)),
    absentWith: 'no-auto-protocol',
  },
  {
    pattern: /^(?:SP|TP)A([1-9])$/,
    run: set((m) => chosen(true, Number(m[1]))),
    absentWith: 'no-auto-protocol',
  },
  { pattern: /^(?:SP|TP)0?([1-9])$/, run: set((m) => chosen(false, Number(m[1]))) },
  { pattern: /^PC$/, run: set(() => ({ connected: false })) },
  {
    pattern: /^DP$/,
    run: (s) => {
      const name = PROTOCOLS[s.protocol]?.name;
      if (name === undefined) return 'AUTO';
      return s.auto ? `AUTO, ${name}` : name;
    },
  },
  { pattern: /^DPN$/, run: (s) => `${s.auto ? 'A' : ''}${s.protocol}` },
  {
    pattern: /^SH([0-9A-F]{3}|[0-9A-F]{6}|[0-9A-F]{8})$/,
    run: set((m) => ({ header: m[1] ?? null })),
    absentWith: 'no-filters',
  },
  { pattern: /^IIA([0-9A-F]{2})$/, run: set((m) => ({ wakeAddress: Number.parseInt(m[1]!, 16) })) },
  { pattern: /^CP([0-9A-F]{2})$/, run: set((m) => ({ priority: m[1] ?? '18' })) },
  {
    pattern: /^CRA([0-9A-FX]{3}|[0-9A-FX]{8})$/,
    run: set((m) => ({ filter: receiveFilter(m[1] ?? '') })),
    absentWith: 'no-filters',
  },
  { pattern: /^(?:CRA|AR)$/, run: set(() => ({ filter: null })), absentWith: 'no-filters' },
  {
    pattern: /^CF([0-9A-F]{3}|[0-9A-F]{8})$/,
    run: set((m, s) => ({
      filter: { mask: s.filter?.mask ?? 0x1fffffff, value: Number.parseInt(m[1] ?? '0', 16) },
    })),
    absentWith: 'no-filters',
  },
  {
    pattern: /^CM([0-9A-F]{3}|[0-9A-F]{8})$/,
    run: set((m, s) => ({
      filter: { mask: Number.parseInt(m[1] ?? '0', 16), value: s.filter?.value ?? 0 },
    })),
    absentWith: 'no-filters',
  },
  { pattern: /^FCSM([01])$/, run: set((m) => ({ flowMode: on(m) ? 1 : 0 })) },
  {
    pattern: /^FCSH([0-9A-F]{3}|[0-9A-F]{8})$/,
    run: set((m) => ({ flowHeader: m[1] ?? null })),
  },
  { pattern: /^FCSD((?:[0-9A-F]{2}){1,5})$/, run: set((m) => ({ flowData: hexBytes(m[1] ?? '') })) },
  {
    pattern: /^ST([0-9A-F]{2})$/,
    run: set((m) => {
      const units = Number.parseInt(m[1] ?? '0', 16);
      return { timeoutMs: units === 0 ? DEFAULT_TIMEOUT_MS : units * TIMEOUT_UNIT_MS };
    }),
  },
  {
    pattern: /^AT([012])$/,
    run: set((m) => ({ adaptive: Number(m[1]) as 0 | 1 | 2 })),
    absentWith: 'no-adaptive-timing',
  },
  { pattern: /^RV$/, run: (s, _m, act) => `${(act.measuredVoltage() * s.voltageScale).toFixed(1)}V` },
  {
    pattern: /^CV([0-9]{4})$/,
    run: (s, m, act) => {
      const wanted = Number(m[1]) / 100;
      s.voltageScale = wanted === 0 ? 1 : wanted / Math.max(1, act.measuredVoltage());
      return 'OK';
    },
  },
  {
    pattern: /^BRT([0-9A-F]{2})$/,
    run: set((m) => ({ handshakeMs: 5 * (Number.parseInt(m[1] ?? '0', 16) || 256) })),
    onlyWith: 'line-speed',
  },
  {
    // 00 to 03 would be faster than the adapter can.
    pattern: /^BRD(0[4-9A-F]|[1-9A-F][0-9A-F])$/,
    run: (_s, m, act) => itself(act.changeSpeed(4_000_000 / Number.parseInt(m[1] ?? '0', 16))),
    onlyWith: 'line-speed',
  },
  { pattern: /^MA$/, run: (_s, _m, act) => itself(act.monitor()) },
];
