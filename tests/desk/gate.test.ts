/**
 * Whatever is asked of the daemon over HTTP, in whatever order, nothing but reading requests reaches the adapter, and
 * service 04 only behind its guard. Judged by what stood on the wire and by the car's own log, read here anew.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { clearCodes } from '../../src/cli/clear-codes.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import type { Link } from '../../src/link/link.ts';
import { CLEAR_WORDS } from '../../src/poll/gate.ts';
import { startServer } from '../../src/server/server.ts';
import { simLinkFactory } from '../../src/sim/bench.ts';
import { steadyCar } from '../torture/steady-car.ts';

const READS = [0x01, 0x02, 0x03, 0x06, 0x07, 0x09, 0x0a];

/** Services in lines that were written to an adapter, by the dialects' own rules and not by the gate's. */
function servicesIn(written: string, front: 'at' | 'slcan'): number[] {
  return written.split('\r').flatMap((line) => {
    const text = line.replaceAll(' ', '');
    // a text adapter takes a line of hex digits for a request, and nothing else
    if (front === 'at') return /^[0-9A-Fa-f]{2,}$/.test(text) ? [Number.parseInt(text.slice(0, 2), 16)] : [];
    const frame = /^(?:T[0-9A-F]{8}|t[0-9A-F]{3})([0-9A-F])([0-9A-F]*)$/.exec(text);
    if (!frame) return [];
    const kind = Number.parseInt(frame[2]!.slice(0, 1), 16);
    if (kind === 3) return []; // flow control
    // a single frame; the first of several would be a long request, which no reading service has
    return [kind === 0 ? Number.parseInt(frame[2]!.slice(2, 4), 16) : -1];
  });
}

class Car {
  rpm = 0;
  speedKmh = 0;
  cleared = 0;
  /** Requests that a control unit took, by its own log. */
  readonly taken: number[] = [];
  written = '';
  readonly vehicle;

  constructor(clock: ManualClock) {
    const car = steadyCar(() => clock.nowUs() / 1e6);
    this.vehicle = {
      ...car,
      timeS: 0,
      signal: (name: string) =>
        name === 'rpm' ? this.rpm : name === 'speed_kmh' ? this.speedKmh : car.signal(name),
      clearCodes: () => {
        this.cleared++;
        return this.rpm === 0;
      },
    };
  }
}

type Step =
  | { readonly kind: 'call'; readonly method: string; readonly path: string; readonly body: string }
  | { readonly kind: 'drive'; readonly rpm: number; readonly speedKmh: number }
  | { readonly kind: 'clear'; readonly typed: string };

const hostileText = fc.constantFrom(
  '04',
  '3E00',
  '2E F1 90',
  '1101',
  '\r04\r',
  'ATSH7E0\r04',
  '31010203',
  't7DF10104',
);
const anyBody = fc.oneof(
  fc.constantFrom(
    '{}',
    '{"when":"before"}',
    '{"when":"after"}',
    '{"purpose":"other"}',
    '{"key":"N","text":"04"}',
  ),
  fc
    .record({
      link: fc.oneof(fc.constant('car'), hostileText),
      adapter: fc.constantFrom('auto', 'at', 'slcan'),
    })
    .map((o) => JSON.stringify(o)),
  fc
    .dictionary(
      fc.constantFrom('payload', 'service', 'request', 'bytes', 'signals', 'purpose', 'key', 'text'),
      hostileText,
    )
    .map((o) => JSON.stringify(o)),
  fc.json(),
);
const anyPath = fc.oneof(
  fc.constantFrom(
    'state',
    'connect',
    'disconnect',
    'run',
    'run/stop',
    'marks',
    'jobs',
    'jobs/JOB',
    'jobs/JOB/snapshots',
    'jobs/JOB/observations',
    'jobs/JOB/snapshots/listed',
    'jobs/import',
    'runs',
    'runs/RUN',
    'runs/RUN/series',
    'run/series',
    'ports',
    'request',
    'clear-codes',
    'codes',
    'jobs/JOB/sheet',
  ),
  hostileText.map((t) => encodeURIComponent(t)),
);
const connect = { kind: 'call', method: 'POST', path: 'connect', body: '{"link":"car"}' } as const;
const snapshot = {
  kind: 'call',
  method: 'POST',
  path: 'jobs/JOB/snapshots',
  body: '{"when":"before"}',
} as const;
const steps: fc.Arbitrary<Step> = fc.oneof(
  { weight: 3, arbitrary: fc.constantFrom<Step>(connect, connect, snapshot) },
  {
    weight: 8,
    arbitrary: fc.record({
      kind: fc.constant('call' as const),
      method: fc.constantFrom('GET', 'POST', 'POST', 'PUT', 'DELETE'),
      path: anyPath,
      body: anyBody,
    }),
  },
  {
    weight: 2,
    arbitrary: fc.record({
      kind: fc.constant('drive' as const),
      rpm: fc.constantFrom(0, 0, 850),
      speedKmh: fc.constantFrom(0, 0, 30),
    }),
  },
  {
    weight: 3,
    arbitrary: fc.record({
      kind: fc.constant('clear' as const),
      typed: fc.constantFrom(CLEAR_WORDS, CLEAR_WORDS, 'yes', ''),
    }),
  },
);

