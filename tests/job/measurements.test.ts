/** Measurements by hand: offered by what was repaired, said in a reader's units, printed where there are any. */
import { basename, join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import type { Leg } from '../../src/analysis/types.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { offeredMeasures } from '../../src/core/hand-measures.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import type { NewMeasurement } from '../../src/desk/jobs-api.ts';
import { Context } from '../../src/sheet/context.ts';
import { renderSheet } from '../../src/sheet/render.ts';
import { METRIC } from '../../src/words/measures.ts';
import { scratch } from '../run/files.ts';
import { gathered, jobIn, OPTIONS } from '../sheet/jobs.ts';

const library = join(scratch(), 'library');
const daemon = new Daemon({ clock: new ManualClock(0, Date.UTC(2026, 2, 5, 9)), library });
afterAll(() => daemon.close());

const measured = (m: Partial<NewMeasurement>): NewMeasurement => ({
  what: 'other',
  name: '',
  value: null,
  unit: '',
  heldMin: null,
  low: null,
  high: null,
  source: '',
  result: 'note',
  when: 'after',
  who: '',
  text: '',
  ...m,
});

describe('what is offered', () => {
  it('goes by the words of the repair in both languages, and leaves nothing out', () => {
    for (const [work, first] of [
      ['Coolant pump', 'cooling-pressure'],
      ['Kühlmittelpumpe', 'cooling-pressure'],
      ['Magnetkupplung', 'clutch-coil'],
      ['Ladeluftschlauch', 'charge-pipes'],
    ] as const)
      expect(offeredMeasures([work]).first).toContain(first);
    expect(offeredMeasures(['Seat cover']).first).toEqual([]);
    const { first, others } = offeredMeasures(['Belt']);
    expect(new Set([...first, ...others]).size).toBe(14);
    expect(first).not.toContain('torque');
  });
});

describe('measurements on the sheet', () => {
  it('stand with unit, expectation, result, time and person; parts, labour and the rest only where there are any', async () => {
    const folder = await jobIn(library, { drives: [{ purpose: 'verification', seconds: 60 }] });
    const bare = renderSheet(await gathered(folder), OPTIONS);
    for (const absent of ['Measurements by hand', 'Next check', 'Telephone', 'Odometer out', 'warranty'])
      expect(bare).not.toContain(absent);
    const id = basename(folder);
    await daemon.jobs.measure(
      id,
      measured({
        what: 'cooling-pressure',
        value: 120,
        unit: 'kPa',
        heldMin: 10,
        low: 100,
        source: 'handbook',
        result: 'pass',
        who: 'A. <i>',
      }),
    );
    await daemon.jobs.measure(
      id,
      measured({ what: 'clutch-voltage', value: 11.94, unit: 'V', result: 'fail' }),
    );
    await daemon.jobs.measure(
      id,
      measured({ what: 'torque', name: 'pump bolts', value: 12, unit: 'Nm', high: 14 }),
    );
    await daemon.jobs.change(id, {
      parts: [{ name: 'Pump', number: '06-17', warranty: '24 months' }],
      labour: 'Bled twice',
      nextCheck: 'after 1000 km',
      odometerOutKm: 148_260,
      workshopPhone: '000 17',
    });
    // What was not sent stays as it was.
    const { job } = await daemon.jobs.change(id, { plate: 'X' });
    expect([job.labour, job.parts.length, job.measurements.length]).toEqual(['Bled twice', 1, 3]);
    const sheet = renderSheet(await gathered(folder), { ...OPTIONS, units: { ...METRIC, pressure: 'bar' } });
    for (const text of [
      '1.200\u00a0bar, held for 10 min',
      'at least 1.000\u00a0bar (handbook)',
      'A. &lt;i&gt;',
      '11.94\u00a0V',
      'Tightening torque: pump bolts',
      'at most 14\u00a0Nm',
      'after 1000 km',
      '24 months',
      'Bled twice',
      '148,260\u00a0km',
      '000 17',
    ])
      expect(sheet).toContain(text);
    const german = renderSheet(await gathered(folder), { ...OPTIONS, language: 'de' });
    for (const text of [
      'Kühlsystem hält Druck',
      'mindestens 100\u00a0kPa',
      'nicht bestanden',
      'Nächste Prüfung',
    ])
      expect(german).toContain(text);
    expect(await daemon.jobs.handOverNow(id)).toMatchObject({
      whole: 'fault',
      doubts: expect.arrayContaining(['measured-fail']),
    });
    await daemon.jobs.measure(
      id,
      measured({ what: 'clutch-voltage', value: 12.6, unit: 'V', result: 'pass' }),
    );
    expect((await daemon.jobs.handOverNow(id)).doubts).not.toContain('measured-fail');
  });

  it('of both vents answer the heater check as well as feeling does, and not from before the work', async () => {
    const folder = await jobIn(library, { drives: [] });
    const id = basename(folder);
    const leg = { leg: 'heater-check', covered: true } as Leg;
    const answered = async () => new Context(await gathered(folder), OPTIONS).driven(leg);
    const vents = async (when: 'before' | 'after') => {
      for (const what of ['vent-idle', 'vent-2000'] as const)
        await daemon.jobs.measure(id, measured({ what, value: 55, unit: 'degC', when }));
    };
    expect(await answered()).toBe(false);
    await vents('before');
    expect(await answered()).toBe(false);
    await vents('after');
    expect(await answered()).toBe(true);
  });
});
