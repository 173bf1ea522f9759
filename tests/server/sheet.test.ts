/** Routes of the hand-over sheet with made-up sheets and a made-up printer: headers, choices, refusals, one at a time. */

import { cpSync, writeFileSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import express from 'express';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { codesFinding } from '../../src/analysis/codes.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { saying } from '../../src/core/error-says.ts';
import { HandbackError } from '../../src/core/errors.ts';
import { sheetStamp } from '../../src/desk/sheet-stamp.ts';
import { type SheetRequest, StoredRuns } from '../../src/desk/stored-runs.ts';
import { putIntoBin } from '../../src/job/bin.ts';
import { newJob } from '../../src/job/job.ts';
import { createJob, updateFields } from '../../src/job/library.ts';
import { editMarkIn } from '../../src/job/marks.ts';
import { type SheetsApi, sheetRoutes } from '../../src/server/sheet.ts';
import { choicesOf } from '../../src/sheet/choices.ts';
import { renderSheet } from '../../src/sheet/render.ts';
import type { SheetInput } from '../../src/sheet/types.ts';
import { scratch } from '../run/files.ts';
import { IN_FULL } from '../torture/compressed.ts';

const input = (vehicle: string): SheetInput => ({
  job: { ...newJob('one', '2026-03-03T08:00:00.000Z'), vehicle, vin: 'XHBTEST0000000017' },
  runs: [],
  codes: { read: [], before: null, after: null, finding: codesFinding(null) },
  comparison: null,
  photos: { shown: [], more: 0 },
  troubles: [],
  tool: 'handback test',
  madeAt: '2026-03-03T12:00:00.000Z',
  timeZone: 'UTC',
});

let server: Server;
let base: string;
let asked: SheetRequest['of'][];
/** Instead of the made-up sheets. */
let own: SheetsApi | null;
let givenUp: boolean;
let prints: { html: string; done: (pdf: Uint8Array) => void }[];

beforeEach(async () => {
  prints = [];
  asked = [];
  givenUp = false;
  own = null;
  const sheets: SheetsApi = {
    sheet: async ({ of, choice, pdf }: SheetRequest, signal?: AbortSignal) => {
      asked.push(of);
      const [kind, id] = Object.entries(of)[0]!;
      if (id === 'slow')
        await new Promise((_, reject) =>
          signal!.addEventListener('abort', () => {
            givenUp = true;
            reject(signal!.reason);
          }),
        );
      if (id === 'gone') throw new HandbackError('library.path', saying('error.no-job', { id: 'gone' }));
      const made = input(`${kind} ${id}`);
      return Buffer.from(renderSheet(made, choicesOf(made, choice, pdf)));
    },
    sheetStamp: async () => 'as ever',
  };
  const app = express();
  app.set('query parser', 'simple');
  app.use(
    '/api',
    sheetRoutes(
      {
        sheet: (...request) => (own ?? sheets).sheet(...request),
        sheetStamp: (of) => (own ?? sheets).sheetStamp(of),
      },
      (html) => new Promise((done) => prints.push({ html: String(html), done })),
    ),
  );
  app.use((error: HandbackError, _req: unknown, res: express.Response, _next: unknown) => {
    res.status(error.code === 'run.busy' ? 409 : 400).json({ error: error.message });
  });
  server = createServer(app as Parameters<typeof createServer>[1]);
  await new Promise<void>((listening) => server.listen(0, '127.0.0.1', listening));
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}/api`;
});
afterEach(() => new Promise((closed) => server.close(closed)));

const get = (path: string) => fetch(base + path);
const until = async (what: () => boolean) => {
  while (!what()) await new Promise(setImmediate);
};

describe('the sheet over HTTP', () => {
  it('is made once by POST and then fetched, as what was asked for and nothing else; given up, it is not made', async () => {
    const post = (path: string, signal?: AbortSignal) =>
      fetch(base + path, { method: 'POST', ...(signal ? { signal } : {}) });
    const { made } = (await (await post('/jobs/one/sheet?lang=de')).json()) as { made: string };
    expect(asked).toEqual([{ job: 'one' }]);
    const first = await get(`/jobs/one/sheet?lang=de&made=${made}`);
    expect(first.headers.get('content-security-policy')).toContain("default-src 'none'");
    expect(await first.text()).toContain('lang="de"');
    expect(asked).toHaveLength(1);
    expect(await (await get(`/jobs/one/sheet?lang=en&made=${made}`)).text()).toContain('lang="en"');
    expect(await (await get(`/jobs/two/sheet?lang=de&made=${made}`)).text()).toContain('job two');
    expect(await (await get('/jobs/one/sheet?lang=de&made=0123')).text()).toContain('lang="de"');
    expect(asked).toHaveLength(4);

    const gone = new AbortController();
    const stopped = post('/jobs/slow/sheet', gone.signal);
    await until(() => asked.length === 5);
    gone.abort();
    await expect(stopped).rejects.toThrow();
    await until(() => givenUp);
  });

  it('is made anew, not given as it was made, when its job or a drive of it changed since', async () => {
    const library = join(scratch(), 'library');
    const clock = new ManualClock(0, Date.UTC(2026, 2, 3, 8));
    const { folder, job } = await createJob(library, { plate: 'HB-RT 17', vin: 'XHBTEST0000000017' }, clock);
    const drive = join(folder, 'drive');
    cpSync(join(import.meta.dirname, '../../captures/clutch-never-closes'), drive, { recursive: true });
    const stored = new StoredRuns(library, false);
    let times = 0;
    own = {
      sheet: (request) => {
        times++;
        return stored.sheet(IN_FULL, { ...request, nowMs: clock.wallMs() });
      },
      sheetStamp: (of) => sheetStamp(library, of),
    };
    const path = `/jobs/${job.id}/sheet?units=C,kPa`;
    const { made } = (await (await fetch(base + path, { method: 'POST' })).json()) as { made: string };
    const opened = async () => (await get(`${path}&made=${made}`)).text();
    const hide = { ...job.sheet, hidePlate: true };

    writeFileSync(join(drive, 'judgement.json'), 'what was found out does not count');
    expect(await opened()).toContain('HB-RT 17');
    expect(times).toBe(1);
    await editMarkIn(drive, { tS: 5, key: 'M', text: 'rattles on the bridge', removed: false });
    await opened();
    expect(times).toBe(2);
    await updateFields(library, job.id, { sheet: hide }, clock);
    expect(await opened()).not.toContain('HB-RT 17');
    await updateFields(library, job.id, { sheet: { ...hide, language: 'de', hideVin: true } }, clock);
    const german = await opened();
    expect(german).toContain('lang="de"');
    expect(german).not.toContain('XHBTEST');
    expect(times).toBe(4);
    await putIntoBin(library, job.id, clock);
    expect((await get(`${path}&made=${made}`)).status).toBe(400);
  });

  it('comes as HTML under a policy that lets nothing run', async () => {
    const answer = await get('/jobs/one/sheet');
    expect(answer.status).toBe(200);
    expect(answer.headers.get('content-type')).toMatch(/^text\/html/);
    const policy = answer.headers.get('content-security-policy');
    expect(policy).toContain("default-src 'none'");
    expect(policy).toContain("frame-ancestors 'none'");
    expect(policy).not.toContain('script-src');
    expect(await answer.text()).toContain('job one');
    expect(await (await get('/runs/two/sheet')).text()).toContain('run two');
  });

  it('takes language, units and what to leave out', async () => {
    const html = await (await get('/jobs/one/sheet?lang=de&units=F,psi&hide=vin')).text();
    expect(html).toContain('<html lang="de">');
    expect(html).not.toContain('XHBTEST');
  });

  it.each([
    ['/jobs/one/sheet?lang=fr', 'lang'],
    ['/jobs/one/sheet?units=kelvin', 'kelvin'],
    ['/jobs/one/sheet?hide=owner', 'hide'],
    ['/jobs/one/sheet?as=docx', 'as'],
    ['/jobs/one/sheet?paper=A3', 'paper'],
    ['/jobs/..%2F..%2Fetc/sheet', 'id'],
    ['/jobs/gone/sheet', 'gone'],
  ])('refuses %s with a sentence', async (path, word) => {
    const answer = await get(path);
    expect(answer.status).toBe(400);
    expect(((await answer.json()) as { error: string }).error).toContain(word);
  });

  it('prints one after the other and refuses when too many wait', async () => {
    const waiting = Array.from({ length: 4 }, () => get('/jobs/one/sheet?as=pdf&paper=Letter'));
    await until(() => prints.length === 1);
    let refused = 0;
    const more = get('/jobs/one/sheet?as=pdf').then((r) => {
      refused = r.status;
    });
    await until(() => refused !== 0 || prints.length > 1);
    for (let n = 1; n <= 4; n++) {
      await until(() => prints.length === n);
      expect(prints[n - 1]!.html).toContain('size: Letter');
      prints[n - 1]!.done(Buffer.from(`%PDF-${n}`));
    }
    const answers = await Promise.all(waiting);
    await more;
    expect(refused).toBe(409);
    expect(answers.map((a) => a.status)).toEqual([200, 200, 200, 200]);
    expect(answers[0]!.headers.get('content-type')).toBe('application/pdf');
    expect(answers[0]!.headers.get('content-disposition')).toBe('inline; filename="hand-over-one.pdf"');
    const bodies = await Promise.all(answers.map((a) => a.text()));
    expect(bodies.sort()).toEqual(['%PDF-1', '%PDF-2', '%PDF-3', '%PDF-4']);
  });
});
