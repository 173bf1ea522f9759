import { describe, expect, it } from 'vitest';
import { Judge } from '../../src/analysis/judge.ts';
import { inTurn, type Says, sayer } from '../../src/core/says.ts';
import { de } from '../../src/words/de/de.ts';
import { en } from '../../src/words/en/en.ts';
import { METRIC, parseUnits, type UnitChoice } from '../../src/words/measures.ts';
import { english, spelled } from '../../src/words/spelled.ts';
import { type Language, Words } from '../../src/words/words.ts';

const IMPERIAL = parseUnits('imperial') as UnitChoice;
const speak = (language: Language, units: UnitChoice, messages: Record<string, string>) =>
  new Words({ ...language, messages: { ...language.messages, ...messages } }, units, 'UTC');

interface TrialSays {
  hot: { c: number; by: number; at: number };
  pulls: { n: number };
  cause: { what: Says };
  signal: { signal: string };
}
const say = sayer<TrialSays>();
const TRIAL = {
  hot: '{$c :temp} is {$by :diff sign=always} at {$at :clock}',
  pulls: '.input {$n :number}\n.match $n\none {{{$n} pull}}\n* {{{$n} pulls}}',
  cause: 'Cause: {$what :says}.',
  signal: 'Signal {$signal :name of=sig}',
  'sig.map_kpa': 'manifold pressure',
};

describe('words', () => {
  it.each([
    // 90 °C = 194 °F; a difference of 4 °C = 7.2 °F (NIST SP 811: exact)
    [en, METRIC, '90\u00a0°C is +4\u00a0°C at 2:05'],
    [en, IMPERIAL, '194\u00a0°F is +7\u00a0°F at 2:05'],
    [de, METRIC, '90\u00a0°C is +4\u00a0°C at 2:05'],
  ] as const)('writes quantities in the reader’s units', (language, units, text) => {
    expect(speak(language, units, TRIAL).say(say('hot', { c: 90.04, by: 4, at: 125.9 }))).toBe(text);
  });

  it('converts before it rounds: 91.4 °C is 197 °F, not 196', () => {
    const f = speak(en, IMPERIAL, { t: '{$c :temp}' });
    expect(f.say({ id: 't', args: { c: 91.4 } })).toBe('197\u00a0°F');
  });

  it('keeps decimals only where a message asks for finer ones, with the decimal mark of the language', () => {
    const text = { t: '{$kpa :pressure finer=1} {$s :seconds finer=1} {$x :share}' };
    const says = { id: 't', args: { kpa: -12.34, s: 2.345, x: 0.119 } };
    expect(speak(en, METRIC, text).say(says)).toBe('−12.3\u00a0kPa 2.3\u00a0s 12\u00a0%');
    expect(speak(de, METRIC, text).say(says)).toBe('−12,3\u00a0kPa 2,3\u00a0s 12\u00a0%');
  });

  it('writes no sign before what rounds to nothing', () => {
    const words = speak(en, METRIC, { t: '{$x :share sign=always}' });
    const written = [0.004, 0, -0.004, 0.006, -0.006].map((x) => words.say({ id: 't', args: { x } }));
    expect(written.map((w) => w.replace('\u00a0', ' '))).toEqual(['0 %', '0 %', '0 %', '+1 %', '−1 %']);
  });

  it('asks for no less time than is wanted: 145 s are no 2 min, whoever drives those is asked again', () => {
    const words = speak(en, METRIC, { t: '{$s :duration} {$s :duration asked=yes}' });
    const written = (s: number) => words.say({ id: 't', args: { s } }).replaceAll('\u00a0', ' ');
    expect([44.2, 60, 120, 145, 480, 480.000_000_1].map(written)).toEqual([
      ...['44 s 45 s', '60 s 60 s', '2 min 2 min', '2 min 3 min', '8 min 8 min', '8 min 8 min'],
    ]);
    for (const { messages } of [en, de])
      for (const [id, message] of Object.entries(messages as Record<string, string>))
        if (message.includes('{$moreS')) expect(message, id).toContain('{$moreS :duration asked=yes}');
    const left = { id: 'leg.left.more', args: { moreS: 145 } };
    expect([en, de].map((l) => speak(l, METRIC, {}).say(left))).toEqual([
      '3\u00a0min more',
      'noch 3\u00a0min',
    ]);
  });

  it('prints a rule with the numbers that it applies: 2.5 °C is no 3', () => {
    const cars = [
      { induction: 'twin-charged', fuel: 'petrol' },
      { induction: 'turbocharger', fuel: 'diesel' },
    ] as const;
    const rules = cars.flatMap((car) => new Judge(car, null).finish('').findings.map((f) => f.rule));
    const fractions = rules.flatMap((rule) =>
      Object.entries(rule.args).flatMap(([name, value]) =>
        typeof value === 'number' && !Number.isInteger(value) ? [{ rule, name, value }] : [],
      ),
    );
    expect(fractions.map((f) => f.name)).toEqual(expect.arrayContaining(['aboveHeldC', 'z']));
    for (const { rule, name, value } of fractions) {
      const printed = [
        value.toFixed(1),
        value.toFixed(2),
        (100 * value).toFixed(0),
        (100 * value).toFixed(1),
      ];
      const near = printed.filter(
        (p) => Math.abs(Number(p) - value) < 0.005 || Math.abs(Number(p) - 100 * value) < 0.05,
      );
      expect(
        near.some((p) => english.say(rule).includes(p)),
        `${rule.id} ${name} ${value}`,
      ).toBe(true);
    }
  });

  it('chooses by number', () => {
    const words = speak(en, METRIC, TRIAL);
    expect([1, 2].map((n) => words.say(say('pulls', { n })))).toEqual(['1 pull', '2 pulls']);
  });

  it('carries statements in statements, and names ids', () => {
    const words = speak(en, METRIC, TRIAL);
    expect(words.say(say('cause', { what: say('pulls', { n: 3 }) }))).toBe('Cause: 3 pulls.');
    expect(words.say(say('signal', { signal: 'map_kpa' }))).toBe('Signal manifold pressure');
    expect(words.say(say('signal', { signal: 'other' }))).toBe('Signal other');
    expect(words.say(inTurn([say('pulls', { n: 1 }), say('pulls', { n: 2 })]))).toBe('1 pull 2 pulls');
  });

  it('shows a person’s words as they are, braces and all', () => {
    expect(english.say({ id: 'text', args: { text: 'hot {$n} \\ | heiß' } })).toBe('hot {$n} \\ | heiß');
  });

  it('spells a statement that it does not know, and throws for an arg it cannot use', () => {
    expect(english.say({ id: 'no.such', args: { n: 1 } })).toBe('no.such {"n":1}');
    const words = speak(en, METRIC, TRIAL);
    expect(() => words.say({ id: 'hot', args: { c: Number.NaN, by: 1, at: 1 } })).toThrow('en: hot');
    expect(() => words.say({ id: 'hot', args: { by: 1, at: 1 } })).toThrow('en: hot');
  });
});

describe('as JSON', () => {
  it('puts the English sentence where the statement stood, and the statement beside it', () => {
    const text: Says = { id: 'text', args: { text: 'mind' } };
    expect(spelled({ id: 'x', rule: text, list: [{ text, atS: 1 }], needs: null })).toEqual({
      id: 'x',
      rule: 'mind',
      needs: null,
      list: [{ text: 'mind', atS: 1, says: { text } }],
      says: { rule: text },
    });
  });
});
