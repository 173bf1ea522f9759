/**
 * A sequential test for "the coolant rises more than a healthy circuit lets it", with a guaranteed rate of false
 * alarms (an e-detector: J. Shin, A. Ramdas, A. Rinaldo, "E-detectors: a nonparametric framework for sequential
 * change detection", 2022; the recursion is the Shiryaev–Roberts one).
 *
 * Each step brings x = rise since the last step + pull × (excess over the plateau − allowance). While the circuit
 * is healthy the mean of x, given the past, is not above zero, and x is sub-Gaussian with SIGMA_C. Then
 * exp(λx − λ²SIGMA²/2) has mean ≤ 1, the sum over all possible starts of the fault is an e-detector, and the mean
 * number of healthy steps before it passes the bound is at least that bound, whatever the distribution.
 */

const SIGMA_C = 0.45;
const LAMBDAS = [0.8, 1.6, 3];
/** ln of 2000 hours of five-second steps. */
const LOG_BOUND = Math.log((2000 * 3600) / 5);
/** Keeps the statistic finite, and lets it forget an alarm within minutes. */
const LOG_CAP = LOG_BOUND + 10;

export class SequentialTest {
  readonly #logM = LAMBDAS.map(() => Number.NEGATIVE_INFINITY);

  step(x: number): void {
    for (let i = 0; i < LAMBDAS.length; i++) {
      const lambda = LAMBDAS[i]!;
      const m = this.#logM[i]!;
      // ln(1 + e^m), then the new factor.
      const sum = m > 0 ? m + Math.log1p(Math.exp(-m)) : Math.log1p(Math.exp(m));
      this.#logM[i] = Math.min(LOG_CAP, sum + lambda * x - (lambda * SIGMA_C) ** 2 / 2);
    }
  }

  reset(): void {
    this.#logM.fill(Number.NEGATIVE_INFINITY);
  }

  /** Evidence as a share of what an alarm needs: 1 and above is an alarm, below 0 is none at all. */
  share(): number {
    const top = Math.max(...this.#logM);
    if (top === Number.NEGATIVE_INFINITY) return -1;
    const mean = this.#logM.reduce((s, m) => s + Math.exp(m - top), 0) / LAMBDAS.length;
    return (top + Math.log(mean)) / LOG_BOUND;
  }
}
