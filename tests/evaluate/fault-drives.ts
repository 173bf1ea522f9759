/**
 * `npm run drives`: each fault of the simulated vehicle, driven whole, recorded through a real pseudo-terminal and
 * judged from its capture. Adapter and recorder share a clock that runs faster, so slopes stay right.
 *
 *   npm run drives -- [--factor K] [--route NAME] [--front at|slcan] [--pace BAUD] [--seed N] [--out DIR] [FAULT[=V]]…
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { sleep, systemClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { check } from '../../src/run/check.ts';
import { servePty } from '../../src/sim/bench.ts';
import { faultOf } from '../../src/sim/demos.ts';
import { createVehicle, FAULTS } from '../../src/sim/vehicle/vehicle.ts';
import type { Finding } from '../../src/words/views.ts';
import { fasterClock } from '../sim/faster-clock.ts';

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    factor: { type: 'string', default: '4' },
    route: { type: 'string', default: 'road-test' },
    front: { type: 'string', default: 'at' },
    pace: { type: 'string', default: '115200' },
    seed: { type: 'string', default: '1' },
    /** Keeps the runs. */
    out: { type: 'string' },
  },
});
const faults = positionals.length > 0 ? positionals : ['none', ...FAULTS.map((f) => f.name)];
const clock = fasterClock(systemClock, Number(values.factor));
const folder = values.out ?? mkdtempSync(join(tmpdir(), 'handback-drives-'));

console.log('| fault | boost | coolant | faults named, when spoken (s) | samples/s | reopened | capture |');
console.log('|---|---|---|---|---|---|---|');
for (const fault of faults) console.log(await drive(fault));
if (values.out === undefined) rmSync(folder, { recursive: true, force: true });

async function drive(fault: string): Promise<string> {
  const vehicle = createVehicle({
    route: values.route,
    faults: fault === 'none' ? [] : [faultOf(fault)],
    seed: Number(values.seed),
  });
  const bench = await servePty({
    vehicle,
    clock,
    front: values.front === 'slcan' ? 'slcan' : 'at',
    pace: Number(values.pace),
    seed: Number(values.seed),
  });
  const library = join(folder, fault);
  const daemon = new Daemon({ clock, library });
  try {
    await daemon.connect({ link: bench.port });
    const run = await daemon.startRun({
      purpose: 'verification',
      profile: { induction: 'twin-charged', fuel: 'petrol' },
    });
    await sleep(clock, vehicle.route.lengthS * 1000);
    const counters = daemon.counters();
    await daemon.stopRun();
    const { judgement } = (await daemon.run(run.id)).value;
    const capture = (await check(join(library, run.id))).ok ? 'whole' : 'DAMAGED';
    const named = judgement.findings.filter((f) => f.verdict === 'fault shown').map(told);
    const { boost, coolant } = judgement.systems;
    return row(
      fault,
      boost.verdict,
      coolant.verdict,
      named.join('; ') || '–',
      Math.round(counters?.perSecond ?? 0),
      counters?.reopened ?? 0,
      capture,
    );
  } catch (thrown) {
    return row(fault, '–', '–', `not driven: ${String(thrown)}`, '–', '–', '–');
  } finally {
    await daemon.close();
    await bench.close();
  }
}

function told(f: Finding): string {
  return `${f.id}${f.pointsTo === null ? '' : `: ${f.pointsTo}`} @${f.saidAtS?.toFixed(0) ?? '–'}`;
}

function row(...cells: readonly (string | number)[]): string {
  return `| ${cells.join(' | ')} |`;
}
