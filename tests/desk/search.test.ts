/** The search for a car as the page shows it: told from the wire alone, on ports that fail in each way. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { type Clock, ManualClock } from '../../src/core/clock.ts';
import { HandbackError } from '../../src/core/errors.ts';
import { asIs } from '../../src/core/says.ts';
import type { SearchView } from '../../src/desk/api.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { SearchLog } from '../../src/desk/search.ts';
import type { LinkFactory } from '../../src/link/link.ts';
import { pipePair } from '../../src/link/pipe.ts';
import { simLinkFactory } from '../../src/sim/bench.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';

let library: string;
let clock: ManualClock;
let daemon: Daemon;

beforeEach(() => {
  library = mkdtempSync(join(tmpdir(), 'handback-search-'));
  clock = new ManualClock(1e9);
  daemon = new Daemon({ clock, library, linkFactory: (link) => PORTS[link]!(clock) });
});
afterEach(async () => {
  await settle(daemon.close());
  rmSync(library, { recursive: true, force: true });
});

/** What lies behind the port: nothing at all, something that babbles, a car with its ignition off, a car. */
const PORTS: Record<string, (clock: Clock) => LinkFactory & { close?(): void }> = {
  gone: () => ({
    name: '/dev/ttyGone',
    baudRates: [],
    open: () =>
      Promise.reject(
        new HandbackError('link.open', asIs('There is no port.'), { hint: asIs('Plug it in.') }),
      ),
  }),
  silent: (c) => behind(c, () => undefined),
  babbling: (c) => behind(c, () => Uint8Array.from([0x80, 0xff, 0x41, 0x07])),
  off: (c) => {
    const vehicle = createVehicle({});
    Object.defineProperty(vehicle, 'ignition', { value: false });
    return simLinkFactory({ vehicle, clock: c });
  },
  car: (c) => simLinkFactory({ vehicle: createVehicle({}), clock: c }),
};

function behind(c: Clock, answer: (bytes: Uint8Array) => Uint8Array | undefined): LinkFactory {
  return {
    name: '/dev/ttyX0',
    baudRates: [38_400, 115_200],
    async open() {
      const [near, far] = pipePair(c, '/dev/ttyX0');
      far.listen((e) => {
        const back = e.kind === 'data' ? answer(e.bytes) : undefined;
        if (back) void far.write(back);
      });
      return near;
    },
  };
}

async function settle<T>(promise: Promise<T>): Promise<T | unknown> {
  let ended = false;
  const kept = promise.then(
    (value) => value,
    (thrown: unknown) => thrown,
  );
  void kept.then(() => {
    ended = true;
  });
  while (!ended) await clock.advance(50);
  return kept;
}

const search = (): SearchView => daemon.state().connection.search!;
const after = async (link: string): Promise<SearchView> => {
  await settle(daemon.connect({ link }));
  return search();
};

it('stops at the port when it does not open', async () => {
  const seen = await after('gone');
  expect(seen).toMatchObject({
    stage: 'port',
    failed: { sentence: 'There is no port.', hint: 'Plug it in.' },
    tries: [],
  });
});

it('stops at the adapter when nothing answers, with every try told', async () => {
  const seen = await after('silent');
  expect(seen.stage).toBe('adapter');
  expect(seen.failed?.sentence).toBe('Nothing answers on /dev/ttyX0.');
  expect(seen.tries.length).toBeGreaterThanOrEqual(4);
  for (const t of seen.tries) {
    expect(t.what).toMatch(/^\/dev\/ttyX0 at (38400|115200) bit\/s$/);
    expect(t.heard).toBeNull();
    expect(t.result).not.toBeNull();
  }
  expect(seen.tries[0]!.sent).toBe('is anybody there, is there an echo');
});

it('shows what came back where it is no adapter', async () => {
  const seen = await after('babbling');
  expect(seen.stage).toBe('adapter');
  expect(seen.tries[0]!.heard).toContain('··A·');
  expect(Math.max(...seen.tries.map((t) => t.heard?.length ?? 0))).toBeLessThanOrEqual(60);
});

it('stops at the car when its ignition is off', async () => {
  const seen = await after('off');
  expect(seen.stage).toBe('vehicle');
  expect(seen.failed?.hint).toMatch(/ignition/i);
});

it('tells what a car of the newer services was asked', () => {
  const log = new SearchLog();
  const sent = (line: string) => {
    log.event({ kind: 'tx', tUs: 1, bytes: Buffer.from(`${line}\r`) });
    return log.view().tries[0]!.sent;
  };
  log.event({ kind: 'link', tUs: 0, state: 'opened', text: 'a port' });
  sent('ATI');
  expect(log.view().stage).toBe('adapter');
  expect(sent('22F400')).toContain('which values do you offer');
  expect(log.view().stage).toBe('vehicle');
  expect(sent('22F8021')).toContain('who are you');
  expect(sent('t7DF80322F80200000000')).toContain('who are you');
});

it('is through when values come, and forgotten on disconnecting', async () => {
  const seen = await after('car');
  expect(seen.stage).toBe('values');
  expect(seen.failed).toBeNull();
  expect(seen.tries).toHaveLength(1);
  await settle(daemon.disconnect());
  expect(daemon.state().connection.search).toBeNull();
});

it('can be stopped, and the port is free for another search', async () => {
  const first = daemon.connect({ link: 'silent' }).catch((thrown: unknown) => thrown);
  await clock.advance(300);
  expect(daemon.state().connection.phase).toBe('connecting');
  expect(search().tries).toHaveLength(1);
  await settle(daemon.disconnect());
  expect(await settle(first)).toBeInstanceOf(HandbackError);
  expect(daemon.state().connection).toMatchObject({ phase: 'disconnected', search: null });
  expect((await after('car')).stage).toBe('values');
});

it('keeps a bounded number of tries, whatever a port does', () => {
  const log = new SearchLog();
  for (let i = 0; i < 500; i++) {
    log.event({ kind: 'link', tUs: i, state: 'opened', text: `try ${i}` });
    log.event({ kind: 'tx', tUs: i, bytes: Uint8Array.from([65, 84, 73, 13]) });
    log.event({ kind: 'rx', tUs: i, bytes: new Uint8Array(5000).fill(65) });
  }
  const { tries } = log.view();
  expect(tries).toHaveLength(60);
  expect(tries.at(-1)).toEqual({
    what: 'try 499',
    says: { sent: { id: 'asked.adapter', args: {} } },
    sent: 'who are you (ATI)',
    heard: 'A'.repeat(60),
    result: null,
  });
});
