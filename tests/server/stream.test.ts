/** The live stream: everything in order for a quick page, the newest for a slow one, nothing lost that was spoken. */
import { EventEmitter } from 'node:events';
import type { ServerResponse } from 'node:http';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { StreamHub } from '../../src/server/stream.ts';
import type { Spoken } from '../../src/words/views.ts';
import { FakeDaemon } from './fake-daemon.ts';

/** A response whose socket is full whenever the test says so. */
class Socket extends EventEmitter {
  full = false;
  ended = false;
  readonly frames: { event: string; data: unknown }[] = [];
  writeHead(): void {}
  write(text: string): boolean {
    for (const part of text.split('\n\n').filter((p) => p !== '')) {
      const m = /^event: (\w+)\ndata: (.*)$/.exec(part);
      if (!m) throw new Error(`not a server-sent event: ${part}`);
      this.frames.push({ event: m[1]!, data: JSON.parse(m[2]!) });
    }
    return !this.full;
  }
  end(): void {
    this.ended = true;
    this.emit('close');
  }
  destroy(): void {
    this.end();
  }
  drain(): void {
    this.full = false;
    this.emit('drain');
  }
  take(): string[] {
    return this.frames.splice(0).map((f) => f.event);
  }
}

let clock: ManualClock;
let api: FakeDaemon;
let hub: StreamHub;
const join = (): Socket => {
  const socket = new Socket();
  if (!hub.add(socket as unknown as ServerResponse)) throw new Error('not let in');
  return socket;
};
const one = (t: number) => ({ rpm: { t: [t], v: [t * 10] } });
const said = { atS: 1, sentence: 's' } as unknown as Spoken;

beforeEach(() => {
  clock = new ManualClock();
  api = new FakeDaemon({ clock });
  hub = new StreamHub(api, clock);
});
afterEach(() => hub.close());

it('greets with its name and the state, then passes every event on in order', () => {
  const page = join();
  expect(page.take()).toEqual(['hello', 'state']);
  api.emit('samples', one(1));
  api.emit('spoken', said);
  api.emit('samples', one(2));
  expect(page.frames.map((f) => f.data)).toEqual([one(1), said, one(2)]);
});

it('beats, so that a page can tell silence from a cut', async () => {
  const page = join();
  page.take();
  await clock.advance(10_000);
  expect(page.take()).toEqual(['beat', 'beat']);
});

it('spares a slow page all but the newest, loses nothing spoken, and says so', () => {
  const page = join();
  page.take();
  page.full = true;
  api.emit('samples', one(1)); // this one fills the socket
  page.take();
  for (let t = 2; t < 5000; t++) api.emit('samples', one(t));
  api.emit('spoken', said);
  api.emit('state', api.state());
  api.emit('state', api.state());
  api.emit('mark', { tS: 3, key: 'N', text: '' });
  expect(page.frames).toEqual([]);
  page.drain();
  expect(page.frames.find((f) => f.event === 'samples')!.data).toEqual(one(4999));
  expect(page.take()).toEqual(['spoken', 'mark', 'state', 'samples', 'resync']);
  api.emit('samples', one(5000));
  expect(page.take()).toEqual(['samples']);
});

it('stays blocked when the flush itself fills the socket again', () => {
  const page = join();
  page.full = true;
  api.emit('samples', one(1));
  api.emit('samples', one(2));
  page.emit('drain'); // still full
  page.take();
  api.emit('samples', one(3));
  expect(page.take()).toEqual([]);
  page.drain();
  expect(page.take()).toEqual(['samples', 'resync']);
});

