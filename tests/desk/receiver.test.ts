/** A satellite receiver as a second link: recorded, replayed and judged the same, whatever comes and goes. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { isReceiverSignal, type Sample } from '../../src/core/signals.ts';
import { ComparedRuns } from '../../src/desk/compared-runs.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { ReceiverDesk } from '../../src/desk/receiver-desk.ts';
import type { LinkFactory } from '../../src/link/link.ts';
import { pipePair } from '../../src/link/pipe.ts';
import { withoutPlace } from '../../src/nmea/sentence.ts';
import { check } from '../../src/run/check.ts';
import { openRecording, readRun } from '../../src/run/recording.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'handback-receiver-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** Drives and records; `live` is what the page was sent, "signal t v". */
async function drive(link: string, seconds: number, receiver: string | null = 'sim') {
  const clock = new ManualClock();
  const daemon = new Daemon({ clock, library: folder });
  const live: string[] = [];
  daemon.subscribe((event, data) => {
    if (event !== 'samples') return;
    for (const [signal, { t, v }] of Object.entries(data as Record<string, { t: number[]; v: number[] }>))
      for (const [i, at] of t.entries()) live.push(`${signal} ${Math.round(at * 1e6)} ${v[i]}`);
  });
  try {
    if (receiver !== null) await clock.until(daemon.useReceiver({ port: receiver }));
    await clock.until(daemon.connect({ link }));
    await clock.advance(5000);
    const before = daemon.state().receiver ?? null;
    const run = await clock.until(daemon.startRun({ purpose: 'other' }));
    await clock.advance(seconds * 1000);
    await clock.until(daemon.stopRun());
    return { path: join(folder, run.id), live, before };
  } finally {
    await clock.until(daemon.close());
  }
}

const CAR = 'sim:petrol?route=hill&seed=3&front=slcan&answer=90';
const inOrder = async (path: string): Promise<Sample[]> => {
  const out: Sample[] = [];
  await readRun(path, (s) => out.push(s));
  return out;
};

it('live and replay are the same to the last digit, in order of time, with both links going', async () => {
  const { path, live, before } = await drive(
    `${CAR}&receiver=10&receiver-fault=checksums=0.1&receiver-fault=noise=0.1&receiver-fault=tunnel=25`,
    60,
  );
  expect(before).toMatchObject({ port: 'sim', phase: 'fix', satellites: 9 });
  const replayed = await inOrder(path);
  expect(replayed.map((s) => `${s.signal} ${s.tUs} ${s.value}`).sort()).toEqual(live.sort());
  for (let i = 1; i < replayed.length; i++)
    expect(replayed[i]!.tUs).toBeGreaterThanOrEqual(replayed[i - 1]!.tUs);
  const heights = replayed.filter((s) => s.signal === 'gnss_height_m');
  expect(heights.length).toBeGreaterThan(150);
  // In the tunnel it says that it has no fix, and nothing else.
  const inside = replayed.filter((s) => isReceiverSignal(s.signal) && s.tUs > 30e6 && s.tUs < 55e6);
  expect(new Set(inside.map((s) => `${s.signal} ${s.value}`))).toEqual(
    new Set(['gnss_quality 0', 'gnss_satellites 0']),
  );
  expect(await check(path)).toMatchObject({ ok: true });
  expect((await openRecording(path)).gaps).toEqual([]);
});

it('a capture with a receiver says by its version that an older program cannot read it', async () => {
  const text = (path: string): string => readFileSync(join(path, 'capture.txt'), 'utf8');
  const withOne = text((await drive(`${CAR}&receiver=1`, 20)).path);
  expect(withOne).toMatch(/^handback-capture 2\n/);
  expect(withOne).toMatch(/\n0 receiver heard "sim"\n/);
  expect(withOne).toMatch(/\n\d+ nmea "\$GPGGA,/);
  const without = text((await drive(CAR, 20, null)).path);
  expect(without).toMatch(/^handback-capture 1\n/);
  expect(without).not.toContain('nmea');
});

it('of two that are asked for at once the later one is listened to, and no port stays open', async () => {
  const clock = new ManualClock();
  const desk = new ReceiverDesk(clock);
  const open = new Set<string>();
  const factoryOf = (name: string): LinkFactory => ({
    name,
    baudRates: [],
    async open() {
      open.add(name);
      const [near] = pipePair(clock, name);
      return { ...near, name, listen: (on) => near.listen(on), close: async () => void open.delete(name) };
    },
  });
  await clock.until(desk.use('first', factoryOf));
  await clock.until(Promise.all([desk.use('second', factoryOf), desk.use('third', factoryOf)]));
  await clock.advance(100);
  expect([...open]).toEqual(['third']);
  await clock.until(desk.close());
  expect([...open]).toEqual([]);
});

it('a receiver that is not there costs nothing, and one that appears is heard', async () => {
  const clock = new ManualClock();
  const daemon = new Daemon({ clock, library: folder });
  try {
    // Its receiver is not aboard yet: the simulated car is only connected later.
    await clock.until(daemon.useReceiver({ port: 'sim' }));
    await clock.advance(5000);
    expect(daemon.state().receiver).toMatchObject({ phase: 'searching' });
    expect(daemon.state().receiver!.sentence).toContain('plugged in while recording');
    await clock.until(daemon.connect({ link: CAR }));
    const run = await clock.until(daemon.startRun({ purpose: 'other' }));
    await clock.advance(10_000);
    await expect(daemon.useReceiver({ port: null })).rejects.toMatchObject({ code: 'run.busy' });
    await clock.until(daemon.stopRun());
    const samples = await inOrder(join(folder, run.id));
    expect(samples.length).toBeGreaterThan(100);
    expect(samples.some((s) => isReceiverSignal(s.signal))).toBe(false);
  } finally {
    await clock.until(daemon.close());
  }
});

it('receiver and adapter are not looked for on one port', async () => {
  const daemon = new Daemon({ clock: new ManualClock(), library: folder });
  await daemon.useReceiver({ port: '/dev/nothing-here' });
  await expect(daemon.connect({ link: '/dev/nothing-here' })).rejects.toMatchObject({ code: 'input.usage' });
  await daemon.close();
});

it('recorded runs of the same road are matched on it when compared, and not once their places were left out', async () => {
  const link = 'sim:twin-charged?route=warm-road-test&front=slcan&receiver=1&answer=60';
  const [before, after] = [await drive(`${link}&seed=1`, 50), await drive(`${link}&seed=2`, 50)];
  const compare = () =>
    new ComparedRuns(folder).compare({
      before: [basename(before.path)],
      after: [basename(after.path)],
      comeBack: [],
    });
  const whole = await compare();
  expect(whole.sameRoad!.before.matched).toBeGreaterThan(0);
  expect(whole.sameRoad!.after.matched).toBeGreaterThan(0);
  expect(whole.power).not.toBeNull();
  const path = join(after.path, 'capture.txt');
  const text = readFileSync(path, 'utf8');
  const left = text.replace(/(?<= nmea )(".*")$/gm, (line) =>
    JSON.stringify(withoutPlace(JSON.parse(line)) ?? ''),
  );
  expect(left).not.toBe(text);
  writeFileSync(path, left);
  const without = await compare();
  expect(without.sameRoad).toBeNull();
  expect(without.power).toEqual(whole.power);
  expect(without.points).toEqual(whole.points);
});
