/**
 * The sheet held against programs that nobody here wrote: axe-core in Chromium, html-validate, Chromium's own PDF read
 * back by poppler, and the command itself.
 */
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { HtmlValidate } from 'html-validate';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, vi } from 'vitest';
import { findChromium, printPdf } from '../../src/sheet/pdf.ts';
import { renderSheet } from '../../src/sheet/render.ts';
import type { SheetInput, SheetOptions } from '../../src/sheet/types.ts';
import { en } from '../../src/words/en/en.ts';
import { sheet as englishSheet } from '../../src/words/en/sheet.ts';
import { accessible, launch } from '../browser/browser.ts';
import { CLIPPED, CLIPPED_LABELS } from '../browser/clipped.ts';
import { argv, ROOT } from '../cli/program.ts';
import { needs, onPath } from '../require.ts';
import { gathered, jobIn, OPTIONS, snapshotOf } from '../sheet/jobs.ts';
import { pseudo } from '../words/pseudo.ts';

const CHROMIUM = findChromium();
const inBrowser = needs(CHROMIUM !== null, 'an installed Chromium, or its path in CHROMIUM');
const printed = needs(
  CHROMIUM !== null && onPath('pdftotext'),
  'an installed Chromium and pdftotext (Debian poppler-utils)',
);
const always = needs(true, '');
vi.setConfig({ testTimeout: 240_000, hookTimeout: 240_000 }); // a browser on a busy machine takes its time

const folder = mkdtempSync(join(tmpdir(), 'handback-sheet-out-'));
let job: string;
let sheets: { readonly name: string; readonly input: SheetInput; readonly options: SheetOptions }[];
let browser: Browser | null = null;

beforeAll(async () => {
  job = await jobIn(folder, {
    drives: [
      { purpose: 'baseline', fault: 'clutch-never-closes', seconds: 250 },
      { purpose: 'verification', seed: 2 },
    ],
    snapshots: [
      { when: 'before', snapshot: snapshotOf({ mil: true }) },
      { when: 'after', snapshot: snapshotOf() },
    ],
    fields: { complaint: 'Zieht erst über 3000 — „wie abgeschaltet“.' },
  });
  const repaired = await gathered(job);
  const faulty = { ...repaired, runs: repaired.runs.slice(0, 1), comparison: null };
  sheets = [
    { name: 'English, repaired', input: repaired, options: OPTIONS },
    { name: 'German, faulty', input: faulty, options: { ...OPTIONS, language: 'de' } },
    {
      name: 'no job, no runs',
      input: { ...repaired, job: null, runs: [], comparison: null },
      options: OPTIONS,
    },
  ];
  if (CHROMIUM === null) return;
  browser = await launch(CHROMIUM);
});

afterAll(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true, force: true });
});

/** The width of A4 between the sheet's margins, in CSS pixels. */
const A4_PX = Math.round(((210 - 28) / 25.4) * 96);

describe('the HTML', () => {
  always('is valid by html-validate', async () => {
    const validator = new HtmlValidate({
      extends: ['html-validate:recommended', 'html-validate:document', 'html-validate:a11y'],
      rules: {
        'no-trailing-whitespace': 'off',
        'long-title': 'off',
        // the doctype and attributes are written in lower case, as HTML allows
        'doctype-style': 'off',
        // the sheet's own style must be inside it: it is one file
        'no-inline-style': 'error',
        'void-style': 'off',
      },
    });
    for (const { name, input, options } of sheets) {
      const report = await validator.validateString(renderSheet(input, options));
      const messages = report.results.flatMap((r) => r.messages);
      expect([name, messages.map((m) => `${m.line}:${m.column} ${m.ruleId}: ${m.message}`)]).toEqual([
        name,
        [],
      ]);
    }
  });

  inBrowser('has no violation that axe-core finds, asks for nothing and fits a phone', async () => {
    const page = await browser!.newPage({ bypassCSP: false });
    const asked: string[] = [];
    const said: string[] = [];
    page.on('request', (r) => asked.push(r.url()));
    page.on('console', (m) => said.push(m.text()));
    for (const [width, height] of [
      [1366, 768],
      [390, 844],
    ] as const) {
      await page.setViewportSize({ width, height });
      for (const { name, input, options } of sheets) {
        const file = join(folder, 'sheet.html');
        writeFileSync(file, renderSheet(input, options));
        await page.goto(`file://${file}`);
        await accessible(page, `${name}, ${width}`);
      }
    }
    expect(asked.filter((u) => !u.startsWith('file:') && !u.startsWith('data:'))).toEqual([]);
    expect(asked.length).toBeGreaterThanOrEqual(2 * sheets.length);
    expect(said).toEqual([]);
    await page.close();
  });
});