it('gives a page that nobody sees what is said, and the newest with each state; seen again, it fetches the rest', () => {
  const page = join();
  const other = join();
  const { page: name } = page.frames[0]!.data as { page: string };
  expect(hub.hide('00000000-0000-4000-8000-000000000000', true)).toBe(false);
  expect(hub.hide(name, true)).toBe(true);
  for (const p of [page, other]) p.take();
  for (let t = 1; t < 100; t++) api.emit('samples', one(t));
  for (const tS of [1, 2]) api.tell({ tS });
  api.emit('spoken', said);
  api.emit('mark', { tS: 3, key: 'N', text: '' });
  expect(page.take()).toEqual(['spoken', 'mark']);
  const whole = other.take();
  expect(['samples', 'view', 'spoken', 'mark'].map((e) => whole.filter((w) => w === e).length)).toEqual([
    99, 2, 1, 1,
  ]);
  api.emit('state', api.state());
  expect(page.frames.slice(1).map((f) => f.data)).toEqual([expect.objectContaining({ tS: 2 }), one(99)]);
  expect(page.take()).toEqual(['state', 'view', 'samples']);
  api.emit('state', api.state());
  expect(page.take()).toEqual(['state']);

  // Hidden and slow at once: nothing said is lost either.
  page.full = true;
  api.emit('state', api.state());
  page.take();
  api.emit('samples', one(100));
  api.emit('spoken', said);
  page.drain();
  expect(page.take()).toEqual(['spoken', 'samples']);

  api.emit('samples', one(101));
  expect(hub.hide(name, false)).toBe(true);
  expect(page.take()).toEqual(['samples', 'resync']);
  api.emit('samples', one(102));
  expect(page.take()).toEqual(['samples']);
  page.end();
  expect(hub.hide(name, true)).toBe(false);
});

it('one slow page does not hold up another', () => {
  const slow = join();
  const quick = join();
  slow.full = true;
  api.emit('samples', one(1));
  quick.take();
  api.emit('samples', one(2));
  expect(quick.take()).toEqual(['samples']);
});

it('cuts a page that has taken nothing for a minute, and one that lets too much wait', async () => {
  const stalled = join();
  stalled.full = true;
  api.emit('samples', one(1));
  await clock.advance(59_000);
  expect(stalled.ended).toBe(false);
  await clock.advance(10_000);
  expect(stalled.ended).toBe(true);
  const behind = join();
  behind.full = true;
  api.emit('samples', one(1));
  for (let i = 0; i < 202; i++) api.emit('spoken', said);
  expect(behind.ended).toBe(true);
});

it('lets in only so many pages, and another when one has gone', () => {
  const pages = Array.from({ length: 32 }, join);
  expect(join).toThrow();
  pages[0]!.end();
  expect(join).not.toThrow();
});

it('lets go of the daemon when closed', () => {
  const page = join();
  expect(api.listeners).toBe(1);
  hub.close();
  expect(api.listeners).toBe(0);
  expect(page.ended).toBe(true);
});

it('keeps a trail of engagements, bands and corridor for a page that comes late', async () => {
  await api.startRun({ purpose: 'other' });
  await clock.advance(230_000);
  const trail = hub.trail.whole();
  expect(trail.engagements.map((e) => e.held)).toEqual([true, true, false, true, true, true]);
  expect(trail.expected).toHaveLength(6);
  expect(trail.expected[0]!.t.length).toBeGreaterThan(20);
  expect(trail.corridor).toEqual([{ fromS: expect.closeTo(200, 0), lowC: 86, highC: 94 }]);
  const late = join();
  expect(late.take()).toEqual(['hello', 'state', 'view']);
  await api.stopRun();
  expect(hub.trail.whole().engagements).toHaveLength(6);
  await api.startRun({ purpose: 'other' });
  expect(hub.trail.whole().engagements).toEqual([]);
});

it('sends only what is new of the trail', async () => {
  await api.startRun({ purpose: 'other' });
  await clock.advance(15_900);
  const page = join();
  page.take();
  await clock.advance(200);
  const news = page.frames.find((f) => f.event === 'trail')!.data;
  expect(news).toEqual({
    engagements: [{ fromS: 10, toS: 16, held: true, text: 'Last engagement held.' }],
    expected: [],
    corridor: [],
    baro: [],
    demand: 'pedal_d_pct',
  });
});
