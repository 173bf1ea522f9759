/** The whole sheet from jobs on disk: what it must say, what it must never say, and that nothing slips through it. */

import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Verdict } from '../../src/analysis/types.ts';
import type { ObservationKind } from '../../src/core/observations.ts';
import type { Profile } from '../../src/core/profile.ts';
import { gatherSheet } from '../../src/desk/gather-sheet.ts';
import type { Job, Observation } from '../../src/job/job.ts';
import { editMarkIn } from '../../src/job/marks.ts';
import { choicesOf } from '../../src/sheet/choices.ts';
import { Context } from '../../src/sheet/context.ts';
import { renderSheet } from '../../src/sheet/render.ts';
import type { SheetInput } from '../../src/sheet/types.ts';
import { systemVerdict } from '../../src/sheet/whole.ts';
import { english as words } from '../../src/words/spelled.ts';
import { gathered, jobIn, OPTIONS, PLATE, snapshotOf, VIN } from './jobs.ts';

const library = mkdtempSync(join(tmpdir(), 'handback-sheet-'));
afterAll(() => rmSync(library, { recursive: true, force: true }));

const code = { code: 'P0234', text: 'overboost', source: 'from memory of SAE J2012' } as const;
const own = { code: 'P1F42', text: '', source: null } as const;
/** The frame that P0234 stored: SAE J1979, PIDs 02, 0C, 05. */
const frame = [
  { pid: '02', signal: null, value: 'P0234', unit: null, raw: '0234' },
  { pid: '0C', signal: 'rpm', value: 2212.25, unit: 'rpm', raw: '2291' },
  { pid: '05', signal: 'ect_c', value: 88, unit: 'degC', raw: '80' },
] as const;
const hostile = '</p><script>alert(1)</script> \u202eevil\u0000 "quoted" <img src=http://example.invalid/x>';
const at = '2026-03-03T10:00:00.000Z';
let folder: string;
let repaired: SheetInput;
let faulty: SheetInput;
let short: SheetInput;
let back: SheetInput;
let backFolder: string;

beforeAll(async () => {
  folder = await jobIn(library, {
    drives: [
      { purpose: 'baseline', fault: 'clutch-never-closes', seconds: 420 },
      { purpose: 'verification', seed: 2 },
    ],
    snapshots: [
      { when: 'before', snapshot: snapshotOf({ stored: [code], mil: true, freezeFrame: frame }) },
      { when: 'after', snapshot: snapshotOf() },
    ],
    fields: {
      reference: 'repaired',
      complaint: `My plate is zz hb-417. VIN ${VIN.toLowerCase()}.\nIt whistles.\nhot`,
    },
    observations: [
      { id: 'a', at, runId: null, tS: 62, kind: 'cabin heat idle', answer: 'hot', text: hostile },
      { id: 'b', at, runId: null, tS: null, kind: 'leaks', answer: 'none', text: '' },
      { id: 'c', at, runId: null, tS: null, kind: 'complaint', answer: 'still there', text: 'It whistles.' },
      { id: 'd', at, runId: null, tS: null, kind: 'complaint', answer: 'gone', text: 'hot' },
    ],
  });
  repaired = await gathered(folder);
  faulty = await gathered(
    await jobIn(library, {
      drives: [{ purpose: 'verification', fault: 'no-circulation' }],
      snapshots: [{ when: 'after', snapshot: snapshotOf({ pending: [code, own], mil: true }) }],
      fields: { reference: 'faulty' },
    }),
  );
  short = await gathered(
    await jobIn(library, {
      drives: [{ purpose: 'verification', seconds: 150 }],
      fields: { reference: 'short', plate: '', vin: '' },
    }),
  );
});

beforeAll(async () => {
  backFolder = await jobIn(library, {
    drives: [
      { purpose: 'verification', seed: 3, seconds: 420 },
      { purpose: 'come-back', fault: 'clutch-never-closes', seed: 4, seconds: 420 },
    ],
    fields: { reference: 'back' },
    photos: ['Clutch "as it was" <b>', ...Array.from({ length: 8 }, () => '')],
  });
  back = await gathered(backFolder);
});

const english = (input: SheetInput) => renderSheet(input, OPTIONS);
const german = (input: SheetInput) => renderSheet(input, { ...OPTIONS, language: 'de' });
/** What a reader sees, tags left out. */
const textOf = (html: string) =>
  html
    .replace(/<style>.*?<\/style>/s, '')
    .replace(/<[^>]+>/g, ' ')
    .replace(/\s+/g, ' ');
const customerOf = (html: string) => textOf(/<section class="customer".*?<\/section>/s.exec(html)![0]);
const article = (html: string, title: string) =>
  [...html.matchAll(/<article.*?<\/article>/gs)].map((m) => m[0]).find((a) => a.includes(title));

