/** Judges the drives of tests/judged with the judge whose path comes, until one is judged otherwise than by the product as it is. */
import { pathToFileURL } from 'node:url';
import type { Sample } from '../../src/core/signals.ts';
import { isThere } from '../evaluate/coolant-drives.ts';
import { type Case, held, type Judging, open, simulated } from '../judged/cases.ts';
import type { Judged } from './drives.ts';

interface Ready {
  readonly ready: Case;
  readonly as: string;
}

/** Those that noticed something last come first. */
const order: (Case | Ready)[] = [...simulated(), ...(isThere('trip-60') ? open() : [])];

/** With its samples in memory, and judged as the product is. */
function ready(c: Case): Ready {
  const samples: readonly Sample[] = [...c.samples()];
  const teachers = c.teachers();
  const ready: Case = { ...c, samples: () => samples, teachers: () => teachers };
  return { ready, as: held(ready).hash };
}

function noticedBy(judging: Judging): string | null {
  for (const [k, x] of order.entries()) {
    const one = 'ready' in x ? x : ready(x);
    order[k] = one;
    let hash: string;
    try {
      ({ hash } = held(one.ready, judging));
    } catch {
      hash = 'thrown';
    }
    if (hash === one.as) continue;
    order.splice(k, 1);
    order.unshift(one);
    return one.ready.name;
  }
  return null;
}

process.on('message', async (path: string) => {
  let judged: Judged = { otherwise: 'it cannot be loaded' };
  try {
    const otherwise = noticedBy((await import(pathToFileURL(path).href)) as Judging);
    judged = otherwise === null ? 'as before' : { otherwise };
  } catch {}
  process.send!(judged);
});
process.on('disconnect', () => process.exit());
