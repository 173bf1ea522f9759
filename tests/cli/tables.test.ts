/** Tables on the command line: whatever refuses one for its units takes the option that the refusal names; a sheet is of one drive. */
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { csvParts } from '../../src/run/export.ts';
import { SampleTable } from '../../src/signal/table.ts';
import { driveSamples } from '../analysis/vehicle.ts';
import { put, scratch } from '../run/files.ts';
import { argv, ROOT } from './program.ts';

const folder = scratch();
const driven = [...driveSamples({ vehicle: 'petrol', route: 'short', hz: 2 })];
/** From zero on, as the parts of a table count. */
const drive = driven.map((s) => ({ ...s, tUs: s.tUs - driven[0]!.tUs }));
const LASTS_S = drive.at(-1)!.tUs / 1e6;
const JUMP_S = 5 * 3600;

type Drive = typeof drive;
function written(name: string, samples: Drive): string {
  const table = new SampleTable();
  for (const s of samples) table.push(s);
  return put(folder, name, [...csvParts(table)].join(''));
}
const good = written('good.csv', drive);
const fahrenheit = written(
  'fahrenheit.csv',
  drive.map((s) => (s.signal === 'ect_c' ? { ...s, value: 32 + 1.8 * s.value } : s)),
);
const later = drive.map((s) => ({ ...s, tUs: s.tUs + (LASTS_S + JUMP_S) * 1e6 }));
const twice = written('twice.csv', [...drive, ...later]);

function handback(...args: readonly string[]) {
  const r = spawnSync(process.execPath, argv(...args), { cwd: ROOT, encoding: 'utf8' });
  return { status: r.status, out: r.stdout, err: r.stderr };
}

const out = (name: string): string => join(folder, name);
const sheet = (path: string, name: string, ...more: readonly string[]) => {
  const r = handback('sheet', path, '--out', out(name), ...more);
  return { ...r, html: r.status === 0 ? readFileSync(out(name), 'utf8') : '' };
};

describe('a table in degrees Fahrenheit', () => {
  it.each([
    ['judge', [fahrenheit]],
    ['compare', ['--before', fahrenheit, '--after', fahrenheit]],
    ['export', [fahrenheit, '--to', 'csv', '--out', out('exported.csv')]],
    ['sheet', [fahrenheit, '--out', out('fahrenheit.html')]],
    ['check', [fahrenheit]],
  ])('is refused by %s, which takes the option that it names', (command, args) => {
    const refused = handback(command, ...args);
    expect(refused.status).toBe(2);
    const [option = '', ...stated] =
      /State the units: (--unit) (ect_c=degF)\./.exec(refused.out + refused.err)?.slice(1) ?? [];
    expect([option, stated]).toEqual(['--unit', ['ect_c=degF']]);
    expect(handback(command, ...args, option, ...stated)).toMatchObject({ status: 0 });
  });

  it('gives the sheet of the same drive in degrees Celsius, but for its name and digest', () => {
    const plain = ({ html }: { html: string }) =>
      html.replaceAll(/fahrenheit\.csv|good\.csv/g, 'NAME').replaceAll(/[0-9a-f]{8,}|\d\d:\d\d(:\d\d)?/g, '');
    const stated = sheet(fahrenheit, 'stated.html', '--unit', 'ect_c=degF');
    expect(stated.err).not.toContain('Not as it was recorded');
    expect(plain(stated)).toBe(plain(sheet(good, 'good.html')));
  });
});

describe('a table whose time jumps', () => {
  it('gives no sheet until one of its drives is chosen', () => {
    const { status, err } = sheet(twice, 'twice.html');
    expect(status).toBe(2);
    expect(err).toContain('holds 2 drives');
    expect(err).toMatch(/--part 1 \(from 0:00 on\).*--part 2 \(from 5:\d\d:\d\d on\)/);
    const none = sheet(twice, 'twice.html', '--part', '3');
    expect([none.status, none.err]).toEqual([2, expect.stringContaining('there is no part 3')]);
  });

  it('has as many as judge tells apart, each with the sheet that it has alone', () => {
    expect(handback('judge', twice, '--json').out.trim().split('\n')).toHaveLength(2);
    const alone = sheet(good, 'alone.html');
    const plain = (html: string) =>
      html
        .replaceAll(/twice\.csv \([12]\/2\)|good\.csv/g, 'NAME')
        .replaceAll(/[0-9a-f]{8,}|\d\d:\d\d(:\d\d)?/g, '');
    for (const part of ['1', '2']) {
      const one = sheet(twice, `part-${part}.html`, '--part', part);
      expect(one.html).toContain(`twice.csv (${part}/2)`);
      expect(plain(one.html)).toBe(plain(alone.html));
    }
  });
});
