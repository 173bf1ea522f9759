/** What is a matter of the recording is no fault of the vehicle. */
import { expect, it } from 'vitest';
import type { Finding } from '../../src/analysis/types.ts';
import { faultsBeside } from '../../src/sheet/whole.ts';

it('a signal that comes late is none of the faults that are handed over', () => {
  const fault = (id: string) => ({ id, system: 'sensor', verdict: 'fault shown' }) as Finding;
  const findings = [fault('sensor.late'), fault('sensor.map_kpa')];
  const ids = faultsBeside({ judgement: null, findings }, 'sensor').map((f) => f.id);
  expect(ids).toEqual(['sensor.map_kpa']);
});