describe('a sheet', () => {
  it('is one file: no script, nothing fetched, a strict policy, the same bytes again', () => {
    for (const html of [english(repaired), german(faulty), english(short)]) {
      expect(html).not.toMatch(
        /<script|javascript:|\son\w+=|<link(?! rel="icon" href="data:,")|<iframe|@import|url\((?!#)/i,
      );
      expect(html.replaceAll('http://www.w3.org/2000/svg', '')).not.toMatch(/(?:src|href)="(?!data:,|#)/);
      expect(html).toContain(
        `content="default-src &#39;none&#39;; style-src &#39;unsafe-inline&#39;; img-src data:"`,
      );
    }
    expect(english(repaired)).toBe(english(repaired));
  });

  it('answers each complaint by itself, and lets a heater check count only where somebody answered', () => {
    const page = customerOf(english(repaired));
    expect(page).toMatch(/zz hb-417\. VIN [a-z0-9]+\. +not noted whether it is gone/);
    expect(page).toMatch(/It whistles\. +still there/);
    // A person's own word is never translated.
    expect(customerOf(german(repaired))).toMatch(/hot +behoben/);
    const run = repaired.runs.at(-1)!;
    const legs = run.legs.map((l) => (l.leg === 'heater-check' ? { ...l, covered: true, fromS: 1 } : l));
    const driven = { ...repaired, runs: [...repaired.runs.slice(0, -1), { ...run, legs }] };
    expect(customerOf(english(driven))).not.toContain('heater felt');
    const raised = { ...repaired.job!.observations[0]!, kind: 'cabin heat 2000 rpm' as const };
    const job = { ...repaired.job!, observations: [...repaired.job!.observations, raised] };
    expect(customerOf(english({ ...driven, job }))).toContain(
      'heater checked at idle and at raised engine speed',
    );
  });

  it('tells the highest speed only when asked', () => {
    expect(textOf(english(repaired))).not.toContain('Highest speed');
    expect(textOf(renderSheet(repaired, { ...OPTIONS, show: ['speed'] }))).toMatch(
      /Highest speed \d+\skm\/h/,
    );
  });

  it('gives a drive the length of its recording, as the job page does, not that of its last reading', () => {
    const run = { ...repaired.runs.at(-1)!, judgement: { ...repaired.runs.at(-1)!.judgement, spanS: 469.4 } };
    const of = (seconds: number | null) =>
      textOf(english({ ...repaired, runs: [{ ...run, meta: { ...run.meta!, seconds } }] }));
    expect(of(470.2)).toMatch(/Duration +7:50/);
    expect(of(null)).toMatch(/Duration +7:49/);
  });

  it('counts no stop with the key off among the gaps, and says of pulls that boost came, not how much', () => {
    const run = repaired.runs.at(-1)!;
    const text = { id: 'link.key-off', args: { lastedS: 120 } };
    const findings = run.judgement.findings.map((f) =>
      f.id === 'link.gaps' ? { ...f, evidence: [{ fromS: 100, toS: 220, text }] } : f,
    );
    const stop = { fromS: 100, toS: 220, why: 'silent' };
    const of = (gaps: readonly (typeof stop)[]) => {
      const changed = {
        ...{ ...run, gaps, judgement: { ...run.judgement, findings } },
        pullsCame: ['held', 'held', 'missed'] as const,
      };
      return { ...repaired, runs: [changed] };
    };
    const hole = { fromS: 300, toS: 310, why: 'silent' };
    expect(textOf(english(of([stop, hole])))).toMatch(/Gaps +1, together 10\s?s/);
    expect(textOf(english(of([stop])))).toMatch(/Gaps +none/);
    expect(textOf(english(of([])))).toMatch(/Pulls +2 with boost, 1 missed/);
    const unread = of([]).runs.map((r) => ({ ...r, pullsCame: Array<'unread'>(15).fill('unread') }));
    expect(textOf(english({ ...of([]), runs: unread }))).toMatch(/Pulls +15 not judged for want of/);
    expect(textOf(german(of([])))).toMatch(/Volllastbeschleunigungen +2 mit Ladedruck, 1 nicht erreicht/);
  });

  it('says each thing once: rules and signals by themselves, lines of the same words as one', () => {
    const html = english(repaired);
    const rules = /<details class="rules"><summary>Rules 1 to (\d+).*?<\/details>/s.exec(html)!;
    expect(rules[0].match(/<li>/g)).toHaveLength(Number(rules[1]));
    const table = /<table class="evidence">.*?<\/table>/s.exec(html)![0];
    const lines = [
      ...table.matchAll(/<tr><th scope="row">\d+<\/th><td class="when">.*?<\/td><td>(.*?)<\/td>/g),
    ];
    expect(lines.length).toBeGreaterThan(3);
    expect(new Set(lines.map((m) => m[1])).size).toBe(lines.length);
    expect(html.match(/Signals used/g)).toHaveLength(1);
  });

  it('escapes what people wrote and makes direction and control characters visible', () => {
    const html = english(repaired);
    expect(html).toContain('&lt;script&gt;alert(1)&lt;/script&gt; \ufffdevil\ufffd &quot;quoted&quot;');
    expect(html).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u202a-\u202e\u2066-\u2069]/);
    expect(html).not.toContain('<img');
  });

  it('says on page one what was done, tested, shown and not shown', () => {
    const page = customerOf(english(repaired));
    for (const words of [
      'Magnetic clutch',
      'we drove your car',
      'Boost',
      'shown good',
      'Cooling',
      'What to watch for',
      'Leaks: none',
    ])
      expect(page).toContain(words);
    expect(page).toContain('Compared with the drive before the work: better');
    expect(page).not.toMatch(/kPa|JCGM|interval/);
  });

  it('carries each claim of a fault with value, interval, limit, source, times and a drawing', () => {
    const html = english({ ...repaired, runs: repaired.runs.slice(0, 1) });
    const boost = article(html, 'Boost in the clutch band: fault shown')!;
    expect(boost).toMatch(/<dt>Measured<\/dt><dd>−\d+\.\d\u00a0kPa/);
    expect(boost).toMatch(/<dt>Interval<\/dt><dd>−\d+\.\d to −\d+\.\d\u00a0kPa/);
    expect(boost).toMatch(/<dt>Limit<\/dt><dd>−\d+\.\d\u00a0kPa/);
    expect(boost).toContain('commanded boost of the engine control unit');
    const seen = /Seen: no\. (\d+)/.exec(boost)![1];
    // A pull stands once: under its drawing, not in the table as well.
    expect(boost).toMatch(
      new RegExp(`<strong>${seen}.</strong> \\d+:\\d\\d to \\d+:\\d\\d: Surest from \\d+ to \\d+`),
    );
    expect(html).not.toContain(`<tr><th scope="row">${seen}</th><td class="when">`);
    expect(boost.match(/<figure class="small">/g)!.length).toBeGreaterThanOrEqual(2);
    expect(boost).toMatch(
      /role="img" aria-labelledby="(\S+) (\S+)"><title id="\1">[^<]+<\/title><desc id="\2">[^<]+highest/,
    );
    const coolant = article(english(faulty), 'Coolant stays settled: fault shown')!;
    expect(coolant).toContain('stroke-dasharray="6 4"'); // the limit across
    expect(coolant).toContain('A hint for a technician, not a diagnosis.');
    expect(customerOf(english(faulty))).toContain('do not use the car until it is repaired');
  });

  it('never calls good what was not shown', () => {
    const page = customerOf(english(short));
    expect(page).toContain('This drive did not show enough');
    expect(page).not.toContain('shown good At'); // no row of boost or cooling
    expect(page).toContain('The fault memory was not read after the work.');
    expect(page).toContain('whether the engine stays cool enough');
    const context = new Context(short, OPTIONS);
    expect(systemVerdict('boost', context.shown)).toBe('not shown');
    expect(systemVerdict('coolant', context.shown)).toBe('not shown');
    expect(systemVerdict('codes', context.shown)).toBe('not shown');
    // each finding that is not shown says what would show it, with its rule
    const open = short.runs[0]!.judgement.findings.filter((f) => f.verdict === 'not shown');
    for (const f of open)
      expect(textOf(english(short))).toContain(words.say(f.needs!).replace(/\s+/g, ' ').slice(0, 20));
  });

  it('says on page one that all was shown only when it was', () => {
    const run = repaired.runs.at(-1)!;
    const open = run.judgement.findings.filter((f) => f.verdict === 'not shown').map((f) => f.id);
    expect(open).toContain('sensor.ect_c'); // a helper: on the technician's pages
    expect(customerOf(english(repaired))).not.toContain('Everything that this sheet judges was shown');
    const findings = run.judgement.findings.filter((f) => f.verdict !== 'not shown');
    const whole = {
      ...repaired,
      runs: [...repaired.runs.slice(0, -1), { ...run, judgement: { ...run.judgement, findings } }],
    };
    expect(customerOf(english(whole))).toContain('Everything that this sheet judges was shown');
  });

  it('does not begin with all in order where somebody noted that it is still there', () => {
    const lead = (
      answers: readonly (readonly [ObservationKind, Observation['answer']])[],
      page = english,
      notedAt = at,
    ) => {
      const observations = answers.map(
        ([kind, answer], k): Observation => ({
          id: `o${k}`,
          at: notedAt,
          runId: null,
          tS: null,
          kind,
          answer,
          text: '',
        }),
      );
      const html = page({ ...repaired, job: { ...repaired.job!, observations } });
      return /<p class="lead">(.*?)</.exec(html)![1];
    };
    const [plain, german_] = [lead([]), lead([], german)];
    expect(lead([['complaint', 'gone']])).toBe(plain);
    expect(lead([['complaint', 'still there']])).toContain('is still there. Please read below.');
    expect(lead([['complaint', 'still there']], german)).not.toBe(german_);
    for (const noted of [
      ['noise gone', 'no'],
      ['noise gone', 'partly'],
      ['leaks', 'found'],
      ['cabin heat idle', 'cold'],
    ] as const)
      expect(lead([noted])).not.toBe(plain);
    // What was noted before the drive is no answer to it, nor is what nobody looked at.
    expect(lead([['leaks', 'found']], english, '2000-01-01T00:00:00.000Z')).toBe(plain);
    expect(
      lead([
        ['leaks', 'found'],
        ['leaks', 'not checked'],
      ]),
    ).not.toBe(plain);
    // The last word counts.
    expect(
      lead([
        ['leaks', 'found'],
        ['leaks', 'none'],
      ]),
    ).toBe(plain);
  });

  it('counts the pulls and draws the boost of a car that has a charger, and of no other', () => {
    const without = repaired.runs.map((r) => ({
      ...r,
      judgement: { ...r.judgement, findings: r.judgement.findings.filter((f) => f.system !== 'boost') },
    }));
    const row = '<th scope="row">Pulls</th>';
    expect(english(repaired)).toContain(row);
    expect(english({ ...repaired, runs: without })).not.toContain(row);
    // Nor is the pressure in its manifold drawn as boost.
    const strips = /<desc[^>]*>[^<]*Engine speed[^<]*Boost, [^<]*Coolant/;
    expect(english(repaired)).toMatch(strips);
    expect(english({ ...repaired, runs: without })).not.toMatch(strips);
  });

  it('says on page one of a fan that no stand asked for that it remains open, and calls that no fault', () => {
    const run = repaired.runs.at(-1)!;
    const withFan = (verdict: Verdict) => {
      const findings = run.judgement.findings.map((f) => (f.system === 'fan' ? { ...f, verdict } : f));
      return { ...repaired, runs: [{ ...run, judgement: { ...run.judgement, findings } }] };
    };
    const [open, seen] = [withFan('not shown'), withFan('shown good')];
    expect(customerOf(english(open))).toContain(
      'whether the radiator fan cuts in (most drives do not need it)',
    );
    expect(customerOf(german(open))).toContain(
      'ob der Kühlerlüfter einschaltet (die meisten Fahrten brauchen ihn nicht)',
    );
    expect(customerOf(english(seen))).not.toContain('radiator fan');
    const lead = (input: SheetInput) => /<p class="lead">(.*?)</.exec(english(input))![1];
    expect(lead(open)).toBe(lead(seen));
    // What no verdict was reached on is named first of all: it may be what was repaired.
    const { judgement } = run;
    const { systems } = judgement;
    const boost = { ...systems.boost, verdict: 'not shown' as const };
    const coolant = { ...systems.coolant, verdict: 'shown good' as const };
    const unshown = { ...judgement, systems: { ...systems, boost, coolant } };
    const job = { ...repaired.job!, observations: [] };
    const mixed = { ...repaired, job, runs: [{ ...run, judgement: unshown }] };
    expect(lead(mixed)).toBe('No fault was measured. Not shown: Boost.');
    // Of much that is open it comes last, so it gives way first.
    const [drive] = short.runs;
    const cool = drive!.judgement.findings.filter((f) => f.system !== 'boost');
    const much = { ...short, runs: [{ ...drive!, judgement: { ...drive!.judgement, findings: cool } }] };
    expect(customerOf(english(much))).toMatch(/engine stays cool enough .* battery .* radiator fan cuts in/);
    expect(customerOf(english(short))).not.toContain('radiator fan');
  });

  it('calls a marked pull an engagement only on a car whose clutch has to close', () => {
    const run = repaired.runs.at(-1)!;
    const withPulls = (pulls: typeof run.judgement.pulls) => ({
      ...repaired,
      runs: [{ ...run, judgement: { ...run.judgement, pulls } }],
    });
    const { pulls } = run.judgement;
    expect(pulls.some((p) => p.engagement && p.held)).toBe(true);
    expect(textOf(german(withPulls(pulls)))).toContain('grau: Kupplung muss geschlossen sein');
    expect(textOf(english(withPulls(pulls)))).not.toContain('grey from below: pull');
    const none = withPulls(pulls.map((p) => ({ ...p, engagement: false })));
    expect(textOf(german(none))).not.toContain('Kupplung muss geschlossen sein');
    expect(textOf(german(none))).toContain('grau: Volllastbeschleunigung');
    expect(textOf(english(none))).toContain('grey from below: pull');
    expect(textOf(english(withPulls([])))).not.toMatch(/grey from below|hatched/);
  });

  it('names a fan that did not come on page one, and what to watch for', () => {
    const run = repaired.runs.at(-1)!;
    const withFan = (verdict: Verdict) => {
      const findings = run.judgement.findings.map((f) => (f.system === 'fan' ? { ...f, verdict } : f));
      const last = { ...run, judgement: { ...run.judgement, findings } };
      return customerOf(english({ ...repaired, runs: [...repaired.runs.slice(0, -1), last] }));
    };
    const missing = withFan('fault shown');
    expect(missing).toContain('The test drive found a fault.');
    expect(missing).toContain('Fan fault shown The radiator fan did not cool the standing engine.');
    expect(missing).toContain('Cooling fault: do not use the car until it is repaired.');
    for (const verdict of ['shown good', 'not shown'] as const)
      expect(withFan(verdict)).not.toMatch(/found a fault|Cooling fault/);
  });

  it('tells a customer of an engine that stays cold what that is, of a fan that was asked that it was, and of a cooling code', () => {
    const run = repaired.runs.at(-1)!;
    const { findings, systems } = run.judgement;
    type Own = (typeof findings)[number];
    const sheetWith = (id: string, own: Partial<Own>, coolant: Verdict) => {
      const base = findings.find((f) => f.id === id) ?? findings.find((f) => f.system === 'coolant')!;
      const judgement = {
        ...run.judgement,
        systems: { ...systems, coolant: { ...systems.coolant, verdict: coolant } },
        findings: [...findings.filter((f) => f.id !== id), { ...base, ...own, id }],
      };
      return english({ ...repaired, runs: [...repaired.runs.slice(0, -1), { ...run, judgement }] });
    };
    const judged = (...of: Parameters<typeof sheetWith>) => customerOf(sheetWith(...of));
    const fault = { verdict: 'fault shown' } as const;
    for (const id of ['coolant.too-cold', 'coolant.warm-up']) {
      const cold = judged(id, fault, 'fault shown');
      expect(cold).toContain('The engine stays too cold');
      expect(cold).not.toContain('do not use the car');
    }
    expect(judged('coolant.climb', fault, 'fault shown')).toContain('do not use the car');
    const withCode = (code: string) => {
      const text = { id: 'coolant.seen.code', args: { code } } as Own['evidence'][number]['text'];
      return sheetWith('coolant.codes', { ...fault, evidence: [{ fromS: 0, toS: 0, text }] }, 'fault shown');
    };
    const coded = (code: string) => customerOf(withCode(code));
    expect(coded('P0217')).toContain(
      'Cooling fault shown The car itself reports a fault of its cooling. Charging',
    );
    expect(coded('P0217')).toContain('do not use the car');
    expect(textOf(withCode('P0217'))).toContain(
      '1 – Code P0217 is in the fault memory as read after the work',
    );
    // A code of a thermostat that stays open is no reason to leave the car.
    expect(coded('P0128')).toContain('The engine stays too cold');
    expect(coded('P0128')).not.toContain('do not use the car');
    const fan = (id: string) =>
      judged(
        'coolant.fan',
        { verdict: 'not shown', needs: { id: `coolant.needs.${id}`, args: { highC: 101 } } as Own['needs'] },
        systems.coolant.verdict,
      );
    for (const id of ['fan-asked', 'fan-hot', 'fan-hot-back'])
      expect(fan(id)).toContain(
        'whether the radiator fan cuts in (this drive needed it, and did not show it)',
      );
    // Of a car that became too hot the fault comes first.
    expect(fan('climb-first')).not.toContain('whether the radiator fan cuts in');
    // Its boost waits for that repair, and is open until then.
    const boost = judged(
      'boost.above-hand-over',
      { verdict: 'not shown', needs: { id: 'coolant.needs.climb-first', args: {} } as Own['needs'] },
      'fault shown',
    );
    expect(boost).toContain('whether the turbocharger gives its boost at higher engine speed');
    expect(boost).not.toContain('No main question stays open');
    for (const id of ['fan', 'sensor-first'])
      expect(fan(id)).toContain('whether the radiator fan cuts in (most drives do not need it)');
  });

  it('compares at engine speeds that both drives reached', () => {
    const text = textOf(english(repaired));
    const at = [...text.matchAll(/\((\d[\d,]*)–(\d[\d,]*)\srpm\)/g)].map((m) =>
      Number(m[2]!.replace(',', '')),
    );
    expect(at.length).toBeGreaterThan(0);
    for (const rpm of at) expect(rpm).toBeLessThan(7000);
  });

  it('proves nothing with a drive of before the work alone', () => {
    const html = english({ ...repaired, runs: repaired.runs.slice(0, 1), comparison: null });
    expect(customerOf(html)).toContain('There is no run of after the work: the repair is not proved yet.');
  });

  it('begins with who found a fault, and calls nothing repaired where nothing was driven after the work', () => {
    const lead = (input: SheetInput) => /<p class="lead">(.*?)</.exec(english(input))![1];
    const job = { ...repaired.job!, observations: [] };
    const [before] = repaired.runs;
    const bare = { ...repaired, job, runs: [], comparison: null };
    const faulted = { ...repaired.codes, finding: faulty.codes.finding, after: faulty.codes.after };
    expect(lead({ ...repaired, job })).toBe('No fault was measured. Not shown: Cooling.');
    expect(lead({ ...repaired, job, codes: faulted })).toBe(
      'The car itself reports a fault. Please read what to do below.',
    );
    expect(lead({ ...bare, codes: faulted })).toContain('The car itself reports a fault.');
    expect(lead(bare)).toBe('No drive after the work was recorded: nothing shows whether the repair holds.');
    expect(customerOf(english({ ...bare, codes: faulted }))).not.toContain('Everything that this sheet');
    expect(lead({ ...bare, runs: [before!] })).toContain('The drive before the work found a fault. No drive');
    const failed = { what: 'belt', name: '', when: 'after', result: 'fail' } as Job['measurements'][number];
    const byHand = { ...job, measurements: [{ ...failed, ...{ value: null, unit: '' as const } }] };
    expect(lead({ ...repaired, job: byHand })).toContain('What was measured by hand after the work');
    // What is still there comes first, and what is not shown is named as well.
    const there = { ...job, observations: repaired.job!.observations };
    expect(lead({ ...short, job: there })).toMatch(
      /^Something that you .* still there\. .* This drive did not/,
    );
    const { finding } = short.codes;
    expect(lead({ ...repaired, codes: { ...repaired.codes, finding } })).toMatch(
      /still there\. .* Not shown: Cooling, Fault memory\.$/,
    );
  });

  it('tells of an earlier drive after the work that showed a fault, once', () => {
    const [drive] = short.runs;
    const [first] = faulty.runs;
    const runs = [first!, { ...drive!, meta: { ...drive!.meta!, startedAt: '2030-01-01T00:00:00.000Z' } }];
    const told =
      /The drive gave too little [^.]+\. An earlier drive after the work \([^)]+\) had shown a fault/g;
    expect(customerOf(english({ ...short, runs })).match(told)).toHaveLength(1);
    expect(customerOf(english(short))).not.toContain('An earlier drive');
    expect(customerOf(english({ ...faulty, runs: [...faulty.runs, ...faulty.runs] }))).not.toContain(
      'An earlier',
    );
  });

  it('holds no car against another, and says on page one that there are two', () => {
    const [before, after] = repaired.runs;
    const other = { ...before!, meta: { ...before!.meta!, vin: 'XHBOTHER000000099' } };
    const problems = [{ id: 'compare.vehicles', args: { which: [] } }];
    const two = { ...repaired, runs: [other, after!], comparison: { ...repaired.comparison!, problems } };
    const text = textOf(english(two));
    expect(text).toContain('are not all of the vehicle that is named here');
    expect(text).not.toMatch(
      /had shown a fault here|Boost over engine speed, each|verdicts differ|no run of before/,
    );
    expect(text).toContain('What could not be compared');
    expect(textOf(english(repaired))).toMatch(
      /had shown a fault here.*verdicts differ.*Boost over engine speed, each/,
    );
    expect(textOf(english(repaired))).not.toContain('are not all of the vehicle');
  });

  it('tells a customer what a recording with holes lacks, and that the distance is without them', () => {
    const [drive] = short.runs;
    const gap = drive!.judgement.findings.find((f) => f.id === 'link.gaps')!;
    const findings = drive!.judgement.findings.map((f) =>
      f === gap ? { ...f, verdict: 'not shown' as const } : f,
    );
    const run = {
      ...drive!,
      judgement: { ...drive!.judgement, findings },
      gaps: [{ fromS: 20, toS: 120, why: '' }],
    };
    const text = textOf(english({ ...short, runs: [run] }));
    expect(text).toMatch(/Of this, nothing was recorded for 2\smin; the distance is without that\./);
    expect(text).toMatch(/Distance [\d.]+\skm, without the gaps/);
    expect(textOf(english(short))).not.toMatch(/nothing was recorded for|without the gaps/);
  });

  it('lays many runs over several tables, so that none leaves the paper', () => {
    const runs = Array.from({ length: 11 }, (_, i) => repaired.runs[i % 2]!);
    const tables = [...english({ ...repaired, runs }).matchAll(/<table class="matrix">.*?<\/thead>/gs)];
    const columns = tables.map(([head]) => head.match(/<th scope="col">/g)!.length);
    expect(columns.slice(0, 3)).toEqual([4, 4, 3]);
    expect(columns.slice(3)).toEqual([5, 5, 4]);
  });

  it('names the supercharger at all engine speeds where it is alone, and no turbocharger where none is entered', () => {
    const of = (profile: Profile, id: string, kind: 'good' | 'open') => {
      const runs = short.runs.map((r) => ({ ...r, meta: { ...r.meta!, profile } }));
      return new Context({ ...short, runs }, OPTIONS).plain(kind, id);
    };
    const low = 'boost.clutch-band';
    expect(of({ induction: 'supercharger' }, low, 'good')).toBe(
      'As far as it was driven, the supercharger gave its boost.',
    );
    expect(of({ induction: 'twin-charged' }, low, 'good')).toContain('At low engine speed');
    expect(of({}, 'boost.low-speed', 'open')).toContain('if this engine has a charger');
    expect(of({ induction: 'turbocharger' }, 'boost.low-speed', 'open')).toContain('the turbocharger');
  });

  it('tells codes gone, lamp, readiness and when the memory was cleared', () => {
    const text = textOf(english(repaired));
    expect(text).toMatch(
      /P0234 \(7E8\) Turbocharger or supercharger over-boost stored – gone When it was stored: engine speed 2212\srpm, coolant temperature 88\s°C/,
    );
    expect(text).toMatch(/Engine lamp \(MIL\) on off/);
    expect(text).toContain('Codes were cleared 410 km and 12 warm-ups ago.');
    expect(customerOf(english(faulty))).toContain(
      'The car itself reports a fault. The engine lamp is on. Turbocharger or supercharger over-boost (P0234); maker&#39;s own code: see the maker&#39;s handbook (P1F42).',
    );
    expect(customerOf(german(faulty))).toContain(
      'Die Motorkontrollleuchte leuchtet. Ladedruck zu hoch (P0234);',
    );
  });

  it('shows a changed digit in the capture, on page one and with both digests', async () => {
    const run = repaired.runs.at(-1)!;
    const file = join(folder, run.name, 'capture.txt');
    const whole = readFileSync(file);
    expect(textOf(english(repaired))).toContain(`${run.check.recorded} in order`);
    const i = whole.indexOf('ect_c') + 40;
    const digit = [...whole.subarray(i)].findIndex((b) => b >= 0x31 && b <= 0x38) + i;
    const changed = Buffer.from(whole);
    changed[digit]! += 1;
    writeFileSync(file, changed);
    try {
      const input = await gathered(folder);
      const text = textOf(english(input));
      const now = input.runs.at(-1)!.check;
      expect(now.sha256).not.toBe(run.check.sha256);
      expect(text).toContain(`${now.recorded} The file now: ${now.sha256} NOT AS RECORDED`);
      expect(customerOf(english(input))).toContain('do not rely on this sheet');
      expect(textOf(german(input))).toContain('NICHT WIE AUFGEZEICHNET');
    } finally {
      writeFileSync(file, whole);
    }
  });

  it('leaves plate and VIN out wherever they stand', () => {
    const letters = (text: string) => text.toLowerCase().replace(/[^a-z0-9]/g, '');
    expect(letters(english(repaired))).toContain(letters(PLATE));
    const html = renderSheet(repaired, { ...OPTIONS, hide: ['plate', 'vin'] });
    expect(letters(html)).not.toContain(letters(PLATE));
    expect(letters(html)).not.toContain(letters(VIN));
    expect(textOf(html)).toContain('Plate withheld');
    const job = { ...repaired.job!, sheet: { ...repaired.job!.sheet, hideVin: true } };
    const options = choicesOf({ ...repaired, job }, { lang: 'de', hide: ['plate'] }, true);
    expect(options).toMatchObject({ language: 'de', hide: ['vin', 'plate'], paper: 'A4' });
  });

  it('is German in German: the analysis makes statements only', () => {
    const unknown = new Set<string>();
    for (const input of [repaired, faulty, short, back]) {
      const context = new Context(input, { ...OPTIONS, language: 'de' });
      for (const f of context.findings)
        for (const text of [f.rule, f.needs, f.pointsTo, f.limit?.source, ...f.evidence.map((e) => e.text)])
          if (typeof text === 'string' && text !== '') unknown.add(`${f.id}: ${text}`);
      for (const leg of input.runs.flatMap((r) => r.legs))
        for (const text of [leg.title, leg.how])
          if (typeof text === 'string') unknown.add(`${leg.leg}: ${text}`);
    }
    expect([...unknown]).toEqual([]);
    const text = textOf(german(repaired));
    expect(text).toContain('nachweislich in Ordnung');
    expect(text).not.toMatch(/shown good|fault shown|not shown/);
  });

  it('holds a car that came back against the drive after the work', () => {
    const html = english(back);
    expect(customerOf(html)).toContain('The test drive found a fault.');
    const job = { ...back.job!, comeBack: { complaint: 'Again.', odometerKm: null, day: '2026-03-04' } };
    expect(customerOf(english({ ...back, job }))).toMatch(/The car came back \( 4 March 2026 \)/);
    expect(textOf(html)).toMatch(
      /The car came back Change of the absolute manifold pressure from after the work to the come-back.*Pulls: After, Come-back.*worse/,
    );
    expect(textOf(html)).not.toContain('from before to after');
    expect(textOf(html)).toMatch(
      /against the end of the visit before Subject Then Now Change.*fault shown (worse|found now)/,
    );
    expect(customerOf(html)).toMatch(
      /(Worse than then|Found now, not found then): [^.]+ \(then (shown good|not shown), now fault shown\)/,
    );
    expect(customerOf(german(back))).toMatch(/(Schlechter als damals|Jetzt festgestellt, damals nicht):/);
    const ids = [...html.matchAll(/ id="([^"]+)"/g)].map((m) => m[1]);
    expect(new Set(ids).size).toBe(ids.length);
  });

  it('of a come-back takes only what was noted then for an answer, and a part that is listed once for done', () => {
    const note = (at: string, kind: ObservationKind, answer: Observation['answer'], text = '') => ({
      id: `${kind} ${at}`.toLowerCase().replace(/[^a-z0-9]+/g, '-'),
      at,
      runId: null,
      tS: null,
      kind,
      answer,
      text,
    });
    const [then, now] = [back.runs[0]!.meta!.startedAt, back.runs[1]!.meta!.startedAt];
    const job = {
      ...back.job!,
      complaint: 'It whistles.',
      comeBack: { complaint: 'It is back.' },
      parts: [{ name: 'magnetic clutch', number: 'M-1', warranty: '' }],
      observations: [
        note(then, 'complaint', 'gone', 'It whistles.'),
        note(then, 'noise gone', 'yes'),
        note(now, 'noise gone', 'no'),
      ],
    };
    const page = customerOf(english({ ...back, job }));
    expect(page).toContain('It is back. not noted whether it is gone');
    expect(page).toContain('It whistles. not noted whether it is gone');
    expect(page).toContain('Noise gone (then yes, now no)');
    expect(page).not.toContain('Noise gone: yes');
    expect(page.match(/magnetic clutch/gi)).toHaveLength(1);
    const answered = { ...job, observations: [...job.observations, note(now, 'complaint', 'still there')] };
    expect(customerOf(english({ ...back, job: answered }))).toContain('It is back. still there');
  });

  it('carries photos with their captions, counts those that are too many, and none where a plate may be seen', () => {
    const html = english(back);
    expect(html.match(/<img src="data:image\/png;base64,/g)).toHaveLength(8);
    expect(html).toContain('alt="Clutch &quot;as it was&quot; &lt;b&gt;"');
    expect(textOf(html)).toContain('that are not on this sheet: 1.');
    const hidden = renderSheet(back, { ...OPTIONS, hide: ['plate'] });
    expect(hidden).not.toContain('<img');
    expect(textOf(hidden)).toContain('Photos left out: 9.');
    expect(textOf(german(back))).toContain('Fotos im Auftragsordner, die nicht auf diesem Blatt sind: 1.');
  });

  it('names a photo that is gone and shows the rest', async () => {
    const photos = join(backFolder, 'photos');
    const gone = join(photos, readdirSync(photos).sort()[0]!);
    const bytes = readFileSync(gone);
    rmSync(gone);
    try {
      const text = textOf(english(await gathered(backFolder)));
      expect(text).toMatch(/The photo \S+ is missing from the job folder/);
      expect(text).not.toContain('not on this sheet');
    } finally {
      writeFileSync(gone, bytes);
    }
  });

  it('shows marks as they were worded afterwards, and none that was taken out', async () => {
    const run = back.runs[0]!;
    const noise = run.marks.find((m) => m.key === 'N')!;
    const edit = { tS: noise.tS, key: 'N', text: 'Belt squeals', removed: false };
    await editMarkIn(join(backFolder, run.name), edit);
    expect(textOf(english(await gathered(backFolder)))).toContain('Belt squeals');
    await editMarkIn(join(backFolder, run.name), { ...edit, removed: true });
    const [first] = (await gathered(backFolder)).runs;
    expect(first!.marks).toEqual([]);
  });

  it('writes numbers as the language does and quantities in the units chosen', () => {
    expect(german(repaired)).toMatch(/<td>−\d+,\d\u00a0kPa/);
    const html = renderSheet(repaired, {
      ...OPTIONS,
      units: { temperature: 'F', pressure: 'psi', speed: 'mph' },
    });
    const text = textOf(html);
    expect(text).toMatch(/\d+\.\d psi/);
    expect(text).toMatch(/\d+ °F/);
    expect(text).toMatch(/\d+\.\d mi/);
    expect(text).not.toMatch(/\d (?:kPa|°C|km\/h)/);
  });

  it('is made of a bare capture and of a table as well', async () => {
    const kept = join(import.meta.dirname, '../../captures/clutch-never-closes');
    expect(existsSync(kept)).toBe(true);
    for (const path of [kept, join(kept, 'capture.txt')]) {
      const input = await gathered(path);
      expect(input.job).toBe(null);
      const html = english(input);
      expect(textOf(html)).toMatch(/(?:Driven|Left open):/);
      expect(textOf(html)).toContain(input.runs[0]!.check.sha256);
    }
    const table = join(library, 'drive.csv');
    writeFileSync(
      table,
      `t_s,signal,value\n${Array.from({ length: 30 }, (_, i) => `${i},ect_c,${60 + i}`).join('\n')}\n`,
    );
    const read = textOf(english(await gathered(table)));
    expect(read).toContain('60 to 89 °C');
    // It tells no day, and nothing was written down when it was recorded.
    expect(read).toMatch(/What we tested We recorded what the engine of your car measures for/);
    expect(read).toContain('a table: nothing tells whether it was changed');
    writeFileSync(table, `${readFileSync(table, 'utf8')}29,ect_c,89\n`);
    const odd = await gathered(table);
    expect(odd.runs[0]!.check.remarks).not.toEqual([]);
    expect(textOf(english(odd))).not.toMatch(/NOT AS RECORDED|do not rely/);
  });

  it('counts single readings that jumped and were left out', async () => {
    const table = join(library, 'spoilt.csv');
    const rows = Array.from({ length: 60 }, (_, i) => `${i / 5},rpm,${i % 20 === 9 ? 2824 + i : 1800 + i}`);
    writeFileSync(table, `t_s,signal,value\n${rows.join('\n')}\n`);
    const input = await gathered(table);
    expect(textOf(english(input))).toMatch(/jumped and were back with the next engine speed: 3\b/);
    expect(textOf(german(input))).toContain('der nächste passt wieder Motordrehzahl: 3');
    expect(textOf(english(short))).not.toContain('were back with the next');
  });

  it('asks nobody with an engine without a charger for pulls, and compares its coolant alone', () => {
    const comparison = { ...repaired.comparison!, charged: false };
    expect(textOf(english(repaired))).toMatch(/Boost over engine speed.*Boost one second after the tip-in/);
    const says = /Both sides|two sides were driven|barometric, the mean/;
    const overall = repaired.comparison!.overall.map((r) => ({ ...r, interval: null }));
    const bare = { ...repaired.comparison!, overall };
    expect(textOf(english(repaired))).toMatch(says);
    expect(textOf(english({ ...repaired, comparison: bare }))).not.toMatch(says);
    expect(
      textOf(english({ ...repaired, comparison: { ...repaired.comparison!, charged: false } })),
    ).not.toMatch(says);
    const text = textOf(english({ ...repaired, comparison }));
    expect(text).toMatch(/Before and after .*Coolant plateau/);
    expect(text).not.toMatch(
      /Boost over engine speed|one second after|Margin 5|Before: 3 pulls|barometric, the mean|no boost to judge/,
    );
  });

  it('of a job or a run has no second drive, and a comparison only where two were driven', async () => {
    const asked = { tool: 'handback test', nowMs: 0, timeZone: 'UTC', part: 2 };
    for (const path of [folder, join(folder, 'run-0-baseline')])
      await expect(gatherSheet(path, asked)).rejects.toMatchObject({
        code: 'input.usage',
        told: { message: { id: 'error.no-part', args: { part: 2, n: 1 } } },
      });
    expect([repaired, short].map((input) => input.comparison === null)).toEqual([false, true]);
  });

  it('opens a job with a damaged run and says so', async () => {
    const damaged = await jobIn(library, {
      drives: [{ purpose: 'verification', seconds: 30 }],
      fields: { reference: 'damaged' },
    });
    writeFileSync(join(damaged, 'run-0-verification', 'run.json'), '{');
    const input = await gathered(damaged);
    expect(input.troubles.length).toBeGreaterThan(0);
    const text = textOf(english(input));
    expect(text).toContain('No drive was recorded.');
    expect(text).toContain('run-0-verification/run.json is damaged');
    expect(text).not.toContain(damaged); // the sheet goes home: no folder of this computer on it
  });
});
