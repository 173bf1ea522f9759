/** The boost detector: points, stretches, witnesses, findings; speaks as soon as a pull settles the matter. */
import type { Profile } from '../../core/profile.ts';
import { inTurn, isSays, type Says } from '../../core/says.ts';
import type { Given, GivenBy } from '../given.ts';
import { say as sayLeg } from '../leg-says.ts';
import { say as sayOwn } from '../says.ts';
import { Z_BOTH } from '../spread.ts';
import type { BoostView, CleanSample, Detector, Evidence, Finding, Pull, Spoken } from '../types.ts';
import { atRestKpa } from './absence.ts';
import { type Baro, Barometer, UNKNOWN_BARO } from './barometer.ts';
import type { BoostCase } from './case.ts';
import { EVIDENCE_CELLS, GOOD_FROM_PCT } from './cells.ts';
import { ClutchWatch } from './clutch.ts';
import type { RegionEvidence } from './evidence.ts';
import { expectedAt, leastHealthyKpa } from './expectation.ts';
import { GEAR_AT_RPM } from './gears.ts';
import { regionGiven } from './given.ts';
import { InductionWatch } from './induction.ts';
import { ofKindAlone, turboLagOf } from './kind.ts';
import type { BoostBaseline } from './lesson.ts';
import { MapSensorWatch } from './map-sensor.ts';
import { type OperatingPoint, PointAligner } from './points.ts';
import { clutchBand, ENGAGED_PCT, hasClutch } from './regions.ts';
import { boostFindings } from './report.ts';
import { RunEvidence } from './run-evidence.ts';
import { say } from './says.ts';
import { FULL_DEMAND_PCT } from './scan.ts';
import { ShapeWatch } from './shape.ts';
import { isPull, PULL_PCT, type Stretch, Stretcher, type StretchPoint } from './stretches.ts';
import { AIR_MASS, type LateSignal, TimingWatch } from './timing.ts';
import { goesOn, UnreadPulls } from './unread-pulls.ts';
import type { Witness } from './witness.ts';

/** A pull a minute for eight hours; the oldest go first. A bound, chosen by hand. */
const KEEP_PULLS = 500;
/** With more boost than this, kPa, nothing is plainly missing while it is driven. Not known how chosen. */
const AHEAD_KPA = 15;
/**
 * KIT's diesel gives three times what the least of any healthy engine gives (`leastHealthyKpa`): the band that is
 * drawn.
 */
const LEAST_BAND = 3;
/**
 * A cell of the map is shown as driven enough with so many pulls, as a fault asks for. Chosen by hand, not measured.
 */
const ENOUGH_PULLS = 3;
/**
 * A pull is looked at before its end from this age on, and must then have brought nothing for the second time.
 * Chosen by hand, not measured.
 */
const AHEAD_US = 2_000_000;
/**
 * Often enough to speak in time, by the times of the data: looking at every point said the same on the recorded capture and
 * on 6 open drives, for 20 to 60 % more work where there are pulls.
 */
const LOOK_EVERY_US = 100_000;
/**
 * Pulls over which a shortfall at light demand is spoken of before the drive has ended. Chosen by hand on one healthy drive
 * of 225 (45 open diesel trips, 0 to 13 others teaching), which three pulls at 45 % demand accused and later ones cleared.
 */
const LIGHT_PULLS = 5;

/** Of the moments that a fault was first spoken of so many stay listed. Chosen by hand, not measured. */
const FIRST_SEEN = 4;

/** By then a signal that comes has come. Chosen by hand, not measured. */
const COME_S = 30;

export interface BoostKnowledge {
  readonly profile: Profile;
  readonly baseline: BoostBaseline | null;
}

interface Band {
  readonly t: number[];
  readonly lowKpa: number[];
  readonly highKpa: number[];
}

const NOTHING: readonly Spoken[] = [];

