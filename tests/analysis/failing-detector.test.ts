/** A detector that fails is told by name, with what it was given: the next to read the message did not write it. */
import { expect, it } from 'vitest';
import { ChargingDetector } from '../../src/analysis/charging.ts';
import { Judge } from '../../src/analysis/judge.ts';

const rpm = { signal: 'rpm', tUs: 2_500_000, sentUs: 2_490_000, value: 800 };

/** With one method of the detector failing. */
function failing(method: 'step' | 'finish', work: () => void): void {
  const sound = ChargingDetector.prototype[method];
  ChargingDetector.prototype[method] = () => (undefined as never as { nothing: never }).nothing;
  try {
    work();
  } finally {
    ChargingDetector.prototype[method] = sound as never;
  }
}

it('names the detector, the signal and the time', () => {
  failing('step', () => {
    const judge = new Judge({}, null);
    expect(() => {
      judge.push(rpm);
      judge.finish('here');
    }).toThrow(/^ChargingDetector, with rpm at 2\.5 s, failed: .*nothing/);
  });
  failing('finish', () =>
    expect(() => new Judge({}, null).finish('here')).toThrow(
      /^ChargingDetector, at the end, failed: .*nothing/,
    ),
  );
});
