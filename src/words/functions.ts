/**
 * The functions that messages use for quantities: each takes a number in the unit of the signal catalogue and writes it
 * in the reader's units and decimals. Options of all: `finer=N` decimals beyond the usual one of the unit (for what was
 * averaged), `sign=always` a plus before what is written as more than nothing, `bare=yes` without the unit.
 *
 * | function | takes | writes |
 * |---|---|---|
 * | `:temp` | °C, a temperature | 90 °C, 194 °F |
 * | `:diff` | °C, a difference of temperatures | 4 °C, 7 °F |
 * | `:pressure` | kPa | 112 kPa, 1.12 bar, 16.2 psi |
 * | `:speed`, `:distance` | km/h, km | 60 km/h, 37 mph |
 * | `:height` | m | 120 m, 394 ft |
 * | `:rpm`, `:volt`, `:air`, `:mass` | rpm, V, g/s, g | 2100 rpm |
 * | `:share` | a fraction of 1 | 12 % |
 * | `:percent` | per cent | 12 % |
 * | `:duration` | s | 45 s, 3 min; with `asked=yes` never less than it is, for what is still to be done |
 * | `:seconds` | s | 2.3 s |
 * | `:clock` | s, time of the run | 12:41 |
 * | `:date`, `:datetime` | ISO 8601 | 3 March 2026 |
 * | `:num` | a number | 1,234.5 |
 * | `:number` | a count, for its plural too | 1,234 |
 * | `:says` | a statement or several | its words; with `list=yes` commas between, with `list=parts` semicolons |
 * | `:name of=GROUP` | an id | the words of the message GROUP.id, or the id itself |
 */
import type { MessageFunction, MessageValue } from 'messageformat/functions';
import { isSays, type Says } from '../core/says.ts';
import type { Unit } from '../core/signals.ts';
import type { Measures } from './measures.ts';

/** What a function asks of the language it is used in. */
export interface Speaker {
  readonly measures: Measures;
  say(says: Says): string;
  /** The message of an id, null when there is none. */
  known(id: string): string | null;
}

type Fn = MessageFunction<'string'>;
/** Between the statements of a list. */
const BETWEEN: Readonly<Record<string, string>> = { yes: ', ', parts: '; ' };

interface Options {
  readonly finer: number;
  readonly plus: boolean;
  readonly bare: boolean;
  readonly asked: boolean;
}

const text = (value: string): MessageValue<'string'> => ({
  type: 'string',
  selectKey: (keys) => (keys.has(value) ? value : null),
  toString: () => value,
  valueOf: () => value,
});

/** The value of an operand: a bare arg, or one that a declaration has already wrapped. */
function plain(operand: unknown): unknown {
  return typeof operand === 'object' && operand !== null && !isSays(operand) && !Array.isArray(operand)
    ? operand.valueOf()
    : operand;
}

function optionsOf(given: Record<string, unknown>): Options {
  const read = (name: string): string => String(plain(given[name]) ?? '');
  return {
    finer: Number(read('finer') || 0),
    plus: read('sign') === 'always',
    bare: read('bare') === 'yes',
    asked: read('asked') === 'yes',
  };
}

/** A number in, its writing out; anything else is a mistake of whoever made the statement. */
const numeric =
  (write: (value: number, o: Options) => string): Fn =>
  (_context, given, operand) => {
    const value = plain(operand);
    if (typeof value !== 'number' || !Number.isFinite(value))
      throw new TypeError(`a number is wanted, not ${String(value)}`);
    const o = optionsOf(given);
    const written = write(value, o);
    // What rounds to nothing has no sign.
    return text(o.plus && value > 0 && /[1-9]/.test(written) ? `+${written}` : written);
  };

const quantity = (m: Measures, unit: Unit, difference = false): Fn =>
  numeric((v, o) =>
    o.bare ? m.bare(v, unit, difference, o.finer) : m.quantity(v, unit, difference, o.finer),
  );

/**
 * As the standard's own of that name, which makes anew for each number what writes it and what finds its plural: that was
 * a fourth of what the page's words took.
 */
function counting(): Fn {
  const written = new Map<boolean, Intl.NumberFormat>();
  let plural: Intl.PluralRules | null = null;
  return ({ locales }, given, operand) => {
    const value = plain(operand);
    if (typeof value !== 'number') throw new TypeError(`a number is wanted, not ${String(value)}`);
    const useGrouping = plain(given.useGrouping) !== 'never';
    return {
      type: 'string',
      selectKey: (keys) => {
        if (keys.has(String(value))) return String(value);
        plural ??= new Intl.PluralRules(locales);
        const category = plural.select(value);
        return keys.has(category) ? category : null;
      },
      toString: () => {
        const format = written.get(useGrouping) ?? new Intl.NumberFormat(locales, { useGrouping });
        written.set(useGrouping, format);
        return format.format(value);
      },
      valueOf: () => value,
    };
  };
}

export function functionsFor(speaker: Speaker): Record<string, Fn> {
  const m = speaker.measures;
  return {
    number: counting(),
    temp: quantity(m, 'degC'),
    diff: quantity(m, 'degC', true),
    pressure: quantity(m, 'kPa'),
    speed: quantity(m, 'km/h'),
    distance: quantity(m, 'km'),
    height: quantity(m, 'm'),
    rpm: quantity(m, 'rpm'),
    volt: quantity(m, 'V'),
    air: quantity(m, 'g/s'),
    mass: quantity(m, 'g'),
    share: numeric((v, o) =>
      o.bare ? m.number(100 * v, o.finer) : m.quantity(100 * v, '%', false, o.finer),
    ),
    percent: quantity(m, '%'),
    duration: numeric((s, o) => m.span(s, o.asked)),
    seconds: numeric((s, o) => (o.bare ? m.number(s, o.finer) : m.quantity(s, 's', false, o.finer))),
    clock: numeric((s) => m.clock(s)),
    date: (_context, _options, operand) => text(m.date(String(plain(operand)))),
    datetime: (_context, _options, operand) => text(m.dateTime(String(plain(operand)))),
    num: numeric((v, o) => m.number(v, o.finer)),
    says: (_context, given, operand) => {
      const value = Array.isArray(operand) ? operand : [operand];
      if (!value.every(isSays)) throw new TypeError('a statement is wanted');
      return text(value.map((s) => speaker.say(s)).join(BETWEEN[String(plain(given.list))] ?? ' '));
    },
    name: (_context, given, operand) => {
      const id = String(plain(operand));
      return text(speaker.known(`${String(plain(given.of))}.${id}`) ?? id);
    },
  };
}
