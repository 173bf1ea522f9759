/** Run as a program of its own by crash.test.ts: records until it is killed, saying what is on the disk by now. */
import { open } from 'node:fs/promises';
import { systemClock } from '../../src/core/clock.ts';
import { createRun } from '../../src/run/library.ts';

const folder = process.argv[2] ?? '';
let written = 0;
let handedOver = 0;
const run = await createRun({
  where: { folder },
  purpose: 'other',
  tool: 'test',
  clock: systemClock,
  openFile: async (path) => {
    const handle = await open(path, 'wx');
    return {
      write: async (bytes, position) => {
        handedOver += Buffer.from(bytes).toString('latin1').split(' rx ').length - 1;
        return (await handle.write(bytes, 0, bytes.length, position)).bytesWritten;
      },
      sync: async () => {
        const now = handedOver;
        await handle.datasync();
        process.stdout.write(`${now}\n`);
      },
      close: () => handle.close(),
    };
  },
});
setInterval(() => {
  for (let i = 0; i < 20; i++) {
    run.capture.wire({ kind: 'rx', tUs: systemClock.nowUs(), bytes: Buffer.from(String(written)) });
    written++;
  }
}, 1);
