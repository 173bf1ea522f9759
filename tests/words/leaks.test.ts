/**
 * Every message of every language, rendered in every system of units with extreme args: nothing of another language or
 * another system, nothing unfinished, no digits that no sensor gives. Catalogues are found, not listed: a new file in
 * `src/words/LANGUAGE/` is tested as it is.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { type Model, parseMessage, visit } from 'messageformat';
import { describe, expect, it } from 'vitest';
import { LANGUAGE_IDS } from '../../src/core/languages.ts';
import { METRIC, type UnitChoice } from '../../src/words/measures.ts';
import { type Language, Words } from '../../src/words/words.ts';
import { PLACEHOLDER, pseudo } from './pseudo.ts';

type Catalogue = Readonly<Record<string, string>>;

const ROOT = new URL('../../src/words/', import.meta.url);
const foldersOf = (url: URL) =>
  readdirSync(url, { withFileTypes: true })
    .filter((d) => d.isDirectory())
    .map((d) => d.name);

const isCatalogue = (value: unknown): value is Catalogue =>
  typeof value === 'object' &&
  value !== null &&
  Object.values(value).length > 0 &&
  Object.values(value).every((v) => typeof v === 'string') &&
  Object.keys(value).every((k) => k !== 'lang');

/** All messages of a language, from all of its files, and how it writes numbers. */
async function languageIn(folder: string): Promise<Language> {
  const messages: Record<string, string> = {};
  let language: Language | undefined;
  for (const file of readdirSync(new URL(`${folder}/`, ROOT))) {
    const module = (await import(new URL(`${folder}/${file}`, ROOT).href)) as Record<string, unknown>;
    for (const value of Object.values(module))
      if (isCatalogue(value)) Object.assign(messages, value);
      else if (typeof value === 'object' && value !== null && 'messages' in value)
        language ??= value as Language;
  }
  return { ...language!, messages };
}

const LANGUAGES = await Promise.all(foldersOf(ROOT).map(languageIn));
const english = LANGUAGES.find((l) => l.lang === 'en')!;
const EVERY = [...LANGUAGES, pseudo(english)];

const SYSTEMS: readonly UnitChoice[] = [
  METRIC,
  { ...METRIC, pressure: 'bar' },
  { temperature: 'F', pressure: 'psi', speed: 'mph' },
];
const UNITS = {
  temperature: { C: '°C', F: '°F' },
  pressure: { kPa: 'kPa', bar: 'bar', psi: 'psi' },
  speed: { 'km/h': 'km/h', mph: 'mph' },
};
/** A typed unit in a message is wrong in some system: units come from the functions. */
const ANY_UNIT = /°[CF]\b|\bkPa\b|\bmbar\b|(?<!space )\bbar\b|\bpsi\b|\bkm\/h\b|\bmph\b/;
const otherUnits = (own: UnitChoice): string[] =>
  (['temperature', 'pressure', 'speed'] as const).flatMap((of) =>
    Object.entries(UNITS[of]).flatMap(([id, text]) => (id === own[of] ? [] : [text])),
  );

/** Words that a workshop's language does not share with the other. */
const FOREIGN: Readonly<Record<string, RegExp>> = {
  en: /[äöüß„]|\b(der|das|und|nicht|mit|eine?|wird|ist|bei|Ladedruck|Kühlmittel)\b/,
  de: /\b(the|and|of|with|is|are|not|before|after|until|boost|coolant|repair|drive|pulls?)\b/i,
};

const NUMBERS = [0, -0.4, 1, 2, 97.6543219, -273.149, 123456.789012];
const NUMERIC =
  'temp diff pressure speed distance height rpm volt air mass share percent duration seconds clock num number integer'.split(
    ' ',
  );
const DATE = /\d\d\.\d\d\.\d{4}/g;
const SAID = 'Ω';

/** What each variable of a message may be: by the function that it is given to, else by the keys it is matched with. */
function argsOf(message: Model.Message, texts: Catalogue): Map<string, readonly unknown[]> {
  const args = new Map<string, readonly unknown[]>();
  const declared = new Set<string>();
  const give = (name: string, values: readonly unknown[]) => {
    if (!args.has(name) || args.get(name)![0] === SAID) args.set(name, values);
  };
  visit(message, {
    declaration: (d) => {
      if (d.type === 'local') declared.add(d.name);
    },
    value: (v) => {
      if (v.type === 'variable') give(v.name, [SAID]);
    },
    functionRef: (f, _where, operand) => {
      if (operand?.type !== 'variable') return;
      if (NUMERIC.includes(f.name)) give(operand.name, NUMBERS);
      else if (f.name === 'date' || f.name === 'datetime') give(operand.name, ['2026-03-04T05:06:07Z']);
      else if (f.name === 'says') give(operand.name, [{ id: 'text', args: { text: SAID } }]);
      else if (f.name === 'name') {
        const group = f.options?.of;
        const of = typeof group === 'object' && group.type === 'literal' ? `${group.value}.` : '';
        const ids = Object.keys(texts).flatMap((id) => (id.startsWith(of) ? [id.slice(of.length)] : []));
        give(operand.name, of !== '' && ids.length > 0 ? ids : [SAID]);
      }
    },
  });
  if (message.type === 'select')
    message.selectors.forEach(({ name }, i) => {
      const keys = message.variants.flatMap(({ keys }) =>
        keys[i]!.type === 'literal' && !/^(zero|one|two|few|many|other)$/.test(keys[i]!.value)
          ? [keys[i]!.value]
          : [],
      );
      if (args.get(name)?.[0] === SAID) args.set(name, [...keys, SAID]);
    });
  for (const name of declared) args.delete(name);
  return args;
}

