/** Jobs over HTTP: the routes, what they refuse, and what a photo may never become. */
import { existsSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { connect } from 'node:net';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { type RunningServer, startServer } from '../../src/server/server.ts';
import { shortRun } from '../job/drives.ts';
import { POINT, pointWith } from '../job/point.ts';
import { scratch } from '../run/files.ts';

const clock = new ManualClock(0, Date.UTC(2026, 2, 5, 9));
const library = join(scratch(), 'library');
let daemon: Daemon;
let server: RunningServer;
beforeAll(async () => {
  daemon = new Daemon({ clock, library });
  server = await startServer({
    api: daemon,
    jobs: daemon.jobs,
    host: '127.0.0.1',
    port: 0,
    webRoot: library,
    clock,
  });
});
afterAll(async () => {
  await server.close();
  await daemon.close();
});

const HEADERS = { 'x-handback': '1', 'content-type': 'application/json' };
async function call(path: string, body?: unknown) {
  const init = body === undefined ? {} : { method: 'POST', headers: HEADERS, body: JSON.stringify(body) };
  const answer = await fetch(`${server.url}api${path}`, init);
  // biome-ignore lint/suspicious/noExplicitAny: the shapes are what is tested
  return { status: answer.status, json: (await answer.json()) as any };
}
const send = (path: string, type: string, body: Uint8Array) =>
  fetch(`${server.url}api${path}`, {
    method: 'POST',
    headers: { 'x-handback': '1', 'content-type': type },
    body: body as Uint8Array<ArrayBuffer>,
  });
const opened = async (fields: object = {}): Promise<string> => (await call('/jobs', fields)).json.job.id;

describe('a job over HTTP', () => {
  it('is opened, found, changed, deleted and brought back', async () => {
    const id = await opened({ vehicle: 'Practice van', complaint: 'Howls' });
    expect((await call('/jobs?q=howls')).json.jobs).toMatchObject([
      { id, stands: 'Opened; nothing driven yet.' },
    ]);
    const changed = await call(`/jobs/${id}`, {
      plate: 'AB 1',
      profile: { induction: 'turbocharger', fanOnC: 95 },
    });
    expect(changed.json.job.profile.fanOnC).toEqual({ value: 95, source: 'entered' });
    const binned = (await call(`/jobs/${id}/delete`, {})).json;
    expect((await call(`/jobs/${id}`)).status).toBe(404);
    expect((await call(`/bin/${binned.id}/restore`, {})).json).toEqual({ id });
    expect((await call(`/jobs/${id}`)).json.job.plate).toBe('AB 1');
  });

  it('refuses what it does not know, naming the key, and leaves the job as it was', async () => {
    const id = await opened();
    for (const [body, key] of [
      [{ plate: 7 }, 'plate'],
      [{ colour: 'red' }, 'colour'],
      [{ id: 'x' }, 'id'],
      [{ profile: { induction: 'steam' } }, 'profile.induction'],
      [{ complaint: 'x'.repeat(5000) }, 'complaint'],
      [{ odometerKm: -1 }, 'odometerKm'],
      [{ closedAt: '2026-03-05T09:00:00.000Z' }, 'closedAt'],
      [{ plate: 'A', was: { plate: 7 } }, 'was.plate'],
      [{ plate: 'A', was: { was: {} } }, 'was'],
    ] as const) {
      const { status, json } = await call(`/jobs/${id}`, body);
      expect([status, json.error]).toEqual([400, expect.stringContaining(key)]);
    }
    for (const path of ['/jobs/..%2f..', '/jobs/A', '/jobs/%00', `/jobs/${'a'.repeat(200)}`])
      expect((await call(path)).status).toBe(400);
    expect((await call('/jobs/nothing-here')).json.hint).toContain('bin');
    expect((await fetch(`${server.url}api/jobs`, { method: 'POST', body: '{}' })).status).toBe(403);
  });

  it('leaves alone what somebody else changed since it was seen, and names it', async () => {
    const id = await opened({ complaint: 'as A saw it', plate: 'P 1' });
    await call(`/jobs/${id}`, { complaint: 'as B wrote it' });
    const { status, json } = await call(`/jobs/${id}`, {
      complaint: 'as A writes it',
      plate: 'P 2',
      was: { complaint: 'as A saw it', plate: 'P 1' },
    });
    expect([status, json.conflicts]).toEqual([200, ['complaint']]);
    expect([json.job.complaint, json.job.plate]).toEqual(['as B wrote it', 'P 2']);
  });

  it('keeps measurements, puts one back as it was, and refuses what it does not know', async () => {
    const id = await opened();
    const body = {
      what: 'air-gap',
      name: '',
      value: 0.4,
      unit: 'mm',
      heldMin: null,
      low: 0.3,
      high: 0.6,
      source: 'handbook',
      result: 'pass',
      when: 'during',
      who: 'B',
      text: '',
    };
    const [made] = (await call(`/jobs/${id}/measurements`, body)).json.job.measurements;
    expect(made).toMatchObject(body);
    expect((await call(`/jobs/${id}/measurements/${made.id}/delete`, {})).json.job.measurements).toEqual([]);
    expect((await call(`/jobs/${id}/measurements`, made)).json.job.measurements).toEqual([made]);
    for (const wrong of [
      { what: 'magic' },
      { unit: 'bar' },
      { result: 'good' },
      { when: 'later' },
      { value: '4' },
    ]) {
      const { status, json } = await call(`/jobs/${id}/measurements`, { ...body, ...wrong });
      expect([status, json.error]).toEqual([400, expect.stringContaining(Object.keys(wrong)[0]!)]);
    }
  });

  it('is handed over with a reason where something speaks against it, and opened again', async () => {
    const id = await opened();
    expect((await call(`/jobs/${id}/hand-over`)).json).toEqual({
      whole: 'open',
      doubts: ['no-drive', 'codes-not-read'],
    });
    for (const body of [{ reason: ' ' }, { reason: 7 }, {}, { reason: 'x'.repeat(1001) }]) {
      const { status, json } = await call(`/jobs/${id}/hand-over`, body);
      expect([status, /write why|reason/.test(json.error)]).toEqual([400, true]);
    }
    const { json } = await call(`/jobs/${id}/hand-over`, { reason: ' Only fetched ' });
    expect(json.job.handOver.reason).toBe('Only fetched');
    expect((await call('/jobs')).json.jobs.find((j: { id: string }) => j.id === id).stands).toBe(
      'Handed over, too little shown. Reason: Only fetched',
    );
    expect((await call(`/jobs/${id}/open-again`, {})).json.job.closedAt).toBeNull();
  });

  it('keeps observations with their time, and puts one back as it was', async () => {
    const id = await opened();
    const noted = await call(`/jobs/${id}/observations`, {
      kind: 'cabin heat idle',
      answer: 'hot',
      text: '',
      runId: null,
      tS: null,
    });
    const [o] = noted.json.job.observations;
    expect(o).toMatchObject({ kind: 'cabin heat idle', answer: 'hot', at: '2026-03-05T09:00:00.000Z' });
    expect((await call(`/jobs/${id}/observations/${o.id}/delete`, {})).json.job.observations).toEqual([]);
    expect((await call(`/jobs/${id}/observations`, o)).json.job.observations).toEqual([o]);
    expect((await call(`/jobs/${id}/observations`, { ...o, kind: 'mood' })).status).toBe(400);
  });

  it('takes a loose drive in, judges it and lets it go again', async () => {
    const id = await opened();
    const run = await shortRun({ library });
    expect((await call('/jobs')).json.loose).toMatchObject([{ id: run.id, job: null }]);
    expect((await call(`/runs/${run.id}/file`, { job: id, purpose: 'baseline' })).json).toMatchObject({
      job: id,
    });
    expect((await call('/runs')).json).toMatchObject([{ id: run.id, job: id, purpose: 'baseline' }]);
    expect((await call(`/jobs/${id}/verdicts`)).json).toMatchObject([
      { runId: run.id, boost: 'not shown', coolant: 'not shown', teaching: { boost: false, coolant: false } },
    ]);
    expect((await call(`/jobs/${id}/learn/${run.id}`)).json.points).toEqual([]);
    await call(`/runs/${run.id}/file`, { job: null, purpose: 'other' });
    const binned = (await call(`/runs/${run.id}/delete`, {})).json;
    expect((await call('/jobs')).json.loose).toEqual([]);
    expect((await call('/jobs')).json.bin.map((b: { id: string }) => b.id)).toContain(binned.id);
  });

  it('reads no codes without a car', async () => {
    const { status, json } = await call(`/jobs/${await opened()}/snapshots`, { when: 'before' });
    expect([status, json.hint]).toEqual([502, 'Connect first.']);
  });
});

describe('a photo over HTTP', () => {
  const png = pointWith('<script>alert(1)</script>');

  it('is given out as the picture it is and never as a page', async () => {
    const id = await opened();
    const added = await (await send(`/jobs/${id}/photos?caption=pump`, 'image/jpeg', png)).json();
    const [ref] = (added as { job: { photos: { file: string; caption: string }[] } }).job.photos;
    expect(ref).toMatchObject({ caption: 'pump', file: expect.stringMatching(/\.png$/) });
    const shown = await fetch(`${server.url}api/jobs/${id}/photos/${ref!.file}`);
    expect(shown.headers.get('content-type')).toBe('image/png');
    expect(shown.headers.get('x-content-type-options')).toBe('nosniff');
    expect(shown.headers.get('content-security-policy')).toContain('sandbox');
    expect(Buffer.from(await shown.arrayBuffer())).toEqual(POINT);
    const without = await call(`/jobs/${id}/photos/listed`, { ref, listed: false });
    expect(without.json.job.photos).toEqual([]);
    expect((await fetch(`${server.url}api/jobs/${id}/photos/${ref!.file}`)).status).toBe(404);
    expect((await call(`/jobs/${id}/photos/listed`, { ref, listed: true })).json.job.photos).toEqual([ref]);
    const stray = { ...ref, file: 'not-there.png' };
    expect((await call(`/jobs/${id}/photos/listed`, { ref: stray, listed: true })).status).toBe(404);
  });

  it('is refused when it is something else, or too large', async () => {
    const id = await opened();
    const html = Buffer.from('<html><script>alert(1)</script></html>');
    expect((await send(`/jobs/${id}/photos`, 'image/png', html)).status).toBe(400);
    expect((await send(`/jobs/${id}/photos`, 'text/html', html)).status).toBe(415);
    // The server may close the line before all of it is sent.
    const large = send(`/jobs/${id}/photos`, 'image/png', Buffer.alloc(16 * 2 ** 20));
    expect(
      await large.then(
        (r) => r.ok,
        () => false,
      ),
    ).toBe(false);
    expect(existsSync(join(library, id, 'photos'))).toBe(false);
  });
});

describe('an archive over HTTP', () => {
  it('goes out, and comes in again after the job was deleted', async () => {
    const id = await opened({ vehicle: 'Practice van', plate: 'XY 99' });
    const answer = await fetch(`${server.url}api/jobs/${id}/archive?hidePlate=1`);
    expect(answer.headers.get('content-disposition')).toBe(`attachment; filename="${id}.zip"`);
    const zip = Buffer.from(await answer.arrayBuffer());
    expect((await send('/jobs/import', 'application/zip', zip)).status).toBe(404);
    await call(`/jobs/${id}/delete`, {});
    expect(await (await send('/jobs/import', 'application/zip', zip)).json()).toEqual({ id, remarks: [] });
    expect((await call(`/jobs/${id}`)).json.job).toMatchObject({
      vehicle: 'Practice van',
      plate: '(left out)',
    });
    const bad = await send('/jobs/import', 'application/zip', Buffer.from('no zip'));
    expect([bad.status, (await bad.json()) as unknown]).toEqual([
      400,
      expect.objectContaining({ error: expect.stringContaining('refused'), hint: expect.any(String) }),
    ]);
    expect(readdirSync(library).filter((n) => n.startsWith('.import'))).toEqual([]);
  });
});

describe('a request that would make a job unreadable', () => {
  const note = { runId: null, tS: null, kind: 'other', answer: 'not checked', text: 'hiss' };

  it('is refused, and the job is read as before', async () => {
    const id = await opened({ plate: 'AB 1' });
    const taught = await call(`/jobs/${id}/teaching`, { runId: '-A', may: { boost: true, coolant: true } });
    expect(taught.status).toBe(400);
    const noted = await call(`/jobs/${id}/observations`, { ...note, runId: '-A' });
    expect(noted.status).toBe(400);
    const again = await call(`/jobs/${id}`);
    expect([again.status, again.json.job.plate]).toEqual([200, 'AB 1']);
    expect((await call('/jobs')).json.troubles).toEqual([]);
  });

  it('found damaged all the same is named by its place in the library, not by that on the computer', async () => {
    const id = await opened();
    writeFileSync(join(library, id, 'job.json'), '{}');
    const { troubles } = (await call('/jobs')).json;
    expect(troubles).toHaveLength(1);
    expect(troubles[0]).toContain(join(id, 'job.json'));
    expect(troubles[0]).not.toContain(library);
    rmSync(join(library, id), { recursive: true });
  });
});

describe('a photo that comes slowly', () => {
  /** So many seconds, each with so many bytes of a body of a megabyte; then what was answered. */
  async function dribble(seconds: number, bytesASecond: number): Promise<string> {
    const { port, host } = new URL(server.url);
    const path = `/api/jobs/${await opened()}/photos`;
    const head = { host, 'x-handback': '1', 'content-type': 'image/png', 'content-length': 1_000_000 };
    const socket = connect(Number(port), '127.0.0.1');
    let answer = '';
    socket.on('data', (part) => {
      answer += part;
    });
    const closed = new Promise((resolve) => socket.on('close', resolve));
    socket.write(
      `POST ${path} HTTP/1.1\r\n${Object.entries(head)
        .map(([k, v]) => `${k}: ${v}\r\n`)
        .join('')}\r\n`,
    );
    for (let s = 0; s < seconds && !socket.closed; s++) {
      await new Promise((resolve) => socket.write(Buffer.alloc(bytesASecond), resolve));
      await call('/state'); // by now it has arrived
      await clock.advance(1000);
    }
    const open = !socket.closed && answer === '';
    socket.end();
    socket.destroySoon();
    await closed;
    return open ? 'still taken' : answer;
  }

  it('is taken for as long as it keeps the pace of a poor line', async () => {
    expect(await dribble(40, 20_000)).toBe('still taken');
  });

  it('is cut when it dribbles, and the sender is told why', async () => {
    const answer = await dribble(26, 2000);
    expect(answer).toMatch(/^HTTP\/1.1 408 /);
    expect(answer).toContain('The line is too slow');
  });
});
