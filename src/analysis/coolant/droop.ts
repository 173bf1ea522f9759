/** How far heat beyond that of the plateau raises the coolant: the droop of the thermostat, learned in the run. */

/**
 * A thermostat opens further for more heat, and wants warmer coolant for it: so many °C for each time the heat at which
 * the plateau was learned (common practice: 2 to 4 °C between light and full load), until the run has taught how much.
 * The prior weighs like so many steps at one unit of excess.
 */
const PRIOR_C = 5;
const PRIOR_STEPS = 24;

/** Ridge regression through the origin: distance from the plateau, °C, on excess demand. */
export class Droop {
  #sum = PRIOR_C * PRIOR_STEPS;
  #weight = PRIOR_STEPS;

  /** °C per unit of excess demand. */
  get perUnit(): number {
    return this.#sum / this.#weight;
  }

  /** One quiet step. A climb may not teach more than the prior. */
  teach(excess: number, d: number): void {
    this.#sum += Math.min(PRIOR_C * excess, Math.max(0, d)) * excess;
    this.#weight += excess ** 2;
  }
}
