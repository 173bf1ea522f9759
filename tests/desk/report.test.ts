/** The file to send when something is wrong: it tells what happened, and not whose car it was. */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { homedir, tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { House } from '../../src/desk/house.ts';
import { LogTail, reportOf } from '../../src/desk/report.ts';
import { createJob } from '../../src/job/library.ts';

const LINK = 'sim:twin-charged?front=at';
const VIN = /00HBTRNW18T000017/;
/** The same as an adapter prints it: hexadecimal, over lines, with or without spaces. */
const VIN_IN_ANSWERS = /30\s*30\s*48\s*42|54\s*52\s*4E\s*57|30\s*30\s*30\s*30\s*31\s*37/i;

let library: string;
beforeEach(() => {
  library = mkdtempSync(join(tmpdir(), 'handback-report-'));
});
afterEach(() => rmSync(library, { recursive: true }));

it('holds versions, log, connection and what the adapter said; no VIN, plate, name or folder', async () => {
  const clock = new ManualClock(0, Date.UTC(2026, 2, 5, 9));
  const fields = {
    plate: 'PRA-C1',
    technician: 'A. Trainee',
    workshop: 'Practice workshop',
    reference: 'R-2001',
    vin: 'XHB00000000000042',
  };
  const { job, folder } = await createJob(library, { vehicle: 'Tarnwick', ...fields }, clock);
  mkdirSync(join(folder, 'run'));
  writeFileSync(join(folder, 'run', 'run.json'), '{'); // one that cannot be read
  const daemon = new Daemon({ clock, library });
  const tail = new LogTail();
  tail.write(
    `broken: ${folder}/run.json of pra c1 (${fields.vin}), A.Trainee, ${job.id}\nin ${homedir()}/x: EIO\n`,
  );
  const house = new House({
    daemon,
    library,
    changeable: false,
    end: () => undefined,
    log: () => tail.lines(),
  });
  try {
    await clock.until(daemon.connect({ link: LINK }));
    expect(daemon.state().connection.vehicle?.vin).toMatch(VIN); // so there is something to leave out
    await clock.advance(3000);
    const text = await house.report();
    const report = JSON.parse(text) as Record<string, never> & {
      transcript: string[];
      log: string[];
    };
    expect(report).toMatchObject({
      format: 'handback.report/1',
      program: { node: process.version },
      computer: { platform: process.platform },
      library: { format: 0, jobs: 1, runs: 0, notReadable: 1 },
      connection: { phase: 'connected', link: LINK, vinTold: true },
    });
    // the wire: setting the adapter up, the first answer of the car, and where the VIN was asked a gap
    const wire = report.transcript.join('\n');
    expect(wire).toMatch(/> ATZ|> ATI/);
    expect(wire).toMatch(/request 0100\n/);
    expect(wire).toMatch(/< .*41 ?00/);
    expect(wire).toMatch(/request 0902[\s\S]*bytes left out/);
    expect(wire).toMatch(/link identified/);
    // the log: what broke, not whose it was
    expect(report.log).toHaveLength(2);
    expect(report.log[0]).toMatch(/^broken: .*\(left out\)/);
    expect(report.log[1]).toMatch(/EIO$/);
    const heard = report.transcript.map((line) => /< (.*)$/.exec(line)?.[1] ?? '').join('');
    const flat = heard.replace(/\\[rn]/g, '');
    for (const told of [flat, text.slice(0, text.indexOf('"transcript"'))])
      expect(VIN_IN_ANSWERS.exec(told)?.[0]).toBeUndefined();
    for (const secret of [VIN, /XHB0/, /pra.?c1/i, /Trainee/, /R-2001/, /tarnwick-/, /practice workshop/i])
      expect(secret.exec(text)?.[0]).toBeUndefined();
    expect(text).not.toContain(library);
    if (homedir().length > 1) expect(text).not.toContain(homedir());
  } finally {
    await clock.until(daemon.close());
  }
});

it('is made where nothing runs, and of a library that is not there', async () => {
  const at = new Date(Date.UTC(2026, 2, 5));
  const text = await reportOf({ library: join(library, 'none'), at, state: null, transcript: [], log: [] });
  expect(JSON.parse(text)).toMatchObject({ connection: null, library: { format: 0, jobs: 0 }, log: [] });
});