async function play(
  front: 'at' | 'slcan',
  sequence: readonly Step[],
): Promise<{ polled: number; clears: number }> {
  const home = mkdtempSync(join(tmpdir(), 'handback-gate-'));
  const clock = new ManualClock();
  const car = new Car(clock);
  const simulated = simLinkFactory({
    vehicle: car.vehicle,
    clock,
    front,
    pace: null,
    responseMs: 40,
    onAnswer: ({ request }) => car.taken.push(request[0] ?? -1),
  });
  const watched = (link: Link): Link => ({
    name: link.name,
    listen: (l) => link.listen(l),
    close: () => link.close(),
    write: (bytes) => {
      car.written += Buffer.from(bytes).toString('latin1');
      return link.write(bytes);
    },
  });
  const daemon = new Daemon({
    clock,
    library: join(home, 'library'),
    linkFactory: (name) => ({
      name,
      baudRates: [],
      open: async (how) => watched(await simulated.open(how)),
    }),
  });
  const server = await startServer({
    api: daemon,
    jobs: daemon.jobs,
    host: '127.0.0.1',
    port: 0,
    webRoot: home,
    clock,
  });
  const until = <T>(promise: Promise<T>): Promise<T | null> =>
    clock.until(
      promise.catch(() => null),
      50,
    );
  let permitted = 0;
  try {
    const headers = { 'x-handback': '1', 'content-type': 'application/json' };
    const post = { method: 'POST', headers, body: '{"vehicle":"Invented"}' };
    const made = await until(
      fetch(`${server.url}api/jobs`, post).then((r) => r.json() as Promise<{ id: string }>),
    );
    for (const step of sequence) {
      if (step.kind === 'drive') Object.assign(car, { rpm: step.rpm, speedKmh: step.speedKmh });
      else if (step.kind === 'call') {
        const path = step.path
          .replace('JOB', made?.id ?? 'none')
          .replace('RUN', daemon.state().run?.id ?? 'none');
        const body = step.method === 'GET' ? {} : { body: step.body };
        await until(
          fetch(`${server.url}api/${path}`, { method: step.method, headers, ...body }).then((r) => r.text()),
        );
      } else if (daemon.state().connection.phase === 'connected') {
        const rightly = step.typed === CLEAR_WORDS && car.rpm === 0 && car.speedKmh === 0;
        const before = car.cleared;
        await until(
          clearCodes(daemon.session, {
            library: home,
            clock,
            ask: async () => step.typed,
            tell: () => undefined,
            show: () => undefined,
          }),
        );
        if (rightly) permitted++;
        else expect(car.cleared, 'cleared without its guard').toBe(before);
      }
      await clock.advance(200);
    }
    const sent = servicesIn(car.written, front);
    expect(sent.filter((s) => s !== 4 && !READS.includes(s))).toEqual([]);
    expect(sent.filter((s) => s === 4).length).toBeLessThanOrEqual(permitted);
    expect(car.taken.filter((s) => s !== 4 && !READS.includes(s))).toEqual([]);
    return { polled: sent.length, clears: sent.filter((s) => s === 4).length };
  } finally {
    await server.close();
    await until(daemon.close());
    simulated.close();
    rmSync(home, { recursive: true, force: true });
  }
}

it.each(['at', 'slcan'] as const)(
  'no sequence of calls gets anything but reading to the car (%s)',
  async (front) => {
    let polled = 0;
    await fc.assert(
      fc.asyncProperty(fc.array(steps, { minLength: 4, maxLength: 14 }), async (sequence) => {
        polled += (await play(front, [connect, ...sequence])).polled;
      }),
      { numRuns: 6, seed: 11, endOnFailure: true },
    );
    expect(polled).toBeGreaterThan(200);
  },
  240_000,
);

it('codes are cleared once when all is as the guard wants it, and not once otherwise', async () => {
  const clear = { kind: 'clear', typed: CLEAR_WORDS } as const;
  const moving = { kind: 'drive', rpm: 0, speedKmh: 5 } as const;
  const running = { kind: 'drive', rpm: 850, speedKmh: 0 } as const;
  expect(await play('slcan', [connect, clear])).toMatchObject({ clears: 1 });
  expect(await play('at', [connect, moving, clear, running, clear])).toMatchObject({ clears: 0 });
});