/** So many renderings that each value of each variable is seen; not every combination. */
function renderings(args: Map<string, readonly unknown[]>): Record<string, unknown>[] {
  const most = Math.max(1, ...[...args.values()].map((v) => v.length));
  return Array.from({ length: most }, (_, k) =>
    Object.fromEntries([...args].map(([name, values]) => [name, values[k % values.length]])),
  );
}

/** The typed text of a message, without what stands for values and options of the command line. */
const typedIn = (source: string): string => source.replace(PLACEHOLDER, ' ').replace(/--[a-z-]+/g, ' ');

describe.each(EVERY.map((l) => [l.lang, l] as const))('%s', (lang, language) => {
  const ids = Object.keys(language.messages);

  it('says every message in every system of units, and nothing else', () => {
    const leaks: string[] = [];
    for (const units of SYSTEMS) {
      const words = new Words(language, units, 'UTC');
      const foreign = otherUnits(units);
      for (const id of ids) {
        const source = language.messages[id]!;
        for (const args of renderings(argsOf(parseMessage(source), language.messages))) {
          const leak = (why: string) => leaks.push(`${id}: ${why}`);
          let text = '';
          try {
            text = words.say({ id, args: args as Record<string, number> });
          } catch (error) {
            leak(`${(error as Error).message}: ${String((error as Error).cause)}`);
            continue;
          }
          if (text.trim() === '') leak('is empty');
          if (/undefined|NaN|Infinity|\[object|\{[$#|]|\{"|\|\}/.test(text)) leak(`unfinished: ${text}`);
          if (/\d[.,]\d{4}/.test(text.replace(DATE, ''))) leak(`digits that no sensor gives: ${text}`);
          if (!source.includes('−{$') && /(^|[^\p{L}\d])[-−]0([.,]0+)?([^\d.,]|$)/u.test(text))
            leak(`minus nothing: ${text}`);
          for (const unit of foreign)
            if (new RegExp(`\\d[\\s\u00a0]*${unit}(?![\\p{L}/])`, 'u').test(text))
              leak(`${unit} in ${JSON.stringify(units)}: ${text}`);
        }
      }
    }
    expect([...new Set(leaks)]).toEqual([]);
  });

  it('types no unit that another reader has otherwise, and writes no bare quantity', () => {
    const leaks = ids.flatMap((id) => {
      const source = language.messages[id]!;
      const unit = ANY_UNIT.exec(typedIn(source));
      const bare = [...source.matchAll(/\{\$(\w+)\}/g)].filter(
        ([, name]) =>
          /[a-z](C|Kpa|Pct|Kmh|Rpm|Km|S|V)$|^(rpm|kpa|c|kmh)$/.test(name!) && !source.includes(`{$${name} :`),
      );
      return [
        ...(unit ? [`${id}: types ${unit[0]}`] : []),
        ...bare.map(([b]) => `${id}: ${b} without a function`),
      ];
    });
    expect(leaks).toEqual([]);
  });

  it('has no words of another language', () => {
    const rule = FOREIGN[lang];
    const leaks = rule === undefined ? [] : ids.filter((id) => rule.test(typedIn(language.messages[id]!)));
    expect(leaks.map((id) => `${id}: ${language.messages[id]}`)).toEqual([]);
  });

  it('has what English has', () => {
    const missing = Object.keys(english.messages).filter((id) => !(id in language.messages));
    const more = ids.filter((id) => !(id in english.messages));
    expect({ missing, more }).toEqual({ missing: [], more: [] });
  });
});

/** Of recorded drives (`npm run conformance`): a new detector's are among them. */
const findings = (): string[] => {
  const cases = new URL('../../captures/conformance/', import.meta.url);
  const found = readdirSync(cases).flatMap((name) => {
    const text = readFileSync(new URL(`${name}/expected.json`, cases), 'utf8');
    const { findings: those = [] } = JSON.parse(text) as { readonly findings?: readonly [string][] };
    return those.map(([id]) => id);
  });
  return [...new Set(found)];
};

it('names each finding of the recorded drives, and says it to the customer as good, as a fault and as open', () => {
  const wanted = findings().flatMap((id) =>
    ['finding', 'plain-good', 'plain-fault', 'plain-open'].map((group) => `${group}.${id}`),
  );
  expect(wanted.length).toBeGreaterThan(40);
  for (const { messages } of LANGUAGES) expect(wanted.filter((id) => !(id in messages))).toEqual([]);
});

it('finds languages and their messages', () => {
  expect(LANGUAGES.map((l) => l.lang).sort()).toEqual([...LANGUAGE_IDS].sort());
  for (const { messages } of LANGUAGES) expect(Object.keys(messages).length).toBeGreaterThan(500);
});
