/**
 * The whole text of sheets: numbers that follow from each other do so as they are printed, what was measured is the same
 * everywhere, no number is finer than its sensor, and in another language no word of English is left.
 */
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { renderSheet } from '../../src/sheet/render.ts';
import type { SheetInput, SheetOptions } from '../../src/sheet/types.ts';
import { en } from '../../src/words/en/en.ts';
import { sheet as englishSheet } from '../../src/words/en/sheet.ts';
import { findingText } from '../../src/words/finding-text.ts';
import { METRIC, parseUnits, type UnitChoice } from '../../src/words/measures.ts';
import { english } from '../../src/words/spelled.ts';
import { argv } from '../cli/program.ts';
import { pseudo } from '../words/pseudo.ts';
import { gathered, jobIn, OPTIONS, snapshotOf } from './jobs.ts';

const ROOT = resolve(import.meta.dirname, '../..');
const CAPTURE = join(ROOT, 'captures/clutch-never-closes');
const library = mkdtempSync(join(tmpdir(), 'handback-whole-'));
afterAll(() => rmSync(library, { recursive: true, force: true }));

const inputs = new Map<string, SheetInput>();
beforeAll(async () => {
  inputs.set('clutch-never-closes', await gathered(CAPTURE));
  const cases = join(ROOT, 'captures/conformance');
  for (const name of readdirSync(cases).filter((n) => existsSync(join(cases, n, 'run.json'))))
    inputs.set(name, await gathered(join(cases, name)));
  const code = { code: 'P0299', text: '', source: null };
  const frame = [
    { pid: '02', signal: null, value: 'P0299', unit: null, raw: '0299' },
    { pid: '0C', signal: 'rpm', value: 2212.25, unit: 'rpm', raw: '2291' },
  ] as const;
  const job = await jobIn(library, {
    drives: [
      { purpose: 'baseline', fault: 'clutch-never-closes', seconds: 420 },
      { purpose: 'verification', seed: 2, seconds: 420 },
      { purpose: 'come-back', fault: 'clutch-never-closes', seed: 4, seconds: 420 },
    ],
    snapshots: [
      { when: 'before', snapshot: snapshotOf({ stored: [code], mil: true, freezeFrame: frame }) },
      { when: 'after', snapshot: snapshotOf() },
    ],
    observations: [
      {
        id: 'c',
        at: '2026-03-03T10:00:00.000Z',
        runId: null,
        tS: null,
        kind: 'leaks',
        answer: 'found',
        text: '',
      },
    ],
    photos: ['', ''],
  });
  inputs.set('a whole job', await gathered(job));
});

/** What a reader sees or hears read, a part a line. */
const partsOf = (html: string): string[] =>
  html
    .replace(/<style>.*?<\/style>/s, '')
    .replace(/ (?:aria-label|alt|title)="([^"]*)"[^>]*>/g, '>$1<x>')
    .split(/<[^>]*>/)
    .map((part) => part.replaceAll('&nbsp;', '\u00a0').trim())
    .filter(Boolean);

const SYSTEMS = (['metric', 'imperial', 'bar'] as const).map((name) => parseUnits(name) as UnitChoice);
const EVERY: Partial<SheetOptions>[] = SYSTEMS.flatMap((units) => [
  { units, language: 'en' },
  { units, language: 'de' },
]);
const numberOf = (text: string): number =>
  Number(
    text
      .replaceAll(/[\s\u00a0.]*(?=\d{3}(?:\D|$))/g, '')
      .replace('−', '-')
      .replace('+', '')
      .replace(',', '.'),
  );
const decimals = (text: string): number => /[.,](\d+)$/.exec(text)?.[1]?.length ?? 0;

