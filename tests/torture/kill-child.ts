/** Run as a program of its own by kills.ts: daemons that record in real time until they are killed; tells what the car sent. */
import { writeSync } from 'node:fs';
import { join } from 'node:path';
import { systemClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { simLinkFactory } from '../../src/sim/bench.ts';
import { steadyCar } from './steady-car.ts';

const [root = '', count = '1'] = process.argv.slice(2);
const tell = (line: object): void => {
  writeSync(1, `${JSON.stringify(line)}\n`);
};

for (let i = 0; i < Number(count); i++) {
  const library = join(root, `library-${i}`);
  let recording = false;
  const daemon = new Daemon({
    clock: systemClock,
    library,
    linkFactory: () =>
      simLinkFactory({
        vehicle: steadyCar(() => systemClock.nowUs() / 1e6 + 7 * i),
        clock: systemClock,
        front: 'slcan',
        pace: null,
        responseMs: 20,
        seed: i,
        onAnswer: (a) => {
          if (recording) tell({ i, tUs: a.tUs, hex: Buffer.from(a.response).toString('hex') });
        },
      }),
  });
  await daemon.open();
  await daemon.connect({ link: 'steady', adapter: 'slcan' });
  recording = true;
  const run = await daemon.startRun({ purpose: 'other' });
  tell({ i, run: join(library, run.id) });
}
tell({ ready: true });
