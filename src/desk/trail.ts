/** Remembers what the live views of a run said, so that a page opened late can draw engagements and bands. */
import { behind } from '../words/spelled.ts';
import type { LiveView } from '../words/views.ts';
import type { RunTrail } from './api.ts';
import { pushNewest } from './newest.ts';

/** Of one pull. A bound, chosen by hand. */
const MAX_BAND_POINTS = 600;

type Engagement = RunTrail['engagements'][number];
type Corridor = RunTrail['corridor'][number];
type Baro = RunTrail['baro'][number];
/** A barometric pressure that moves by less is the same, kPa: a quarter of a sensor's step. By definition. */
const SAME_BARO_KPA = 0.25;
interface Band {
  t: number[];
  lowKpa: number[];
  highKpa: number[];
}

const NO_CHARGER = 'boost.view.no-charger';

/** Of the views of a run what holds until the next: the coolant corridor, the barometric pressure, the driver's demand. */
export class Levels {
  readonly corridor: Corridor[] = [];
  readonly baro: Baro[] = [];
  demand: string | null = null;

  /** @returns what is new; null: nothing */
  add(view: LiveView): Pick<RunTrail, 'corridor' | 'baro' | 'demand'> | null {
    const corridor = this.#addCorridor(view);
    const baro = this.#addBaro(view);
    const demand = this.demand !== view.boost.demandName;
    this.demand = view.boost.demandName;
    if (!corridor && !baro && !demand) return null;
    return { corridor: corridor ? [corridor] : [], baro: baro ? [baro] : [], demand: this.demand };
  }

  #addBaro(view: LiveView): Baro | null {
    const { baroKpa } = view.boost;
    if (behind(view.boost, 'sentence')?.id === NO_CHARGER) return null; // its manifold has a pressure of its own, and no boost
    const known = this.baro.at(-1);
    if (baroKpa === null || (known && Math.abs(known.kpa - baroKpa) < SAME_BARO_KPA)) return null;
    const baro = { fromS: view.tS, kpa: baroKpa };
    pushNewest(this.baro, baro);
    return baro;
  }

  #addCorridor(view: LiveView): Corridor | null {
    const range = view.coolant.corridorC;
    const known = this.corridor.at(-1);
    if (!range || (known && known.lowC === range[0] && known.highC === range[1])) return null;
    const corridor = { fromS: view.tS, lowC: range[0], highC: range[1] };
    pushNewest(this.corridor, corridor);
    return corridor;
  }
}

/** And what is drawn of each pull. */
export class Trail {
  #engagements: Engagement[] = [];
  #expected: Band[] = [];
  #levels = new Levels();
  #pulling = false;
  #lastS = Number.NEGATIVE_INFINITY;
  #latest: LiveView | null = null;

  /** Takes in one live view; returns what is new in it, or null. A view older than the last starts afresh. */
  add(view: LiveView): RunTrail | null {
    if (view.tS < this.#lastS) this.reset();
    this.#lastS = view.tS;
    this.#latest = view;
    const engagement = this.#addEngagement(view.boost.last);
    const band = this.#addExpected(view);
    const levels = this.#levels.add(view);
    if (!engagement && !band && !levels) return null;
    return {
      engagements: engagement ? [engagement] : [],
      expected: band ? [band] : [],
      ...(levels ?? { corridor: [], baro: [], demand: this.#levels.demand }),
    };
  }

  whole(): RunTrail {
    const { corridor, baro, demand } = this.#levels;
    return { engagements: this.#engagements, expected: this.#expected, corridor, baro, demand };
  }

  /** The newest view of this run, for a page that has just come. */
  latest(): LiveView | null {
    return this.#latest;
  }

  reset(): void {
    this.#engagements = [];
    this.#expected = [];
    this.#levels = new Levels();
    this.#pulling = false;
    this.#lastS = Number.NEGATIVE_INFINITY;
    this.#latest = null;
  }

  #addEngagement(last: Engagement | null): Engagement | null {
    const known = this.#engagements.at(-1);
    if (!last || (known && known.fromS === last.fromS && known.toS === last.toS && known.held === last.held))
      return null;
    if (known?.fromS === last.fromS) this.#engagements.pop();
    pushNewest(this.#engagements, last);
    return last;
  }

  #addExpected(view: LiveView): Band | null {
    const range = view.boost.expectedKpa;
    if (!view.boost.pulling || !range) {
      this.#pulling = false;
      return null;
    }
    if (!this.#pulling) pushNewest(this.#expected, { t: [], lowKpa: [], highKpa: [] });
    this.#pulling = true;
    const band = this.#expected.at(-1);
    if (!band || band.t.length >= MAX_BAND_POINTS || band.t.at(-1) === view.tS) return null;
    band.t.push(view.tS);
    band.lowKpa.push(range[0]);
    band.highKpa.push(range[1]);
    return band;
  }
}
