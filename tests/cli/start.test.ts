/** `handback start` where something is there already: another program on the port, Handback itself, one that is stuck. */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { createServer, type Server } from 'node:net';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { lockLibrary } from '../../src/run/lock.ts';
import { PATIENCE_MS } from '../patience.ts';
import { scratch } from '../run/files.ts';
import { argv, ROOT } from './program.ts';

/** Where `start` listens when nobody says otherwise. */
const PORT = 8017;

const children: ChildProcess[] = [];
const servers: Server[] = [];
afterAll(async () => {
  for (const child of children.splice(0))
    if (child.exitCode === null) {
      child.kill();
      await once(child, 'close');
    }
  for (const server of servers.splice(0)) server.close();
});

function start(library: string, ...more: string[]) {
  const child = spawn(process.execPath, argv('start', '--no-browser', '--library', library, ...more), {
    cwd: ROOT,
  });
  children.push(child);
  const seen = { out: '', err: '' };
  child.stdout.on('data', (d: Buffer) => (seen.out += d.toString()));
  child.stderr.on('data', (d: Buffer) => (seen.err += d.toString()));
  const ended = once(child, 'close').then(([code]) => code as number);
  return {
    seen,
    ended,
    says: (what: RegExp) => expect.poll(() => seen.out, { timeout: PATIENCE_MS }).toMatch(what),
  };
}

/** Takes connections and never says a word; on `port` where nobody else has it. */
async function mute(port: number): Promise<number | null> {
  const server = createServer((socket) => void socket.on('error', () => undefined));
  servers.push(server);
  server.listen(port, '127.0.0.1');
  return once(server, 'listening').then(
    () => (server.address() as { port: number }).port,
    () => null, // `once` rejects with what the server could not do
  );
}

/** Waits ten seconds for a library's holder that does not answer: begun first, told last. */
let stuck: ReturnType<typeof start>;
let mutePort: number;
const held = join(scratch(), 'held');
beforeAll(async () => {
  mutePort = (await mute(0))!;
  mkdirSync(held);
  const unlock = await lockLibrary(held);
  writeFileSync(join(held, 'address.json'), JSON.stringify({ url: `http://127.0.0.1:${mutePort}/` }));
  stuck = start(held);
  return unlock;
});

it('takes the next free port beside a program that never answers, and a second start finds the first', async () => {
  await mute(PORT); // or somebody else holds it: the same to us
  const library = join(scratch(), 'library');
  const first = start(library);
  await first.says(/^Handback is at http:\/\/127\.0\.0\.1:(\d+)\/\n/);
  const url = /http:\S+/.exec(first.seen.out)![0];
  expect(Number(new URL(url).port)).toBeGreaterThan(PORT);
  expect(first.seen.err).toContain(`Port ${PORT} is held by another`);
  const second = start(library);
  expect(await second.ended).toBe(0);
  expect(second.seen.out).toBe(`Handback runs already, at ${url}\n`);
});

it('keeps to a port that was asked for', async () => {
  const asked = start(join(scratch(), 'library'), '--port', String(mutePort));
  expect(await asked.ended).not.toBe(0);
  expect(asked.seen.err).toContain(String(mutePort));
});

it('gives up on a library whose holder does not answer', async () => {
  expect(await stuck.ended).not.toBe(0);
  expect([stuck.seen.out, stuck.seen.err]).not.toEqual(['', '']);
  expect(readFileSync(join(held, 'address.json'), 'utf8')).toContain(String(mutePort));
});
