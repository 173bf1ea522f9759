/** The server answers its own page and nobody else, and never says more than it should. */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { type ClientRequest, request } from 'node:http';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { type RunningServer, startServer } from '../../src/server/server.ts';
import { FakeDaemon } from './fake-daemon.ts';

const GOOD = { 'x-handback': '1', 'content-type': 'application/json' };
let webRoot: string;
let clock: ManualClock;
let api: FakeDaemon;
let server: RunningServer;
let seen: unknown[];

beforeEach(async () => {
  webRoot = mkdtempSync(join(tmpdir(), 'handback-web-'));
  mkdirSync(join(webRoot, 'assets'));
  writeFileSync(join(webRoot, 'index.html'), '<!doctype html><title>page</title>');
  writeFileSync(join(webRoot, 'assets', 'a.js'), '0');
  clock = new ManualClock();
  api = new FakeDaemon({ clock });
  seen = [];
  server = await startServer({
    api,
    host: '127.0.0.1',
    port: 0,
    webRoot,
    clock,
    onError: (e) => seen.push(e),
  });
});

afterEach(async () => {
  await server.close();
  rmSync(webRoot, { recursive: true });
});

interface Answer {
  readonly status: number;
  readonly headers: Record<string, string | string[] | undefined>;
  readonly text: string;
}

/** fetch() sets Host itself, so requests with odd headers go through node:http. */
function ask(
  method: string,
  path: string,
  options: { headers?: Record<string, string>; body?: string; base?: string } = {},
): Promise<Answer> {
  const url = new URL(options.base ?? server.url);
  return new Promise((resolve, reject) => {
    const req = request(
      { host: url.hostname, port: url.port, method, path, headers: options.headers ?? {} },
      (res) => {
        let text = '';
        res.setEncoding('utf8');
        res.on('data', (part: string) => {
          text += part;
        });
        res.on('end', () => resolve({ status: res.statusCode ?? 0, headers: res.headers, text }));
      },
    );
    req.on('error', reject);
    req.end(options.body);
  });
}

const post = (path: string, body: unknown, headers: Record<string, string> = GOOD) =>
  ask('POST', path, { headers, body: JSON.stringify(body) });

describe('a disk without room, wherever it shows', () => {
  it('is said, with what to do, and is no fault of the program', async () => {
    api.runs = async () => {
      throw Object.assign(new Error("ENOSPC: no space left on device, open '/tmp/x/y'"), { code: 'ENOSPC' });
    };
    const { status, text } = await ask('GET', '/api/runs');
    expect(status).toBe(507);
    expect(JSON.parse(text)).toMatchObject({
      error: 'Nothing can be written now: the disk is full.',
      hint: 'Make room on the disk, then try again.',
    });
    expect(seen).toEqual([]);
  });
});