describe('the PDF', () => {
  const pages = (file: string): string[] =>
    execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' }).split('\f').slice(0, -1);

  printed('has page one for the customer alone and all of the words, on A4 and on Letter', async () => {
    for (const paper of ['A4', 'Letter'] as const) {
      const file = join(folder, `${paper}.pdf`);
      writeFileSync(file, await printPdf(renderSheet(sheets[0]!.input, { ...OPTIONS, paper })));
      expect(execFileSync('pdfinfo', [file], { encoding: 'utf8' })).toMatch(
        new RegExp(`Page size: .*\\(${paper}\\)`, 'i'),
      );
      const [first, second, ...rest] = pages(file);
      expect(first).toContain('Hand-over sheet');
      expect(first).toContain('What to watch for');
      expect(first).toContain('signature of the customer');
      expect(first).toMatch(/Page 1 of \d+/);
      expect(second).toContain('For the technician');
      const all = rest.join('\n');
      expect([second, all].join('\n')).toMatch(/Shown good[\s\S]*Boost in the clutch band/i);
      expect(all).toContain(sheets[0]!.input.runs[1]!.check.sha256!.slice(0, 40));
    }
  });

  printed(
    'needs one page for the customer and four for the technician, for a drive with ten pulls',
    async () => {
      const { input } = sheets[0]!;
      const alone = { ...input, runs: input.runs.slice(1), comparison: null };
      expect(alone.runs[0]!.judgement.pulls.length).toBeGreaterThanOrEqual(10);
      for (const language of ['en', 'de'] as const) {
        const file = join(folder, `alone-${language}.pdf`);
        writeFileSync(file, await printPdf(renderSheet(alone, { ...OPTIONS, language, paper: 'A4' })));
        expect(pages(file).length, language).toBeLessThanOrEqual(5);
      }
    },
  );

  printed('of a car that came back needs one page for the customer and five for the technician', async () => {
    const at = (hour: number) => `2026-01-05T${hour}:30:00.000Z`;
    const noted = (id: string, hour: number, kind: 'noise gone' | 'leaks', answer: 'yes' | 'no' | 'none') =>
      ({ id, at: at(hour), runId: null, tS: null, kind, answer, text: '' }) as const;
    const code = { code: 'P0299', text: '', source: null };
    const input = await gathered(
      await jobIn(folder, {
        drives: [
          { purpose: 'baseline', fault: 'clutch-never-closes', seconds: 470 },
          { purpose: 'verification', seed: 2, route: 'road-test' },
          { purpose: 'come-back', fault: 'clutch-sometimes', value: 0.4, seed: 8, route: 'road-test' },
        ],
        snapshots: [
          { when: 'before', snapshot: snapshotOf({ stored: [code], mil: true }) },
          { when: 'after', snapshot: snapshotOf() },
        ],
        fields: { complaint: 'No pull.\nHums.', comeBack: { complaint: 'It is back.', odometerKm: 125_000 } },
        observations: [
          noted('a', 11, 'noise gone', 'yes'),
          noted('b', 11, 'leaks', 'none'),
          noted('c', 14, 'noise gone', 'no'),
        ],
        photos: ['Belt', 'Connector'],
      }),
    );
    const file = join(folder, 'back.pdf');
    writeFileSync(file, await printPdf(renderSheet(input, { ...OPTIONS, paper: 'A4' })));
    const [first, second, ...rest] = pages(file);
    expect(first).toContain('signature of the customer');
    expect(second).toContain('For the technician');
    expect(rest.length).toBeLessThanOrEqual(4);
  });

  printed('has room for a language 40 % longer: nothing leaves the paper or a drawing', async () => {
    const language = pseudo({ ...en, messages: { ...en.messages, ...englishSheet } });
    const html = renderSheet(sheets[0]!.input, { ...OPTIONS, paper: 'A4' }, language);
    const page = await browser!.newPage({ viewport: { width: A4_PX, height: 900 } });
    await page.emulateMedia({ media: 'print' });
    await page.setContent(html);
    expect(await page.evaluate(CLIPPED)).toEqual([]);
    expect(await page.evaluate(CLIPPED_LABELS)).toEqual([]);
    await page.close();
    const file = join(folder, 'longer.pdf');
    writeFileSync(file, await printPdf(html));
    const words = execFileSync('pdftotext', ['-bbox', file, '-'], { encoding: 'utf8' });
    const width = Number(/<page width="([\d.]+)"/.exec(words)![1]);
    const margin = (14 / 25.4) * 72;
    const at = [...words.matchAll(/<word xMin="([\d.]+)" yMin="[\d.]+" xMax="([\d.]+)"[^>]*>([^<]*)/g)];
    expect(at.length).toBeGreaterThan(1000);
    expect(
      at.flatMap(([, left, right, word]) =>
        Number(left) < margin - 2 || Number(right) > width - margin + 2 ? [word] : [],
      ),
    ).toEqual([]);
  });

  printed('is made by the command in German, from the id of a job', async () => {
    const out = join(folder, 'blatt.pdf');
    const args = [
      'sheet',
      job.split('/').at(-1)!,
      '--library',
      folder,
      '--lang',
      'de',
      '--units',
      'bar',
      '--hide',
      'vin',
      '--out',
      out,
      '--json',
    ];
    const said = execFileSync(process.execPath, argv(...args), { cwd: ROOT, encoding: 'utf8' });
    expect(JSON.parse(said)).toEqual({ out, runs: 2, notAsRecorded: [] });
    const text = pages(out).join('\n');
    expect(text).toContain('Übergabeblatt');
    expect(text).toContain('Zieht erst über 3000 — „wie abgeschaltet“.');
    expect(text).toMatch(/−?\d,\d{2,3}\sbar/);
    expect(text).not.toContain('XHBTEST');
    expect(existsSync(out)).toBe(true);
  });
});