export class BoostDetector implements Detector {
  readonly #profile: Profile;
  readonly #baseline: BoostBaseline | null;
  readonly #aligner: PointAligner;
  readonly #stretcher: Stretcher;
  readonly #barometer: Barometer;
  readonly #sensor: MapSensorWatch;
  /** Null where no charger's boost is judged. */
  readonly #timing: TimingWatch | null;
  readonly #clutch: ClutchWatch | null;
  /** Only for a car whose profile does not say how it is charged. */
  readonly #induction: InductionWatch | null;
  /** Where one machine makes the boost of all speeds. */
  readonly #shape: ShapeWatch | null;
  readonly #withAir: RunEvidence;
  /** The same pulls as if no air mass had been read. */
  readonly #byPressure: RunEvidence;
  /** Null where no charger's boost is judged. */
  readonly #unread: UnreadPulls | null;
  readonly #unreadPulls: (Pick<Stretch, 'tip' | 'fromUs' | 'ratio'> & { readonly pull: Pull })[] = [];
  readonly #signals = new Set<string>();
  #pulls: Pull[] = [];
  /** Of each of these, engine speed over vehicle speed. */
  readonly #ratios: (number | null)[] = [];
  readonly #bands: Band[] = [];
  /** Regions whose pulls were enough at some time. */
  readonly #ticked = new Set<string>();
  /** When a finding was first spoken, s. */
  readonly #saidAtS = new Map<string, number>();
  /** And the newest moments that it was spoken of. */
  readonly #firstSeen = new Map<string, readonly Evidence[]>();
  #firstUs: number | null = null;
  /** Findings by now; null when a pull or a signal came since they were asked for. */
  #known: readonly Finding[] | null = null;
  #knownFor: string | null = null;
  #lastUs = 0;
  /** The open pull that was already spoken of. */
  #lookedAheadAtUs: number | null = null;
  #lookedUs = 0;
  #last: BoostView['last'] = null;
  #boostKpa: number | null = null;