describe('what it serves', () => {
  it('serves the page with a policy that allows no inline script', async () => {
    const page = await ask('GET', '/');
    expect(page.status).toBe(200);
    expect(page.text).toContain('<title>page</title>');
    const policy = String(page.headers['content-security-policy']);
    expect(policy).toContain("default-src 'none'");
    expect(policy).toContain("script-src 'self'");
    expect(policy).not.toContain('unsafe');
    expect(page.headers['x-powered-by']).toBeUndefined();
    expect(page.headers['cache-control']).toBe('no-cache');
    expect(api.pagesFetched).toBe(1); // what reads ended runs can begin
    expect((await ask('GET', '/assets/a.js')).headers['cache-control']).toContain('immutable');
  });

  it('says what to do when the page has not been built', async () => {
    rmSync(join(webRoot, 'index.html'));
    const page = await ask('GET', '/');
    expect(page.status).toBe(503);
    expect(page.text).toContain('npm run build');
  });

  it('gives nothing outside the folder of the page', async () => {
    writeFileSync(join(webRoot, '..', 'handback-secret.txt'), 'secret');
    for (const path of [
      '/../handback-secret.txt',
      '/..%2fhandback-secret.txt',
      '/%2e%2e/handback-secret.txt',
      '/assets/..%5c..%5chandback-secret.txt',
    ])
      expect((await ask('GET', path)).text).not.toContain('secret');
    rmSync(join(webRoot, '..', 'handback-secret.txt'));
  });

  it('connects, records, marks and stops', async () => {
    expect((await post('/api/connect', { link: 'sim' })).status).toBe(200);
    const run = JSON.parse((await post('/api/run', { purpose: 'verification', vehicle: 'Practice' })).text);
    expect(run.id).toBe('run-1');
    await clock.advance(2000);
    const mark = JSON.parse((await post('/api/marks', { key: 'N' })).text);
    expect(mark).toMatchObject({ key: 'N', tS: 2 });
    const live = JSON.parse((await ask('GET', '/api/run/series?points=100')).text);
    expect(live.rpm.t.length).toBeGreaterThan(10);
    expect((await post('/api/run/stop', {})).status).toBe(200);
    const runs = JSON.parse((await ask('GET', '/api/runs')).text);
    expect(runs).toHaveLength(1);
    const view = JSON.parse((await ask('GET', '/api/runs/run-1')).text);
    expect(view.judgement.findings).toHaveLength(3);
    expect((await ask('GET', '/api/runs/run-1/series')).status).toBe(200);
  });

  it('hands a checked profile on, a plain number marked as entered', async () => {
    await post('/api/run', { purpose: 'other', profile: { induction: 'twin-charged', handOverRpm: 3500 } });
    expect(api.calls.at(-1)).toContain('"handOverRpm":{"value":3500,"source":"entered"}');
  });
});

describe('who may ask', () => {
  it.each([
    'evil.example',
    'localhost.evil.example',
    '169.254.1.1',
    '@',
    '127.0.0.1.evil.example:80',
    '[::1',
  ])('refuses the Host %j', async (host) => {
    expect((await ask('GET', '/api/state', { headers: { host } })).status).toBeGreaterThanOrEqual(400);
    expect((await ask('GET', '/', { headers: { host } })).status).toBeGreaterThanOrEqual(400);
  });

  it.each(['localhost', 'LOCALHOST:80', '127.0.0.1:9', '[::1]:80'])(
    'answers to the Host %j',
    async (host) => {
      expect((await ask('GET', '/api/state', { headers: { host } })).status).toBe(200);
    },
  );

  it('refuses a foreign Origin, also null, and takes its own', async () => {
    const own = new URL(server.url).origin;
    for (const origin of ['http://evil.example', 'null', own.replace('http', 'https'), `${own}0`])
      expect(
        (await ask('POST', '/api/connect', { headers: { ...GOOD, origin }, body: '{"link":"sim"}' })).status,
      ).toBe(403);
    expect(api.calls).toEqual([]);
    const host = new URL(server.url).host;
    expect(
      (await ask('POST', '/api/connect', { headers: { ...GOOD, origin: own, host }, body: '{"link":"sim"}' }))
        .status,
    ).toBe(200);
  });

  it('refuses a call that another page could have made without asking', async () => {
    const body = '{"link":"sim"}';
    expect(
      (await ask('POST', '/api/connect', { headers: { 'content-type': 'application/json' }, body })).status,
    ).toBe(403);
    expect(
      (
        await ask('POST', '/api/connect', {
          headers: { 'x-handback': '1', 'content-type': 'text/plain' },
          body,
        })
      ).status,
    ).toBe(415);
    expect((await ask('GET', '/api/stream', { headers: { 'sec-fetch-site': 'cross-site' } })).status).toBe(
      403,
    );
    expect(api.calls).toEqual([]);
  });

  it('lets nobody in from outside without a token', async () => {
    const open = { api, host: '0.0.0.0', port: 0, webRoot, clock };
    await expect(startServer(open)).rejects.toMatchObject({ code: 'input.usage' });
    const guarded = await startServer({ ...open, host: '127.0.0.1', token: 'a b&c' });
    try {
      const base = guarded.url;
      expect((await ask('GET', '/api/state', { base })).status).toBe(401);
      expect((await ask('GET', '/?token=wrong', { base })).status).toBe(401);
      expect((await ask('GET', '/', { base, headers: { cookie: 'handback=%' } })).status).toBe(401);
      expect(
        (await ask('GET', '/api/state', { base, headers: { 'x-handback-token': 'a b&c' } })).status,
      ).toBe(200);
      const first = await ask('GET', new URL(base).pathname + new URL(base).search, { base });
      expect(first.status).toBe(303);
      expect(first.headers.location).toBe('/');
      const cookie = String(first.headers['set-cookie']).split(';')[0]!;
      expect(String(first.headers['set-cookie'])).toMatch(/HttpOnly.*SameSite=Strict/);
      expect((await ask('GET', '/', { base, headers: { cookie } })).text).toContain('page');
    } finally {
      await guarded.close();
    }
  });

  it('lets one more device in by an invitation, once and for ten minutes', async () => {
    const open = await startServer({ api, host: '0.0.0.0', port: 0, webRoot, clock, token: 'secret' });
    try {
      const base = `http://127.0.0.1:${new URL(open.url).port}/`;
      const headers = { ...GOOD, 'x-handback-token': 'secret' };
      const invite = async (): Promise<string> => {
        const answer = JSON.parse((await ask('POST', '/api/invite', { base, headers, body: '{}' })).text);
        expect(answer.validS).toBe(600);
        return new URL(answer.urls[0] ?? 'http://no-network/').search;
      };
      expect((await ask('POST', '/api/invite', { base, headers: GOOD, body: '{}' })).status).toBe(401);
      const view = JSON.parse((await ask('GET', '/api/network', { base, headers })).text);
      if (view.addresses.length === 0) return; // this machine has no network: nobody to invite
      expect(JSON.stringify(view)).not.toContain('secret');
      const code = await invite();
      expect(code).not.toContain('secret');
      const first = await ask('GET', `/${code}`, { base });
      expect(first.status).toBe(303);
      expect(String(first.headers['set-cookie'])).toContain('handback=secret');
      expect((await ask('GET', `/${code}`, { base })).status).toBe(401);
      const late = await invite();
      await clock.advance(600_000);
      expect((await ask('GET', `/${late}`, { base })).status).toBe(401);
    } finally {
      await open.close();
    }
  });

  it('invites nobody to a server that listens on this computer only', async () => {
    expect((await post('/api/invite', {})).status).toBe(400);
    expect(JSON.parse((await ask('GET', '/api/network')).text)).toEqual({ addresses: [] });
  });
});

