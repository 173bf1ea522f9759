/** What is left beside a run when it ends: to the last byte what judging its capture anew gives, or nothing. */
import { existsSync, readFileSync, rmSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { beforeAll, describe, expect, it, vi } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import type { Sample } from '../../src/core/signals.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { LiveFindings } from '../../src/desk/live-findings.ts';
import { StoredRuns } from '../../src/desk/stored-runs.ts';
import { JUDGEMENT_FILE, SAMPLES_FILE } from '../../src/run/meta.ts';
import { Sealed } from '../../src/run/sealed.ts';
import { scratch } from '../run/files.ts';

const home = scratch();
const during = { signal: new AbortController().signal, progress: () => undefined };

beforeAll(() => {
  vi.stubEnv('XDG_CONFIG_HOME', join(home, 'settings'));
  return () => vi.unstubAllEnvs();
});

/** By key, as it lies there; null where there is no file. */
async function keptIn(folder: string): Promise<Map<string, string> | null> {
  const path = join(folder, JUDGEMENT_FILE);
  if (!existsSync(path)) return null;
  const { entries } = JSON.parse((await new Sealed().read(path))!) as {
    entries: { key: string; value: unknown }[];
  };
  return new Map(entries.map((e) => [e.key, JSON.stringify(e.value)]));
}

/** What is kept when nothing is known but the capture. */
async function keptAnew(library: string, folder: string): Promise<Map<string, string>> {
  for (const file of [JUDGEMENT_FILE, SAMPLES_FILE]) rmSync(join(folder, file), { force: true });
  await new StoredRuns(library, true).keep(during, folder.slice(dirname(folder).length + 1));
  return (await keptIn(folder))!;
}

/** Records runs of so many ms one after the other into a library; closing ends the last, and nobody else judges it. */
async function recorded(
  link: string,
  ms: readonly number[],
  {
    sinceBootMs,
    receiver = false,
  }: { sinceBootMs?: (clock: ManualClock) => number; receiver?: boolean } = {},
) {
  const clock = new ManualClock();
  const library = scratch();
  const folders: string[] = [];
  for (const length of ms) {
    const daemon = new Daemon({
      clock,
      library,
      keepJudged: true,
      fastRestUs: 0, // so that it is mostly stopped within an exchange
      ...(sinceBootMs ? { sinceBootMs: () => sinceBootMs(clock) } : {}),
    });
    if (receiver) await clock.until(daemon.useReceiver({ port: 'sim' }));
    await clock.until(daemon.connect({ link }));
    await clock.advance(700);
    const run = await clock.until(daemon.startRun({ purpose: 'verification' }));
    await clock.advance(length / 2);
    await daemon.mark({ key: 'N', text: 'Cabin air at idle: hot' });
    const second = await daemon.mark({ key: 'P', text: 'by mistake' });
    await daemon.editMark(run.id, {
      tS: second.tS,
      key: 'P',
      text: 'Is the fan running? yes',
      removed: false,
    });
    await clock.advance(length / 2);
    await clock.until(daemon.close());
    folders.push(join(library, run.id));
  }
  return { library, folders };
}

const linesOf = (folder: string): string[] => readFileSync(join(folder, 'capture.txt'), 'utf8').split('\n');
const endsInExchange = (folder: string): boolean => {
  const kinds = linesOf(folder).map((line) => line.split(' ')[1]);
  return kinds.lastIndexOf('request') > kinds.lastIndexOf('done');
};

describe('what the live judge found, left beside the run', () => {
  it.each([
    [
      'at, a fault shown',
      'sim:twin-charged?route=warm-road-test&fault=clutch-never-closes&answer=60',
      [110_000],
    ],
    ['at, bytes flipped and lost', 'sim:petrol?route=hill&quirk=garble&quirk=drop-bytes', [30_000]],
    ['at, link lost and found', 'sim:twin-charged?route=warm-road-test&quirk=stall', [60_000]],
    [
      'slcan, a fault shown',
      'sim:twin-charged?route=warm-road-test&fault=boost-leak=20&front=slcan&answer=60',
      [110_000],
    ],
    [
      'slcan, bytes flipped and lost',
      'sim:petrol?route=hill&front=slcan&quirk=garble&quirk=drop-bytes',
      [30_000],
    ],
    ['slcan, newer services', 'sim:twin-charged?route=warm-road-test&front=slcan&services=newer', [20_000]],
    ['at, stopped at odd moments', 'sim:petrol?route=hill', [4000.3, 4007, 4013.1, 4019.7, 4026.2, 4031]],
    ['slcan, stopped at odd moments', 'sim:petrol?route=hill&front=slcan', [4000.3, 4007, 4013.1, 4019.7]],
  ])('is what the capture gives: %s', async (name, link, ms) => {
    const { library, folders } = await recorded(link, ms);
    let inExchange = 0;
    for (const folder of folders) {
      const live = (await keptIn(folder))!;
      expect(live.size).toBe(1);
      if (endsInExchange(folder)) inExchange++;
      expect([...(await keptAnew(library, folder))]).toEqual([...live]);
      if (name.includes('fault shown')) expect([...live.values()].join()).toContain('"fault shown"');
    }
    if (name.includes('odd moments')) expect(inExchange).toBeGreaterThan(0);
    if (name.includes('bytes'))
      expect(linesOf(folders[0]!).filter((l) => l.includes(' done garbled')).length).toBeGreaterThan(5);
    if (name.includes('link lost')) expect(linesOf(folders[0]!).join('\n')).toMatch(/ link lost /);
  });

  it.each([
    [
      'a computer that slept',
      'sim:petrol?route=hill',
      (clock: ManualClock) => clock.nowUs() / 1000 + (clock.nowUs() > 5e6 ? 60_000 : 0),
    ],
    ['a receiver beside the car', 'sim:petrol?route=hill&receiver=5', undefined],
  ])('is nothing, and the capture is read: %s', async (_, link, sinceBootMs) => {
    const { library, folders } = await recorded(link, [10_000], {
      ...(sinceBootMs ? { sinceBootMs } : {}),
      receiver: link.includes('receiver='),
    });
    expect(await keptIn(folders[0]!)).toBeNull();
    expect((await keptAnew(library, folders[0]!)).size).toBe(1);
  });

  it('is believed for what taught it alone: another word on what teaches, and it is judged anew', async () => {
    const clock = new ManualClock(0, Date.UTC(2026, 2, 5, 9));
    const library = join(scratch(), 'library');
    const car = 'sim:twin-charged?route=warm-road-test&front=slcan&answer=90';
    const signals = ['rpm', 'speed_kmh', 'map_kpa', 'baro_kpa', 'ect_c', 'pedal_d_pct'];
    const begun = async (purpose: 'baseline' | 'verification', job: string, ms: number) => {
      const daemon = new Daemon({ clock, library, keepJudged: true });
      await clock.until(daemon.connect({ link: car, signals }));
      const { id } = await clock.until(daemon.startRun({ purpose, job }));
      await clock.advance(ms);
      return { daemon, id, folder: join(library, job, id) };
    };
    const desk = new Daemon({ clock, library });
    const { job } = await desk.jobs.create({ profile: { induction: 'twin-charged', fuel: 'petrol' } });
    await clock.until(desk.close());
    const before = await begun('baseline', job.id, 150_000);
    await clock.until(before.daemon.close());
    const driven = async (during: (daemon: Daemon) => Promise<unknown>) => {
      const { daemon, folder } = await begun('verification', job.id, 110_000);
      await during(daemon);
      await clock.until(daemon.close());
      const live = [...(await keptIn(folder))!.entries()];
      expect(live).toHaveLength(1);
      return { live: live[0]!, anew: await keptAnew(library, folder) };
    };
    const word = (daemon: Daemon, boost: boolean) =>
      daemon.jobs.setTeaching(job.id, before.id, { boost, coolant: false });
    const untaught = await driven(async (daemon) => word(daemon, true));
    expect(untaught.anew.get(untaught.live[0])).toBeUndefined();
    expect([...untaught.anew.values()]).not.toContain(untaught.live[1]);

    const taught = await driven((daemon) => daemon.jobs.change(job.id, { profile: { fuel: 'diesel' } }));
    expect(taught.live[1]).toContain('"boost.source.baseline"');
    expect(taught.anew.get(taught.live[0])).toBe(taught.live[1]);

    const unsaid = await driven((daemon) => word(daemon, false));
    expect(unsaid.live[1]).toContain('"boost.source.baseline"');
    expect(unsaid.anew.get(unsaid.live[0])).toBeUndefined();
  });
});

describe('the live judge', () => {
  const rpm = (tUs: number): Sample => ({ signal: 'rpm', tUs, sentUs: tUs, value: 900 });
  const counted = (findings: LiveFindings) =>
    findings
      .finish('run', { edits: [], answers: [] })
      ?.judgement.signals.map((s) => [s.name, s.count, s.toS]);

  it('does not judge what the capture did not take any more, and hears it when the disk refused the end', () => {
    const ended = new LiveFindings({}, null);
    const goesOn = new LiveFindings({}, null);
    for (const findings of [ended, goesOn]) {
      findings.take(rpm(1e6), true);
      findings.take(rpm(2e6), false);
      findings.take(rpm(3e6), false);
    }
    expect(counted(ended)).toEqual([['rpm', 1, 1]]);
    goesOn.take(rpm(4e6), true);
    expect(counted(goesOn)).toEqual([['rpm', 4, 4]]);
  });

  it('has found nothing that counts when times were out of order, a line was odd, or it failed', () => {
    const whole = (act: (findings: LiveFindings) => void): boolean => {
      const findings = new LiveFindings({}, null);
      findings.line('0 anchor start 2026-01-05T08:00:00.000Z');
      findings.take(rpm(1e6), true);
      act(findings);
      return findings.finish('run', { edits: [], answers: [] }) !== null;
    };
    expect(whole((f) => f.take(rpm(1e6), true))).toBe(true);
    expect(whole((f) => f.take(rpm(1e6 - 1), true))).toBe(false);
    expect(whole((f) => f.line('1000000 mark {"key":"N","text":"noise"}'))).toBe(true);
    expect(whole((f) => f.line('1000000 note "the wall clock was set back by 60 s"'))).toBe(false);
    expect(whole((f) => f.line('1000000 nmea "$GPGGA,,,,,,0,,,,,,,,*66"'))).toBe(false);
    expect(whole((f) => f.line('1000000 nothing known'))).toBe(false);
    expect(
      whole((f) => expect(() => f.take({ ...rpm(2e6), signal: null as unknown as string }, true)).toThrow()),
    ).toBe(false);
    expect(
      whole((f) => {
        const value = Symbol('no number') as unknown as number;
        f.take({ ...rpm(2e6), value }, true);
        f.take(rpm(3e6), true);
        expect(() => f.judged()).toThrow();
      }),
    ).toBe(false);
    const first = new LiveFindings({}, null);
    first.take(rpm(-1), true);
    expect(first.finish('run', { edits: [], answers: [] })).toBeNull();
  });
});