  constructor(knowledge: BoostKnowledge) {
    this.#profile = knowledge.profile;
    this.#baseline = knowledge.baseline;
    this.#aligner = new PointAligner(knowledge.profile);
    this.#stretcher = new Stretcher(knowledge.profile, turboLagOf(knowledge.baseline));
    // Other cars were driven elsewhere.
    this.#barometer = new Barometer(
      knowledge.profile,
      knowledge.baseline === null || ofKindAlone(knowledge.baseline) ? null : knowledge.baseline.baroKpa,
    );
    this.#sensor = new MapSensorWatch();
    const charged = knowledge.profile.induction !== 'naturally aspirated';
    this.#timing = charged ? new TimingWatch(knowledge.profile) : null;
    this.#unread = charged ? new UnreadPulls(knowledge.profile) : null;
    this.#clutch = hasClutch(knowledge.profile) ? new ClutchWatch(knowledge.profile) : null;
    this.#induction = knowledge.profile.induction === undefined ? new InductionWatch() : null;
    const turbo = (knowledge.profile.induction ?? 'turbocharger') === 'turbocharger';
    this.#shape = turbo ? new ShapeWatch() : null;
    this.#withAir = new RunEvidence(knowledge.profile, knowledge.baseline);
    this.#byPressure = new RunEvidence(knowledge.profile, knowledge.baseline);
  }

  /** An air mass that comes late is another moment's; the pressure is judged without it. */
  get #evidence(): RunEvidence {
    return this.#timing?.late?.signal === AIR_MASS ? this.#byPressure : this.#withAir;
  }

  step(s: CleanSample): readonly Spoken[] {
    this.#firstUs ??= s.tUs;
    this.#lastUs = Math.max(this.#lastUs, s.tUs);
    this.#barometer.step(s);
    this.#sensor.step(s, this.#barometer.now);
    if (s.flag === null && !this.#signals.has(s.signal)) {
      this.#signals.add(s.signal);
      this.#known = null;
    }
    if (s.flag === null && s.signal === 'map_kpa') this.#boostKpa = s.value - this.#baro.kpa;
    // A manifold that gets no boost rests at barometric and repeats itself: that is evidence, not a stuck sensor.
    const atRest =
      s.flag === 'stuck' &&
      s.signal === 'map_kpa' &&
      Math.abs(s.value - this.#baro.kpa) <= atRestKpa(this.#baro);
    let changed =
      this.#timing?.step(s) === true || (this.#sensor.faulty && !this.#saidAtS.has('sensor.map_kpa'));
    const believed = atRest ? { ...s, flag: null } : s;
    for (const p of this.#aligner.step(believed)) changed = this.#point(p) || changed;
    this.#keepUnread(this.#unread?.step(believed) ?? []);
    return changed ? this.#speak() : NOTHING;
  }

  /** A receiver's height tells barometric pressure where nothing better does. */
  height(s: CleanSample): void {
    this.#barometer.step(s);
  }

  finish(endUs: number): readonly Finding[] {
    this.#lastUs = Math.max(this.#lastUs, endUs);
    for (const p of this.#aligner.finish()) this.#point(p);
    for (const s of this.#stretcher.finish(endUs)) this.#take(s);
    this.#keepUnread(this.#unread?.finish(endUs) ?? []);
    this.#listUnread();
    this.#nameGears();
    this.#known = this.#findings(true);
    return this.#known;
  }

  /** Now that the whole drive is known one ratio is one gear. */
  #nameGears(): void {
    this.#pulls = this.#pulls
      .map((p, i) => ({ ...p, gear: this.#stretcher.gears.gearOf(this.#ratios[i]!) }))
      .sort((a, b) => a.fromS - b.fromS);
  }

  /** True when there is new evidence. */
  #point(p: OperatingPoint): boolean {
    const light = this.#clutch?.light.length;
    this.#clutch?.point(p, this.#barometer.now);
    const stretches = this.#stretcher.step(p);
    for (const s of stretches) this.#take(s);
    return stretches.length > 0 || this.#clutch?.light.length !== light || this.#lookAhead();
  }

  /** A pull still being driven that plainly brings no boost is spoken of before it ends; true when it does. */
  #lookAhead(): boolean {
    const open = this.#stretcher.open;
    const last = open?.at(-1);
    if (open === null || last === undefined) {
      this.#lookedAheadAtUs = null;
      return false;
    }
    const firstUs = open[0]!.tUs;
    if (this.#lookedAheadAtUs === firstUs || last.tUs - firstUs < AHEAD_US) return false;
    if (last.tUs - this.#lookedUs < LOOK_EVERY_US) return false;
    this.#lookedUs = last.tUs;
    const baro = this.#baro;
    if (last.map - baro.kpa > AHEAD_KPA) return false;
    // The newest sample may already belong to the lift.
    const stretch = this.#stretcher.preview(open.slice(0, -1));
    const [withAir, byPressure] = this.#inBoth((e, s) => e.lookAhead(s, baro), stretch);
    const missing = this.#evidence === this.#withAir ? withAir : byPressure;
    if (missing) this.#lookedAheadAtUs = firstUs;
    return missing;
  }

  pulls(): readonly Pull[] {
    return this.#pulls;
  }

  /** What the drive has given its findings so far. */
  given(): GivenBy {
    const all = new Map<string, Given>([['sensor.map_kpa', this.#sensor.given()]]);
    if (this.#knownFor !== this.#aligner.demandName) this.#known = null;
    this.#knownFor = this.#aligner.demandName;
    this.#known ??= this.#findings(false);
    for (const r of this.#evidence.regions) all.set(r.region.id, this.#givenTo(r, this.#known));
    if (this.#clutch === null) return all;
    const light = this.#clutch.given();
    const blind =
      light.share === 0 && this.#late && (this.#aligner.demandName === null || this.#barometer.now === null);
    all.set('boost.clutch-open', blind ? { ...light, left: sayLeg('leg.left.signal'), over: true } : light);
    return all;
  }

  #givenTo(r: RegionEvidence, findings: readonly Finding[]): Given {
    const { id } = r.region;
    return regionGiven(r, findings.find((f) => f.id === id)!, this.#late, this.#ticked.has(id));
  }

  /** Every signal that comes has come by now. */
  get #late(): boolean {
    return this.#lastUs - (this.#firstUs ?? this.#lastUs) >= COME_S * 1e6;
  }

  /** Expected boost at each pressure sample of each pull that has an expectation, gauge kPa. */
  expectedBands(): readonly Band[] {
    return this.#bands;
  }

  view(): BoostView {
    const open = this.#stretcher.open;
    const at = open?.at(-1) ?? null;
    const known = this.#barometer.now;
    const expected = at === null ? null : expectedAt(at, this.#profile, this.#baseline, this.#baro);
    const least = at === null ? null : leastHealthyKpa(at, this.#profile);
    const band: [number, number] | null =
      expected !== null ? bandOfExpected(expected) : least !== null ? [least, LEAST_BAND * least] : null;
    const pulling = at !== null && at.demand >= PULL_PCT;
    const engagement = at !== null && pulling && this.#isEngagement(at, false);
    const held = this.#evidence.regions.reduce((a, r) => a + (r.region.key === 'low' ? r.held : 0), 0);
    const missed = this.#evidence.regions.reduce((a, r) => a + (r.region.key === 'low' ? r.missed : 0), 0);
    return {
      demandName: this.#aligner.demandName,
      baroKpa: known?.kpa ?? null,
      // Gauge pressures are said where barometric is known, not where it is only allowed for.
      expectedKpa: known === null ? null : band,
      boostKpa: known === null ? null : this.#boostKpa,
      pulling,
      engagement,
      last: this.#last,
      engagements: { held, missed },
      map: this.#map(),
      sentence: this.#sentence(open?.[0]?.tUs ?? null),
    };
  }

  /** @param openUs when the pull that is being driven began; null without */
  #sentence(openUs: number | null): Says {
    if (this.#profile.induction === 'naturally aspirated') return say('boost.view.no-charger');
    if (openUs !== null && openUs === this.#lookedAheadAtUs) return say('boost.view.missing-now');
    return this.#last === null ? say('boost.view.no-pull') : this.#last.text;
  }

  get #baro(): Baro {
    return this.#barometer.now ?? UNKNOWN_BARO;
  }

  #inBoth<T>(of: (e: RunEvidence, s: Stretch) => T, stretch: Stretch): [withAir: T, byPressure: T] {
    const airless = { ...stretch, points: stretch.points.map((p) => ({ ...p, maf: null })) };
    return [of(this.#withAir, stretch), of(this.#byPressure, airless)];
  }

  #isEngagement(p: StretchPoint, sudden: boolean): boolean {
    if (!hasClutch(this.#profile)) return false;
    const band = clutchBand(this.#profile);
    const threshold = this.#profile.engagementDemandPct?.value ?? ENGAGED_PCT;
    return p.demand >= threshold && p.rpm < (sudden ? band.handOverRpm : band.topRpm);
  }

  #take(stretch: Stretch): void {
    const baro = this.#baro;
    const [withAir, byPressure] = this.#inBoth((e, s) => e.take(s, baro), stretch);
    const witnesses = this.#evidence === this.#withAir ? withAir : byPressure;
    this.#clutch?.stretch(stretch, baro);
    for (const r of [...this.#withAir.regions, ...this.#byPressure.regions])
      r.mayComeLate = r.region.key === 'low' && this.#clutch?.mayBeLate === true;
    this.#induction?.stretch(stretch, baro);
    if (this.#barometer.now !== null) this.#shape?.stretch(stretch, baro);
    this.#keepPull(stretch, witnesses, baro);
  }

  /** What is a fault now and was none before. */
  #speak(): Spoken[] {
    const findings = this.#findings(true);
    this.#known = findings;
    this.#knownFor = this.#aligner.demandName;
    for (const r of this.#evidence.regions)
      if (this.#givenTo(r, findings).share === 1) this.#ticked.add(r.region.id);
    const atS = this.#lastUs / 1e6;
    const spoken: Spoken[] = [];
    for (const f of findings) {
      // What the recording does is no matter for the road.
      if (f.id === 'sensor.late' || f.verdict !== 'fault shown') continue;
      if (this.#saidAtS.has(f.id) || this.#waits(f.id)) continue;
      this.#saidAtS.set(f.id, atS);
      this.#firstSeen.set(f.id, f.evidence.filter(isMoment).slice(-FIRST_SEEN));
      spoken.push({ atS, finding: { ...f, saidAtS: atS }, sentence: sentenceOf(f) });
    }
    return spoken;
  }

  /**
   * A shortfall at light demand that fuller pulls at the same speeds do not show as well may yet be averaged away; and where pulls
   * contradict each other it may yet come and go.
   */
  #waits(id: string): boolean {
    const { regions } = this.#evidence;
    const r = regions.find((o) => o.region.id === id);
    const gone = id === 'boost.leak' ? regions.some((o) => o.contradicted) : r?.contradicted === true;
    if (gone && r?.absent !== true) return true;
    const window = r === undefined || r.absent ? null : r.shortfall;
    if (window === null || window.fromDemandPct >= GOOD_FROM_PCT || window.pulls >= LIGHT_PULLS) return false;
    const fuller = r!.scan.over({ ...window, fromDemandPct: GOOD_FROM_PCT, toDemandPct: FULL_DEMAND_PCT });
    return fuller === null || fuller.deviation > -fuller.limit;
  }

  #keepPull(stretch: Stretch, witnesses: readonly Witness[], baro: Baro): void {
    if (!isPull(stretch)) return;
    const { points } = stretch;
    const scored = witnesses.filter((w) => w.deviation !== null);
    const n = scored.reduce((a, w) => a + w.n, 0);
    const missed = witnesses.find((w) => w.held === false);
    const held = missed !== undefined ? false : witnesses.some((w) => w.held === true) ? true : null;
    const shortfallPct = n === 0 ? null : (-100 * scored.reduce((a, w) => a + w.n * w.deviation!, 0)) / n;
    const known = this.#barometer.now !== null;
    const driven = this.#drivenIn(stretch);
    // Key by key: a copy of an object with more behind it gets a shape of its own for each, 0.4 kB.
    const pull: Pull = {
      fromS: driven.fromS,
      toS: driven.toS,
      gear: driven.gear,
      kmhAt1000Rpm: driven.kmhAt1000Rpm,
      rpmFrom: driven.rpmFrom,
      rpmTo: driven.rpmTo,
      engagement: driven.engagement,
      boostKpa: known ? points.map((p) => Math.round((p.map - baro.kpa) * 10) / 10) : [],
      shortfallPct: shortfallPct === null ? null : Math.round(shortfallPct * 10) / 10,
      held,
    };
    this.#list(pull, stretch.ratio);
    const expected = (known ? points : []).flatMap((p) => {
      const e = expectedAt(p, this.#profile, this.#baseline, baro);
      return e === null ? [] : [{ t: p.tUs / 1e6, band: bandOfExpected(e) }];
    });
    if (expected.length > 1) {
      this.#bands.push({
        t: expected.map((e) => e.t),
        lowKpa: expected.map((e) => e.band[0]),
        highKpa: expected.map((e) => e.band[1]),
      });
      if (this.#bands.length > KEEP_PULLS) this.#bands.shift();
    }
    const kind = pull.engagement ? 'engagement' : 'pull';
    const text =
      missed !== undefined
        ? say('boost.last.missed', { kind, boostKpa: missed.boostKpa })
        : held === true
          ? say('boost.last.held', { kind })
          : this.#saidAtS.size > 0 && shortfallPct !== null && shortfallPct > 0
            ? say('boost.last.short', { kind, shortfall: shortfallPct / 100 })
            : say('boost.last.open', { kind });
    this.#last = { fromS: pull.fromS, toS: pull.toS, held, text };
  }

  #list(pull: Pull, ratio: number | null): void {
    this.#pulls.push(pull);
    this.#ratios.push(ratio);
    if (this.#pulls.length <= KEEP_PULLS) return;
    this.#pulls.shift();
    this.#ratios.shift();
  }

  /** When and how a pull was driven. */
  #drivenIn(stretch: Stretch) {
    const { points, ratio } = stretch;
    const [first, last] = [points[0]!, points.at(-1)!];
    return {
      fromS: first.tUs / 1e6,
      toS: last.tUs / 1e6,
      gear: this.#stretcher.gears.gearOf(ratio),
      kmhAt1000Rpm: ratio === null ? null : Math.round((10 * GEAR_AT_RPM) / ratio) / 10,
      rpmFrom: Math.round(first.rpm),
      rpmTo: Math.round(last.rpm),
      engagement: points.some((p) => this.#isEngagement(p, stretch.sudden)),
    };
  }

  #keepUnread(stretches: readonly Stretch[]): void {
    for (const s of stretches) {
      const pull: Pull = {
        ...this.#drivenIn(s),
        ...{ boostKpa: [], shortfallPct: null, held: null, unread: true },
      };
      if (this.#unreadPulls.length < KEEP_PULLS)
        this.#unreadPulls.push({ pull, ratio: s.ratio, tip: s.tip, fromUs: s.fromUs });
    }
  }

  /** Those of which no pressure came that is believed, unless they go on where it was lost. */
  #listUnread(): void {
    const readUs = this.#pulls.map((p) => p.toS * 1e6);
    for (const u of this.#unreadPulls) if (!goesOn(u, readUs)) this.#list(u.pull, u.ratio);
  }

  /** @param settle whether what they say of the pressure's sensor holds from here on: a look settles nothing */
  #findings(settle: boolean): Finding[] {
    const found: BoostCase = {
      profile: this.#profile,
      baseline: this.#baseline,
      regions: this.#evidence.regions,
      clutch: this.#clutch,
      induction: this.#induction,
      shape: this.#shape?.evidence() ?? null,
      signals: this.#signals,
      demandName: this.#aligner.demandName,
      saidAtS: (id) => this.#saidAtS.get(id) ?? null,
    };
    const boost = boostFindings(found);
    const shown = boost.filter((f) => f.verdict === 'fault shown').map((f) => f.id);
    if (settle)
      this.#sensor.borneOut = this.#evidence.regions.some(
        (r) => shown.includes(r.region.id) && r.witnesses.some((w) => w.borneOut),
      );
    const late = this.#timing?.late ?? null;
    const saidAtS = (f: Finding): number | null => this.#saidAtS.get(f.id) ?? null;
    const told =
      late !== null && late.signal !== AIR_MASS
        ? boost.map((f) => untimely(f, late, saidAtS(f)))
        : this.#sensor.faulty
          ? boost.map((f) => unproved(f, this.#sensor.frozenFromS, saidAtS(f)))
          : boost;
    const seen = told.map((f) => withFirst(f, this.#firstSeen.get(f.id) ?? []));
    return [...seen, this.#ofSensor(), ...(this.#timing?.findings() ?? [])];
  }

  /** What the engine drew in may clear a sensor that was spoken of. */
  #ofSensor(): Finding {
    const f = this.#sensor.finding();
    const atS = this.#saidAtS.get(f.id);
    if (atS === undefined || f.verdict === 'fault shown') return f;
    return { ...f, verdict: 'not shown', needs: say('boost.need.taken-back', { atS }) };
  }

  #map(): BoostView['map'] {
    const pulls = new Uint16Array(EVIDENCE_CELLS.length);
    const bad = new Set<number>();
    for (const r of this.#evidence.regions)
      for (const w of r.witnesses)
        for (const c of w.cells) {
          pulls[c]!++;
          if (w.held === false) bad.add(c);
        }
    return EVIDENCE_CELLS.map((cell, c) => ({
      ...cell,
      pulls: pulls[c]!,
      state: bad.has(c) ? 'bad' : pulls[c] === 0 ? 'empty' : pulls[c]! < ENOUGH_PULLS ? 'some' : 'enough',
    }));
  }
}

function bandOfExpected(e: {
  kpa: number;
  sd: number;
  noise: { run: number; pull: number; point: number };
}): [number, number] {
  const half = Z_BOTH * Math.hypot(e.sd, e.noise.run, e.noise.pull, e.noise.point) * e.kpa;
  return [Math.round((e.kpa - half) * 10) / 10, Math.round((e.kpa + half) * 10) / 10];
}

/**
 * What a pressure sensor at fault says proves nothing good, nor what it said before; and one that stands still no fault either,
 * but what was spoken of before, and what another sensor shows.
 */
function unproved(f: Finding, frozenFromS: number | null, saidAtS: number | null): Finding {
  const { verdict, excluded } = f;
  const before = frozenFromS === null || (saidAtS !== null && saidAtS < frozenFromS);
  const stands = verdict === 'fault shown' && (before || f.signals.includes('boost_act_kpa'));
  const said = saidAtS !== null && !before;
  const bare: Finding = excluded === undefined ? f : { ...f, excluded: [] };
  if (stands) return bare;
  const evidence = f.evidence.filter(
    ({ text, toS }) => text.id !== 'boost.good-range' && toS <= (frozenFromS ?? Number.POSITIVE_INFINITY),
  );
  const needs = said ? say('boost.need.sensor-said', { atS: saidAtS }) : say('boost.need.sensor');
  return {
    ...{ ...bare, verdict: 'not shown', pointsTo: null, saidAtS: null, evidence, needs },
    ...(frozenFromS === null ? {} : { measured: null, limit: null }),
  };
}

/** One pull, one tip-in or one stretch at light demand; the others are of the drive as a whole. */
const MOMENTS: ReadonlySet<string> = new Set(
  ['pull', 'pull-due', 'pull-due-by-demand', 'pull-expected', 'onset', 'light-charge', 'light-manifold'].map(
    (id) => `boost.seen.${id}`,
  ),
);
const isMoment = ({ text }: Evidence): boolean => MOMENTS.has(text.id);

/** A fault lists its clearest and newest moments: those that it was first spoken of stand among them. */
function withFirst(f: Finding, first: readonly Evidence[]): Finding {
  if (f.verdict !== 'fault shown') return f;
  const moments = f.evidence.filter(isMoment);
  const missing = first.filter((e) => !moments.some((o) => o.fromS <= e.toS && e.fromS <= o.toS));
  if (missing.length === 0) return f;
  const inOrder = [...missing, ...moments].sort((a, b) => a.fromS - b.fromS);
  return { ...f, evidence: [...f.evidence.filter((e) => !isMoment(e)), ...inOrder] };
}

/** Where a signal comes late each pressure was held against what was asked at another moment. */
function untimely(f: Finding, { signal, s }: LateSignal, saidAtS: number | null): Finding {
  const needs =
    saidAtS === null
      ? sayOwn('sensor.late.need', { signal, lateS: s })
      : sayOwn('sensor.late.need-said', { signal, lateS: s, atS: saidAtS });
  const bare: Finding = f.excluded === undefined ? f : { ...f, excluded: [] };
  return {
    ...{ ...bare, verdict: 'not shown', pointsTo: null, saidAtS: null, measured: null, limit: null },
    ...{ evidence: [], needs },
  };
}

const SPOKEN: Readonly<Record<string, Says>> = {
  'boost.clutch-band': say('boost.spoken.clutch-band'),
  'boost.hand-over-dip': say('boost.spoken.changeover'),
  'boost.above-hand-over': say('boost.spoken.above-changeover'),
  'boost.low-speed': say('boost.spoken.low-speed'),
  'boost.intermittent': say('boost.spoken.intermittent'),
  'boost.leak': say('boost.spoken.leak'),
  'boost.surplus': say('boost.spoken.surplus'),
  'boost.late': say('boost.spoken.late'),
  'boost.clutch-open': say('boost.spoken.clutch-open'),
  'sensor.map_kpa': say('boost.spoken.map'),
};

/** For the ear: what is missing where, and what to do. */
function sentenceOf(f: Finding): Says {
  const what = SPOKEN[f.id] ?? { id: 'text', args: { text: f.id } };
  return isSays(f.pointsTo) ? inTurn([what, say('boost.spoken.check', { points: f.pointsTo })]) : what;
}
