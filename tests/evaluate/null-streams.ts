/** The guarantee of the sequential tests, tried: streams that just meet the assumption, and how often they alarm. */
import { BIN_S } from '../../src/analysis/coolant/bins.ts';
import { SequentialTest, type TestShape } from '../../src/analysis/coolant/sequential.ts';
import { seededRandom } from '../../src/core/random.ts';

export interface NullRate {
  readonly hours: number;
  readonly alarms: number;
}

/**
 * Mean zero and normal with the test's sigma in every block: the worst that the assumption allows. After an alarm the
 * test starts anew, as it does in the car.
 */
export function nullRate(shape: TestShape, hours: number, seed: string): NullRate {
  const random = seededRandom(`null/${seed}`);
  const test = new SequentialTest(shape);
  const blocks = Math.round((hours * 3600) / (BIN_S * shape.block));
  let alarms = 0;
  for (let k = 0; k < blocks; k++) {
    const x = shape.sigma * random.normal();
    for (let i = 0; i < shape.block; i++) test.step(x);
    if (test.share() < 1) continue;
    alarms++;
    test.reset();
  }
  return { hours, alarms };
}

/** A mean that shifts up by `shift` at once: hours until the alarm, averaged over `runs`. */
export function delayHours(shape: TestShape, shift: number, runs: number, seed: string): number {
  const random = seededRandom(`shift/${seed}`);
  let blocks = 0;
  for (let r = 0; r < runs; r++) {
    const test = new SequentialTest(shape);
    do {
      const x = shift + shape.sigma * random.normal();
      for (let i = 0; i < shape.block; i++) test.step(x);
      blocks++;
    } while (test.share() < 1);
  }
  return (blocks * shape.block * BIN_S) / 3600 / runs;
}
