/** All pulls of a run, weighed for each region, and what neighbouring regions show only together. */
import type { Profile } from '../../core/profile.ts';
import { chargeMoved } from './air.ts';
import type { Baro } from './barometer.ts';
import { RegionEvidence } from './evidence.ts';
import type { BoostBaseline } from './lesson.ts';
import { hasClutch, regionsOf } from './regions.ts';
import { joinPatches, ShortfallScan } from './scan.ts';
import type { Stretch } from './stretches.ts';
import { type Witness, weigh } from './witness.ts';

/** A pull still being driven must have brought nothing for this long. Chosen by hand, not measured. */
const AHEAD_SPAN_S = 1.8;

export class RunEvidence {
  readonly regions: readonly RegionEvidence[];
  readonly #profile: Profile;
  readonly #baseline: BoostBaseline | null;
  /** Over all regions, where one machine makes the boost of all. */
  readonly #whole: ShortfallScan | null;

  constructor(profile: Profile, baseline: BoostBaseline | null) {
    this.#profile = profile;
    this.#baseline = baseline;
    this.regions = regionsOf(profile).map((r) => new RegionEvidence(r));
    this.#whole = hasClutch(profile) || this.regions.length < 2 ? null : new ShortfallScan();
  }

  take(stretch: Stretch, baro: Baro): readonly Witness[] {
    const witnesses: Witness[] = [];
    for (const r of this.regions) {
      const weighed = weigh(stretch, r.region, this.#profile, this.#baseline, baro);
      const { witness } = weighed;
      r.ahead = null;
      r.drove(weighed);
      if (witness === null) continue;
      r.add(witness);
      witnesses.push(witness);
    }
    const moved = chargeMoved(this.regions.flatMap((r) => r.witnesses));
    for (const r of this.regions) r.scan.moved = moved;
    if (this.#whole !== null) this.#whole.moved = moved;
    this.#share(witnesses);
    return witnesses;
  }

  /** A pull that is still being driven; true when it plainly brings nothing. */
  lookAhead(stretch: Stretch, baro: Baro): boolean {
    let missing = false;
    for (const r of this.regions) {
      const { witness: w } = weigh(stretch, r.region, this.#profile, this.#baseline, baro);
      if (w === null || !w.absent || w.doubtful || w.spanS < AHEAD_SPAN_S) continue;
      r.ahead = w;
      missing = true;
    }
    return missing;
  }

  /** A shortfall that only the regions together show is of each that lies down. */
  #share(witnesses: readonly Witness[]): void {
    this.#whole?.add(joinPatches(witnesses.map((w) => w.patches)));
    const shared = this.#whole?.strongest ?? null;
    const own = this.regions.some((r) => r.scan.strongest !== null);
    for (const r of this.regions) {
      const here = shared === null || own ? null : r.scan.over(shared);
      r.shared = here !== null && here.deviation < -here.limit ? shared : null;
    }
  }
}
