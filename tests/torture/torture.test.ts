/** The short version of `npm run torture`. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { startServer } from '../../src/server/server.ts';
import { PATIENCE_MS } from '../patience.ts';
import { FakeDaemon } from '../server/fake-daemon.ts';
import { attack } from './attacks.ts';
import { FAULTS, trials } from './faults.ts';
import { kills } from './kills.ts';
import { ADAPTERS, loseCharacters } from './loss.ts';
import { powerLoss } from './power.ts';
import { soak } from './soak.ts';
import { tamper } from './tamper.ts';

it('a power cut loses at most a second, whatever of the unsynced reached the disk', async () => {
  const r = await powerLoss(1.5, 0.12);
  expect(r.broken).toEqual([]);
  expect(r.states).toBeGreaterThan(60);
  expect(r.worstS).toBeLessThanOrEqual(1);
});

it('killed recorders lose nothing of what the car sent but the last moment', async () => {
  const child = resolve(import.meta.dirname, 'kill-child.ts');
  const r = await kills([process.execPath, '--import', 'tsx', child], 2, 3, PATIENCE_MS / 1000);
  expect(r.broken).toEqual([]);
  expect(r.kills).toBe(6);
  expect(r.answers).toBeGreaterThan(0);
});

it('check sees every change to a closed run', async () => {
  const r = await tamper(149);
  expect(r.missed).toEqual([]);
  expect(r.tried).toBeGreaterThan(150);
  expect(r.placed / r.inCapture).toBeGreaterThan(0.95);
});

it.each(ADAPTERS)(
  'characters lost on the line put no other than reading requests on the bus: $name',
  async (adapter) => {
    for (const share of [0.0005, adapter.front === 'at' ? 0.02 : 0.001]) {
      const r = await loseCharacters(adapter, share, 600, 3);
      expect(r.forbidden).toEqual([]);
      expect(r.values).toBeGreaterThan(10);
      if (adapter.front === 'at') expect(r.nothing + r.astray).toBe(0);
    }
  },
);

it.each(['at', 'slcan'] as const)(
  '%s, minutes of faults of all kinds: nothing wrong, nothing forbidden',
  async (front) => {
    const s = await soak(front, 0.08, 5);
    expect(s.wrong).toEqual([]);
    expect(s.forbidden).toEqual([]);
    expect(Object.values(s.faults).reduce((a, b) => a + b)).toBeGreaterThan(4);
    expect(s.perSecond).toBeGreaterThan(0.95 * s.limitPerSecond);
  },
);

it('each attack on the server gets the answer it should', async () => {
  const webRoot = mkdtempSync(join(tmpdir(), 'handback-attacks-'));
  writeFileSync(join(webRoot, 'index.html'), '<!doctype html><title>page</title>');
  const clock = new ManualClock();
  const api = new FakeDaemon({ clock });
  const server = await startServer({ api, host: '127.0.0.1', port: 0, webRoot, clock });
  try {
    const answers = await attack('127.0.0.1', Number(new URL(server.url).port));
    expect(answers.filter((a) => !a.held)).toEqual([]);
    expect(api.calls.filter((c) => !c.startsWith('mark'))).toEqual([]);
  } finally {
    await server.close();
    rmSync(webRoot, { recursive: true });
  }
});

describe('a recording goes on through', () => {
  it.each(FAULTS.map((f) => [f.fault, f] as const))('%s', async (_, fault) => {
    expect((await trials(fault, 1)).broken).toEqual([]);
  });
});
