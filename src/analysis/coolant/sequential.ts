/**
 * Sequential tests with a guaranteed rate of false alarms: e-detectors (J. Shin, A. Ramdas, A. Rinaldo, "E-detectors:
 * a nonparametric framework for sequential change detection", 2022), with the Shiryaev–Roberts recursion.
 *
 * Each step brings x, whose mean, given the past, is not above zero while the circuit is healthy, and which is
 * sub-Gaussian with `sigma` over a block of steps. Then exp(λx − λ²sigma²/2) has mean ≤ 1, the sum over all possible
 * starts of the fault is an e-detector, and the mean number of healthy blocks before it passes the bound is at least
 * the bound, whatever the distribution. Several λ are averaged, which keeps that true.
 */
import { BIN_S } from './bins.ts';

export interface TestShape {
  readonly sigma: number;
  readonly lambdas: readonly number[];
  /** Steps that count as one independent observation. */
  readonly block: number;
  /** Mean healthy time between false alarms, at least. */
  readonly hours: number;
}

/** How far beyond its bound the logarithm may go: it forgets an alarm within minutes. Not known how chosen. */
const BEYOND_BOUND = 10;

export class SequentialTest {
  readonly #shape: TestShape;
  readonly #logM: number[];
  readonly #logBound: number;

  constructor(shape: TestShape) {
    this.#shape = shape;
    this.#logM = shape.lambdas.map(() => Number.NEGATIVE_INFINITY);
    this.#logBound = Math.log((shape.hours * 3600) / (BIN_S * shape.block));
  }

  step(x: number): void {
    const { lambdas, sigma, block } = this.#shape;
    for (let i = 0; i < lambdas.length; i++) {
      const lambda = lambdas[i]!;
      const m = this.#logM[i]!;
      // ln(start + e^m), where a block of steps adds up to one new start; then the new factor.
      const start = 1 / block;
      const sum = m > 0 ? m + Math.log1p(start * Math.exp(-m)) : Math.log(start + Math.exp(m));
      // The cap keeps the statistic finite, and lets it forget an alarm within minutes.
      this.#logM[i] = Math.min(
        this.#logBound + BEYOND_BOUND,
        sum + (lambda * x - (lambda * sigma) ** 2 / 2) / block,
      );
    }
  }

  reset(): void {
    this.#logM.fill(Number.NEGATIVE_INFINITY);
  }

  /** Evidence as a share of what an alarm needs: 1 and above is an alarm, below 0 is none at all. */
  share(): number {
    const top = Math.max(...this.#logM);
    if (top === Number.NEGATIVE_INFINITY) return -1;
    const mean = this.#logM.reduce((s, m) => s + Math.exp(m - top), 0) / this.#logM.length;
    return (top + Math.log(mean)) / this.#logBound;
  }
}
