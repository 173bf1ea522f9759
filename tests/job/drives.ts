/** Short recorded runs with a VIN in them, for the tests of jobs. */
import { ManualClock } from '../../src/core/clock.ts';
import { createRun, type NewRun } from '../../src/run/library.ts';

export const VIN = '00HBTRNW18T000017';

/** Twenty seconds: who the car is, then engine speed and coolant once a second; closed. */
export async function shortRun(
  where: NewRun['where'],
  purpose: NewRun['purpose'] = 'verification',
  wallMs = Date.UTC(2026, 2, 3, 8),
) {
  const clock = new ManualClock(9_000_000, wallMs);
  const run = await createRun({ where, purpose, tool: 'test', clock, vehicle: 'Practice estate', vin: VIN });
  const event = { tUs: clock.nowUs() };
  run.capture.wire({ kind: 'dialect', ...event, dialect: { family: 'at', bus: 'can11', headers: true } });
  const ask = async (request: string, answers: readonly string[]) => {
    const payload = Buffer.from(request, 'hex');
    run.capture.wire({ kind: 'request', tUs: clock.nowUs(), payload, ecu: null });
    run.capture.wire({ kind: 'tx', tUs: clock.nowUs(), bytes: Buffer.from(`${request}\r`) });
    await clock.advance(40);
    run.capture.wire({ kind: 'rx', tUs: clock.nowUs(), bytes: Buffer.from(`${answers.join('\r')}\r\r>`) });
    run.capture.wire({ kind: 'done', tUs: clock.nowUs(), outcome: 'answered' });
  };
  const hex = Buffer.from(VIN).toString('hex').toUpperCase();
  await ask('0902', [
    `7E8101449 0201${hex.slice(0, 6)}`.replace(' ', ''),
    `7E821${hex.slice(6, 20)}`,
    `7E822${hex.slice(20)}`,
  ]);
  await ask('22F802', [
    `7E8101462F802${hex.slice(0, 6)}`,
    `7E821${hex.slice(6, 20)}`,
    `7E822${hex.slice(20)}`,
  ]);
  for (let i = 0; i < 20; i++) {
    await ask('010C', [`7E804410C${(4 * (800 + i)).toString(16).toUpperCase().padStart(4, '0')}`]);
    await ask('0105', ['7E803410582']);
    await clock.advance(920);
  }
  run.capture.mark('N', `noise gone, seen on ${VIN}`);
  return run.close();
}
