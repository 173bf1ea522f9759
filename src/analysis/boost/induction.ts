/** How the engine looks to be charged, for a car whose profile does not say: a guess with its reason, never a verdict. */
import type { Says } from '../../core/says.ts';
import type { Baro } from './barometer.ts';
import { say } from './says.ts';
import type { Stretch } from './stretches.ts';

/** Full demand, %, from which the manifold shows what the engine has. Chosen by hand, not measured. */
const HIGH_DEMAND_PCT = 80;
/**
 * Gauge pressure that only a charger makes, and the most that ram air and sensors may show without one, kPa. Chosen
 * by hand, not measured.
 */
const CHARGED_KPA = 20;
const UNCHARGED_KPA = 6;
/** A belt-driven compressor answers within this, low down where a turbocharger takes seconds (KIT: t50 2.3 s). */
const PROMPT_S = 0.7;
const PROMPT_BELOW_RPM = 1700;
const KEEP_SEEN = 50;
/** A pull tells when it lasts so long; its boost has come at this share of its top. Not known how chosen. */
const TELLS_US = 1e6;
const COME_SHARE = 0.6;
/**
 * Without a charger: so many pulls that went beyond this speed, where any turbocharger gives boost. Not known how
 * chosen.
 */
const PLAIN_FROM_RPM = 2500;
const PLAIN_PULLS = 3;

interface Seen {
  readonly topKpa: number;
  readonly topRpm: number;
  /** Time from the tip-in to six tenths of the boost at low engine speed, s; null where it was not seen. */
  readonly promptS: number | null;
}

export class InductionWatch {
  #seen: Seen[] = [];

  stretch(s: Stretch, baro: Baro): void {
    const points = s.points.filter((p) => p.demand >= HIGH_DEMAND_PCT && !p.frozen && !p.still && !p.echo);
    // The second highest: one spike must not charge an engine.
    const top = points.map((p) => p.map - baro.kpa).sort((a, b) => b - a)[1];
    if (top === undefined || points.at(-1)!.tUs - points[0]!.tUs < TELLS_US) return;
    const at = s.points.find((p) => p.map - baro.kpa >= Math.max(CHARGED_KPA, COME_SHARE * top));
    const low = at !== undefined && at.rpm < PROMPT_BELOW_RPM && s.tip !== null;
    this.#seen.push({
      topKpa: top,
      topRpm: Math.max(...points.map((p) => p.rpm)),
      promptS: low ? (at.tUs - s.tip!.atUs) / 1e6 + s.tip!.errS : null,
    });
    if (this.#seen.length > KEEP_SEEN) this.#seen.shift();
  }

  /** A clause, no sentence; null while nothing tells. */
  guess(): Says | null {
    const charged = this.#seen.filter((s) => s.topKpa >= CHARGED_KPA);
    if (charged.length >= 2) {
      const prompt = charged.flatMap((s) => (s.promptS === null ? [] : [s.promptS]));
      const topKpa = Math.max(...charged.map((s) => s.topKpa));
      if (prompt.filter((s) => s <= PROMPT_S).length >= 2)
        return say('boost.guess.belt', { afterS: Math.min(...prompt), belowRpm: PROMPT_BELOW_RPM, topKpa });
      return say('boost.guess.turbo', { topKpa });
    }
    const plain = this.#seen.filter((s) => s.topKpa <= UNCHARGED_KPA && s.topRpm > PLAIN_FROM_RPM);
    if (charged.length === 0 && plain.length >= PLAIN_PULLS)
      return say('boost.guess.none', { pulls: plain.length });
    return null;
  }
}
