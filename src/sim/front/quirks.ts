/** Faults and oddities of adapters, by name, as `--quirk NAME[=VALUE]` and the tests ask for them. */
import { saying } from '../../core/error-says.ts';
import { HandbackError } from '../../core/errors.ts';

interface QuirkDef {
  readonly title: string;
  /** What `=VALUE` means, its default and its range; absent where the quirk is on or off. */
  readonly value?: {
    readonly unit: string;
    readonly normal: number;
    readonly range: readonly [number, number];
  };
}

const probability = (normal: number) => ({ unit: 'probability', normal, range: [0, 1] as const });
const seconds = (normal: number) => ({ unit: 's', normal, range: [0, 86_400] as const });

/** Dialect `at` unless the title says otherwise. */
export const QUIRKS = {
  'no-linefeed-off': { title: 'says OK to "line feed off" and goes on sending line feeds' },
  'ignores-spaces-off': { title: 'says OK to "spaces off" and goes on sending spaces' },
  'ignores-echo-off': { title: 'says OK to "echo off" and goes on echoing' },
  'no-headers': { title: 'does not know the command for headers' },
  'no-filters': { title: 'does not know how to set a header or a receive filter' },
  'no-auto-protocol': { title: 'does not know automatic protocol search' },
  'no-adaptive-timing': { title: 'does not know adaptive timing' },
  'no-count-digit': { title: 'does not know the digit for the number of answers' },
  'no-keep-alive': { title: 'K-line: lets the session end when nothing is asked for five seconds' },
  'no-multi-pid': { title: 'passes on only requests for one PID' },
  'wrong-identity': { title: 'says a name that means nothing' },
  slow: {
    title: 'takes this much longer over everything',
    value: { unit: 'ms', normal: 150, range: [0, 10_000] },
  },
  'null-bytes': { title: 'sends a zero byte before some bytes', value: probability(0.02) },
  'lost-prompt': { title: 'forgets the prompt after some answers', value: probability(0.02) },
  garble: { title: 'flips a bit in some bytes (every dialect)', value: probability(0.002) },
  'drop-bytes': { title: 'loses some bytes of what it says (every dialect)', value: probability(0.002) },
  'drop-commands': {
    title: 'loses some bytes of what it is told (every dialect)',
    value: probability(0.002),
  },
  'loose-lines': { title: 'slcan: passes over what follows a whole frame on its line' },
  'refuses-frames': { title: 'slcan: refuses some transmissions with a bell', value: probability(0.02) },
  stall: { title: 'is silent for five seconds after some commands', value: probability(0.01) },
  'wrong-baud': { title: 'answers at its own line speed only; at another, noise comes (every dialect)' },
  'line-speed': {
    title: 'knows the command for another line speed; faster than this, noise comes',
    value: { unit: 'bit/s', normal: 1_000_000, range: [300, 4_000_000] },
  },
  'line-speed-noisy': {
    title: 'with line-speed: flips a bit in some bytes at another speed than its own',
    value: probability(0.02),
  },
  'line-speed-sticks': {
    title: 'with line-speed: changes at once, asks for no confirmation and stays',
  },
  'vanishes-after': {
    title: 'is gone this long after each opening, for three seconds (every dialect)',
    value: seconds(20),
  },
  'restarts-after': {
    title: 'loses its settings this long after start, once (every dialect)',
    value: seconds(20),
  },
  'no-ack': { title: 'slcan: acknowledges nothing' },
  'ack-z': { title: 'slcan: acknowledges frames with z or Z' },
  'no-filter': { title: 'slcan: does not know acceptance filters' },
  'filter-ignored': { title: 'slcan: says yes to acceptance filters and passes everything on' },
  'filter-plain': { title: 'slcan: takes acceptance filters as plain address and mask' },
  'filter-one-unit': { title: 'slcan: an acceptance filter keeps back the answers of 7E9, too' },
  'no-version': { title: 'slcan: does not know the version and serial number commands' },
} as const satisfies Record<string, QuirkDef>;

export type QuirkName = keyof typeof QUIRKS;

/** Quirks that are on, with their values (1 where there is none). */
export type Quirks = ReadonlyMap<QuirkName, number>;

/** @throws HandbackError input.usage for an unknown name or a value out of range, naming it and what is allowed. */
export function readQuirks(given: readonly string[]): Quirks {
  const quirks = new Map<QuirkName, number>();
  for (const text of given) {
    const [name = '', valueText] = text.split('=', 2);
    if (!Object.hasOwn(QUIRKS, name))
      throw new HandbackError(
        'input.usage',
        saying('error.sim-unknown', { what: 'quirk', word: name, known: Object.keys(QUIRKS).join(', ') }),
      );
    const def: QuirkDef = QUIRKS[name as QuirkName];
    if (valueText !== undefined && def.value === undefined)
      throw new HandbackError('input.usage', saying('error.sim-no-value', { name: `quirk ${name}` }));
    const value = valueText === undefined ? (def.value?.normal ?? 1) : Number(valueText);
    const [low, high] = def.value?.range ?? [1, 1];
    if (valueText === '' || !(value >= low && value <= high))
      throw new HandbackError(
        'input.usage',
        saying('error.sim-number', {
          name: `quirk ${name}`,
          value: `${valueText} ${def.value?.unit}`,
          low,
          high,
        }),
      );
    quirks.set(name as QuirkName, value);
  }
  return quirks;
}