it('a share printed beside two numbers follows from them as they are printed', () => {
  let seen = 0;
  for (const [name, input] of inputs)
    for (const options of EVERY)
      for (const part of partsOf(renderSheet(input, { ...OPTIONS, ...options }))) {
        const pull =
          /(?:boost|Ladedruck) ([−\d.,]+)\s(?:kPa|psi|bar), (?:erwartet )?([\d.,]+)\s(?:kPa|psi|bar)(?: expected)? \(([+−]?[\d.,]+)\s%\)/;
        for (const [whole, boost = '', due = '', share = ''] of part.matchAll(new RegExp(pull, 'g'))) {
          seen++;
          const [b, e] = [Number(boost.replace('−', '-').replace(',', '.')), Number(due.replace(',', '.'))];
          const half = 0.5 * 10 ** -decimals(due);
          const off = Math.abs((100 * (b - e)) / e - numberOf(share));
          expect(off, `${name}: ${whole}`).toBeLessThanOrEqual(
            0.51 + (100 * half * (1 + Math.abs(b / e))) / e,
          );
        }
      }
  expect(seen).toBeGreaterThan(20);
});

const DATE = /\d\d\.\d\d\.\d{4}/g;
/** Decimals that a unit may have: its sensor's, and one more for what was averaged (two for bar, whose digits are kPa). */
const FINEST: Readonly<Record<string, number>> = {
  kPa: 1,
  bar: 3,
  psi: 2,
  '°C': 1,
  '°F': 1,
  'km/h': 1,
  mph: 1,
  rpm: 0,
  '1/min': 0,
  V: 2,
  '%': 1,
};

it('no number is finer than its sensor, and none is left as the machine holds it', () => {
  const wrong = new Set<string>();
  for (const [name, input] of inputs)
    for (const options of EVERY)
      for (const part of partsOf(renderSheet(input, { ...OPTIONS, ...options }))) {
        for (const [whole, number = '', unit = ''] of part.matchAll(/(\d+[.,]\d+)\s(\S+?)(?=[\s,;.)]|$)/g))
          if (Object.hasOwn(FINEST, unit) && decimals(number) > FINEST[unit]!) wrong.add(`${name}: ${whole}`);
        if (/\d[.,]\d{4}|NaN|undefined|Infinity|\[object/.test(part.replace(DATE, '')))
          wrong.add(`${name}: ${part}`);
      }
  expect([...wrong]).toEqual([]);
});

it('what was measured is written alike in sheet, findings and on the command line', () => {
  const { judgement } = inputs.get('clutch-never-closes')!.runs[0]!;
  const printed = execFileSync(process.execPath, argv('judge', CAPTURE), { cwd: ROOT, encoding: 'utf8' });
  const sheet = partsOf(renderSheet(inputs.get('clutch-never-closes')!, { ...OPTIONS, units: METRIC })).join(
    ' ',
  );
  let seen = 0;
  for (const finding of judgement.findings) {
    const text = findingText(english, finding);
    if (!text) continue;
    seen++;
    expect(printed, finding.id).toContain(`measured ${text.measured} (${text.lowBare} to ${text.high})`);
    if (finding.verdict === 'fault shown')
      for (const words of [text.measured, text.high, text.limit]) expect(sheet, finding.id).toContain(words);
  }
  expect(seen).toBeGreaterThan(3);
});

/** Of a program, a standard, the calendar: the same in every language. */
const SHARED =
  /^(?:handback|test|check|SHA|sha\w*sum|shasum|Get|FileHash|Linux|Windows|macOS|HTML|PDF|JCGM|ILAC|SAE|docs|analysis|compare|md|txt|capture|run|json|MIL|VIN|CAN|bit|kbit|kPa|rpm|min|Jan\w*|Nov\w*|Mar\w*)$/;
/** What is neither said by this program nor translated: people's words, names of files, cars and adapters, digests. */
const ownOf = ({ job, runs }: SheetInput): ReadonlySet<string> =>
  new Set(
    JSON.stringify([job, runs.map((r) => [r.name, r.meta, r.marks, r.check])]).match(/\p{L}{3,}/gu) ?? [],
  );

it('in another language no word of English is left', () => {
  const language = pseudo({ ...en, messages: { ...en.messages, ...englishSheet } });
  const left = new Set<string>();
  for (const [name, input] of inputs) {
    const own = ownOf(input);
    const html = renderSheet(input, OPTIONS, language);
    for (const part of partsOf(html))
      for (const word of part.match(/\p{L}{3,}/gu) ?? [])
        if (/^[A-Za-z]+$/.test(word) && /[aeiouncsyz]/i.test(word) && !SHARED.test(word) && !own.has(word))
          left.add(`${name}: ${word} in ${part.slice(0, 80)}`);
  }
  expect([...left]).toEqual([]);
});
