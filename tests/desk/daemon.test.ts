/** The whole thread in process: simulated car, adapter, session, capture, judge; then the recording again. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { Judge, judgeTable } from '../../src/analysis/judge.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { HandbackError } from '../../src/core/errors.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { exportTable } from '../../src/run/export.ts';
import { openRecording } from '../../src/run/recording.ts';
import { simLinkFactory } from '../../src/sim/bench.ts';
import { SIM_DEMOS, simOptionsOf, simProfileOf } from '../../src/sim/demos.ts';
import { spelled } from '../../src/words/spelled.ts';
import type { Spoken } from '../../src/words/views.ts';

const folder = mkdtempSync(join(tmpdir(), 'handback-daemon-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const settle = <T>(clock: ManualClock, promise: Promise<T>): Promise<T> => clock.until(promise);

async function drive(link: string, seconds: number, library: string) {
  const clock = new ManualClock();
  const daemon = new Daemon({ clock, library });
  const spoken: Spoken[] = [];
  daemon.subscribe((event, data) => {
    if (event === 'spoken') spoken.push(data as Spoken);
  });
  await settle(clock, daemon.connect({ link }));
  const run = await settle(clock, daemon.startRun({ purpose: 'verification' }));
  await clock.advance(seconds * 1000);
  const live = daemon.liveSeries(1e9);
  const mark = await daemon.mark({ key: 'N', text: 'noise gone' });
  const summary = await settle(clock, daemon.stopRun());
  const view = (await daemon.run(summary.id)).value;
  await settle(clock, daemon.close());
  return { run, summary, view, live, spoken, mark };
}

describe('a drive through the daemon', () => {
  it('gives the same samples and findings live, in replay and through an exported table', async () => {
    const library = join(folder, 'same');
    const d = await drive('sim:twin-charged?route=warm-road-test&fault=clutch-never-closes', 110, library);
    expect(d.summary.closed).toBe(true);
    expect(d.view.marks).toEqual([d.mark]);

    const recording = await openRecording(join(library, d.run.id));
    expect(recording.warnings).toEqual([]);
    expect(d.view.warnings).toEqual([]);
    expect(d.view.judgement).toEqual(
      spelled(judgeTable(recording.table, recording.profile ?? {}, null, d.run.id)),
    );
    for (const [signal, series] of Object.entries(d.live)) {
      const again = recording.table.series(signal);
      expect([...again.tS].slice(0, series.t.length)).toEqual(series.t);
      expect([...again.value].slice(0, series.v.length)).toEqual(series.v);
    }
    expect(Object.keys(d.live).length).toBeGreaterThan(10);

    const profile = recording.profile ?? {};
    const replayed = new Judge(profile, null);
    const said = [...recording.table].flatMap((s) => replayed.push(s));
    expect(spelled(said.slice(0, d.spoken.length))).toEqual(d.spoken);
    expect(d.spoken.length).toBeGreaterThan(0);
    const judgement = replayed.finish(d.run.id);
    expect(judgement.systems.boost.verdict).toBe('fault shown');

    for (const to of ['csv', 'parquet'] as const) {
      const file = join(folder, `same.${to}`);
      await exportTable(recording.table, to, file);
      const imported = await openRecording(file);
      expect(judgeTable(imported.table, profile, null, d.run.id)).toEqual(judgement);
    }
  });

  it('gives the same samples in replay where characters are garbled and answers come late', async () => {
    const library = join(folder, 'garbled');
    const d = await drive('sim:turbo-diesel?route=hill&front=slcan&quirk=garble&seed=5', 35, library);
    const { table } = await openRecording(join(library, d.run.id));
    for (const [signal, series] of Object.entries(d.live)) {
      const again = table.series(signal);
      expect([...again.tS].slice(0, series.t.length)).toEqual(series.t);
      expect([...again.value].slice(0, series.v.length)).toEqual(series.v);
    }
    expect(d.live.map_kpa!.t.length).toBeGreaterThan(100);
  });

  it('refuses a second run, a run without a vehicle, and leaving while it records', async () => {
    const clock = new ManualClock();
    const daemon = new Daemon({ clock, library: join(folder, 'refusals') });
    await expect(daemon.startRun({ purpose: 'other' })).rejects.toMatchObject({ code: 'link.lost' });
    await expect(daemon.connect({ link: 'sim:no-such-car' })).rejects.toBeInstanceOf(HandbackError);
    await settle(clock, daemon.connect({ link: 'sim' }));
    await settle(clock, daemon.startRun({ purpose: 'other' }));
    await expect(daemon.startRun({ purpose: 'other' })).rejects.toMatchObject({ code: 'run.busy' });
    await expect(daemon.disconnect()).rejects.toMatchObject({ code: 'run.busy' });
    await settle(clock, daemon.close());
    expect((await daemon.runs()).map((r) => r.closed)).toEqual([true]);
  });

  it('starts one run and stops it once when a button is pressed twice', async () => {
    const clock = new ManualClock();
    const daemon = new Daemon({ clock, library: join(folder, 'twice') });
    await settle(clock, daemon.connect({ link: 'sim' }));
    const started = await settle(
      clock,
      Promise.allSettled([
        daemon.startRun({ purpose: 'other' }),
        daemon.startRun({ purpose: 'other' }),
        daemon.disconnect(),
        daemon.connect({ link: 'sim' }),
      ]),
    );
    expect(started.map((s) => s.status)).toEqual(['fulfilled', 'rejected', 'rejected', 'rejected']);
    for (const s of started.slice(1))
      expect(s).toMatchObject({ reason: expect.objectContaining({ code: 'run.busy' }) });
    await clock.advance(2000);
    const [first, second] = await settle(clock, Promise.all([daemon.stopRun(), daemon.stopRun()]));
    expect(second).toEqual(first);
    await settle(clock, daemon.close());
    expect(await daemon.runs()).toEqual([first]);
  });

  it('keeps one session when connecting and disconnecting overlap', async () => {
    const clock = new ManualClock();
    let open = 0;
    const daemon = new Daemon({
      clock,
      library: join(folder, 'overlap'),
      linkFactory: (name, c) => {
        const factory = simLinkFactory({ ...simOptionsOf(name), clock: c });
        open++;
        return {
          ...factory,
          name: factory.name,
          baudRates: factory.baudRates,
          open: (options) => factory.open(options),
          close: () => {
            open--;
            factory.close();
          },
        };
      },
    });
    const both = await settle(
      clock,
      Promise.allSettled([daemon.connect({ link: 'sim' }), daemon.connect({ link: 'sim' })]),
    );
    expect(both.map((b) => b.status)).toEqual(['rejected', 'fulfilled']);
    expect(open).toBe(1);
    await settle(clock, Promise.all([daemon.disconnect(), daemon.connect({ link: 'sim' })]));
    expect(daemon.state().connection).toMatchObject({ phase: 'connected', link: 'sim' });
    expect(open).toBe(1);
    await settle(clock, daemon.close());
    expect(open).toBe(0);
  });
});

it('refuses a library that another daemon holds, and takes it when that one has ended', async () => {
  const library = join(folder, 'one-at-a-time');
  const clock = new ManualClock();
  const first = new Daemon({ clock, library });
  const second = new Daemon({ clock, library });
  expect(await first.open()).toEqual([]);
  await expect(second.open()).rejects.toMatchObject({
    code: 'run.busy',
    message: expect.stringContaining('Another Handback is using the library'),
  });
  await settle(clock, second.connect({ link: 'sim' }));
  await expect(second.startRun({ purpose: 'other' })).rejects.toMatchObject({ code: 'run.busy' });
  await first.close();
  await settle(clock, second.startRun({ purpose: 'other' }));
  await settle(clock, second.close());
});

describe('the simulated cars that the page offers', () => {
  it.each(SIM_DEMOS.map((d) => d.link))('%s exists and brings its profile', (link) => {
    expect(simOptionsOf(link).vehicle.supported).toContain('map_kpa');
    expect(simProfileOf(link)).not.toBeNull();
  });
});