describe('what it takes', () => {
  it.each([
    ['/api/connect', {}],
    ['/api/connect', { link: '' }],
    ['/api/connect', { link: 'sim\n' }],
    ['/api/connect', { link: 'x'.repeat(301) }],
    ['/api/connect', { link: 'sim', baud: -1 }],
    ['/api/connect', { link: 'sim', extra: 1 }],
    ['/api/run', { purpose: 'fun' }],
    ['/api/run', { purpose: 'other', profile: { handOverRpm: 'fast' } }],
    ['/api/run/stop', { id: 'run-1' }],
    ['/api/marks', { key: 'NN' }],
    ['/api/marks', { key: 'N', text: 'x'.repeat(501) }],
    ['/api/marks', null],
    ['/api/stream/hidden', { page: 'mine', hidden: true }],
    ['/api/stream/hidden', { page: '00000000-0000-4000-8000-000000000000' }],
  ])('%s refuses %j with the key it did not like', async (path, body) => {
    const answer = await post(path, body);
    expect(answer.status).toBe(400);
    expect(Object.keys(JSON.parse(answer.text))).toEqual(['error', 'hint', 'says']);
    expect(api.calls).toEqual([]);
  });

  it('refuses what another page asks, however its path is spelt', async () => {
    for (const path of ['/api/state', '/API/state', '/Api/stream', '/api/State', '/API'])
      expect((await ask('GET', path, { headers: { 'sec-fetch-site': 'cross-site' } })).status, path).toBe(
        403,
      );
    expect((await ask('GET', '/API/state')).status).toBe(404);
  });

  it('keeps room for its own page, whoever holds connections and streams', async () => {
    const { hostname, port } = new URL(server.url);
    const held = Array.from({ length: 400 }, () =>
      connect(Number(port), hostname).on('error', () => undefined),
    );
    await Promise.all(
      held.map((s) => new Promise((resolve) => s.once('connect', resolve).once('close', resolve))),
    );
    expect((await ask('GET', '/api/state')).status).toBe(200);
    for (const s of held) s.destroy();

    const streams: ClientRequest[] = [];
    const stream = (headers: Record<string, string>) =>
      new Promise<number>((resolve) => {
        const req = request({ host: hostname, port, path: '/api/stream', headers }, (res) => {
          res.resume();
          resolve(res.statusCode ?? 0);
        });
        req.on('error', () => undefined).end();
        streams.push(req);
      });
    const others = await Promise.all(Array.from({ length: 40 }, () => stream({})));
    expect(others.filter((status) => status === 200)).toHaveLength(24);
    expect(await stream({ 'sec-fetch-site': 'same-origin' })).toBe(200);
    for (const req of streams) req.destroy();
  });

  it('refuses bodies over 64 kB and broken JSON', async () => {
    expect((await post('/api/run', { purpose: 'other', complaint: 'x'.repeat(70_000) })).status).toBe(413);
    expect((await ask('POST', '/api/run', { headers: GOOD, body: '{"purpose":' })).status).toBe(400);
  });

  it('confines run ids and points', async () => {
    for (const id of ['..%2f..%2fetc', '%2e%2e', 'a%00b', 'a.b', 'x'.repeat(129), '%E0%A4%A'])
      expect((await ask('GET', `/api/runs/${id}`)).status).toBe(400);
    for (const points of ['0', '1e9', 'NaN', '-5', '5.5'])
      expect((await ask('GET', `/api/run/series?points=${points}`)).status).toBe(400);
    expect((await ask('GET', '/api/runs/unknown')).status).toBe(404);
  });

  it('compares runs named once or several times, and confines their ids and number', async () => {
    const one = await ask('GET', '/api/compare?before=a&after=b&margin=3');
    expect(JSON.parse(one.text).schema).toBe('handback.comparison/1');
    await ask('GET', '/api/compare?before=a&before=b&after=c&come-back=d');
    expect(api.calls).toEqual([
      'compare {"before":["a"],"after":["b"],"comeBack":[],"marginPct":3}',
      'compare {"before":["a","b"],"after":["c"],"comeBack":["d"]}',
    ]);
    const many = Array.from({ length: 13 }, (_, i) => `after=r${i}`).join('&');
    for (const query of ['before=a', 'before=../a&after=b', `before=a&${many}`, 'before=a&after=b&margin=0'])
      expect((await ask('GET', `/api/compare?${query}`)).status).toBe(400);
    expect(seen).toEqual([]);
  });

  it('knows no page by the name of another stream', async () => {
    const other = { page: '00000000-0000-4000-8000-000000000000', hidden: true };
    expect((await post('/api/stream/hidden', other)).status).toBe(404);
  });

  it('never fails inside on any JSON body', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom('/api/connect', '/api/run', '/api/marks', '/api/run/stop', '/api/stream/hidden'),
        fc.jsonValue(),
        async (path, body) => {
          const answer = await post(path, body);
          expect(answer.status).toBeLessThan(500);
          expect(answer.status).toBeGreaterThanOrEqual(400);
        },
      ),
      { numRuns: 60, seed: 5 },
    );
    expect(seen).toEqual([]);
  });

  it('tells no stack and no folder, and its keeper everything', async () => {
    api.liveSeries = () => {
      throw new Error('ENOENT /home/someone/library/run.json');
    };
    const answer = await ask('GET', '/api/run/series');
    expect(answer.status).toBe(500);
    expect(answer.text).not.toMatch(/home|ENOENT|\.ts/);
    expect(seen).toHaveLength(1);
    const port = await post('/api/connect', { link: '/dev/ttyX0' });
    expect(port.status).toBe(502);
    expect(JSON.parse(port.text)).toMatchObject({
      error: '/dev/ttyX0 cannot be opened.',
      hint: 'Plug it in again.',
    });
  });
});

it('says in a sentence when the port is taken', async () => {
  const port = Number(new URL(server.url).port);
  await expect(startServer({ api, host: '127.0.0.1', port, webRoot, clock })).rejects.toThrow(
    /Cannot listen on 127/,
  );
});
