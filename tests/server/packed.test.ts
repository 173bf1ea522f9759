/** What goes to other devices goes as gzip, and says the same; on the computer itself nothing does. */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { type IncomingMessage, request } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createGunzip, gunzipSync } from 'node:zlib';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { type RunningServer, startServer } from '../../src/server/server.ts';
import { FakeDaemon } from './fake-daemon.ts';

const SCRIPT = 'console.log("the same again");\n'.repeat(1000);
const GZIP = { 'x-handback-token': 'secret', 'accept-encoding': 'gzip, deflate, br' };
const PLAIN = { 'x-handback-token': 'secret' };
let webRoot: string;
let clock: ManualClock;
let api: FakeDaemon;
const servers: RunningServer[] = [];

beforeEach(() => {
  webRoot = mkdtempSync(join(tmpdir(), 'handback-web-'));
  mkdirSync(join(webRoot, 'assets'));
  writeFileSync(join(webRoot, 'index.html'), '<!doctype html><title>page</title>');
  writeFileSync(join(webRoot, 'assets', 'a-1x.js'), SCRIPT);
  clock = new ManualClock();
  api = new FakeDaemon({ clock, prerollS: 120 });
});

afterEach(async () => {
  for (const server of servers.splice(0)) await server.close();
  rmSync(webRoot, { recursive: true });
});

/** @returns the address on this computer of a daemon that listens there */
async function at(host: string): Promise<string> {
  const server = await startServer({ api, host, port: 0, webRoot, clock, token: 'secret' });
  servers.push(server);
  return `http://127.0.0.1:${new URL(server.url).port}`;
}

/** As it comes over the line: fetch() would unpack it. */
const answer = (url: string, headers: Record<string, string>): Promise<IncomingMessage> =>
  new Promise((resolve, reject) => request(url, { headers }, resolve).on('error', reject).end());

async function bytes(url: string, headers: Record<string, string>) {
  const res = await answer(url, headers);
  const parts: Buffer[] = [];
  for await (const part of res) parts.push(part as Buffer);
  return { status: res.statusCode ?? 0, headers: res.headers, body: Buffer.concat(parts) };
}

it('packs script and answers for other devices that take gzip', async () => {
  const base = await at('0.0.0.0');
  await api.connect({ link: 'sim:twin' });
  await api.startRun({ purpose: 'other' });
  const script = await bytes(`${base}/assets/a-1x.js`, GZIP);
  expect(script.headers).toMatchObject({
    'content-encoding': 'gzip',
    'content-type': 'text/javascript; charset=utf-8',
    'cache-control': 'public, max-age=31536000, immutable',
    vary: 'accept-encoding',
  });
  expect(script.body.length).toBeLessThan(SCRIPT.length / 10);
  expect(String(gunzipSync(script.body))).toBe(SCRIPT);

  const packed = await bytes(`${base}/api/run/series?points=4000`, GZIP);
  const plain = await bytes(`${base}/api/run/series?points=4000`, PLAIN);
  expect(packed.headers).toMatchObject({
    'content-encoding': 'gzip',
    'content-type': 'application/json; charset=utf-8',
  });
  expect(plain.headers['content-encoding']).toBeUndefined();
  expect(plain.body.length).toBeGreaterThan(10_000);
  expect(String(gunzipSync(packed.body))).toBe(String(plain.body));
  expect(String((await bytes(`${base}/assets/a-1x.js`, PLAIN)).body)).toBe(SCRIPT);
});

it('leaves what is small as it is, and gives nothing but built files', async () => {
  const base = await at('0.0.0.0');
  expect((await bytes(`${base}/api/run/spoken`, GZIP)).headers['content-encoding']).toBeUndefined();
  expect((await bytes(`${base}/`, GZIP)).headers['content-encoding']).toBeUndefined();
  for (const path of ['/assets/b.js', '/assets/', '/assets/..%2F..%2F..%2Fetc%2Fpasswd', '/assets/%00'])
    expect([path, (await bytes(base + path, GZIP)).status >= 400]).toEqual([path, true]);
});

it('packs nothing on the computer itself', async () => {
  const base = await at('127.0.0.1');
  expect((await bytes(`${base}/assets/a-1x.js`, GZIP)).headers['content-encoding']).toBeUndefined();
  expect((await answer(`${base}/api/stream`, GZIP)).headers['content-encoding']).toBeUndefined();
});

it('packs the stream so that every event is out at once', async () => {
  const base = await at('0.0.0.0');
  const res = await answer(`${base}/api/stream`, GZIP);
  expect(res.headers['content-encoding']).toBe('gzip');
  const events = res.pipe(createGunzip()).setEncoding('utf8')[Symbol.asyncIterator]();
  let seen = '';
  const until = async (text: string): Promise<void> => {
    while (!seen.includes(text)) seen += (await events.next()).value;
  };
  await until('event: state');
  for (let n = 0; n < 3; n++) {
    api.emit('samples', { rpm: { t: [n], v: [700 + n] } });
    await until(`"v":[${700 + n}]`); // with nothing sent behind it
  }
  res.destroy();
});
