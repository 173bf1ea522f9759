/** Jobs and runs of a library as rows of a pool: without plate, name, place or any hour. */

import type { BoostLesson } from '../analysis/boost/lesson.ts';
import { lessonOf } from '../analysis/judge.ts';
import type { Finding, Judgement } from '../analysis/types.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { isReceiverSignal } from '../core/signals.ts';
import { CODE_STATES } from '../core/snapshot.ts';
import { VERSION } from '../core/version.ts';
import { readSnapshot } from '../job/files.ts';
import { type Job, newJob } from '../job/job.ts';
import { descriptorOf, type Kinds, kindIn } from '../job/kinds.ts';
import { readKinds } from '../job/kinds-file.ts';
import { listJobs } from '../job/library.ts';
import { readMarkEdits } from '../job/marks.ts';
import { secretPattern } from '../job/mask.ts';
import { A_DAY } from '../pool/pool.ts';
import type { Secret } from '../pool/secret.ts';
import type { Case, Loose, SampleColumns } from '../pool/tables.ts';
import type { RunEntry } from '../run/library.ts';
import { captureOf, isSimulated } from '../run/meta.ts';
import { openRecording } from '../run/recording.ts';
import { plainDigest } from '../run/unpack.ts';
import type { SampleTable } from '../signal/table.ts';
import { ComparedRuns } from './compared-runs.ts';
import { keyOf } from './kept-judgement.ts';
import { OpenedRuns } from './opened-runs.ts';
import { Teaching } from './teaching.ts';

const DAY_MS = 86_400_000;
const RPM_WIDE = 500;
const DEMAND_WIDE = 10;

interface Judged {
  readonly entry: RunEntry;
  readonly judgement: Judgement;
  readonly baroKpa: number | null;
  readonly run: string;
}

/** A job, or a run outside jobs, that is ready to be taken in: nothing is read yet. */
export interface PoolSource {
  readonly job: Job | null;
  readonly folder: string;
  /** Ended ones. */
  readonly runs: readonly RunEntry[];
  readonly car: string;
  readonly carBy: 'vin' | 'plate' | 'case';
  readonly caseId: string;
  /** As stated, merged and split. */
  readonly kind: string;
}

export class PoolCases {
  readonly #library: string;
  readonly #secret: Secret;
  readonly #opened = new OpenedRuns();
  readonly #teaching: Teaching;
  readonly #compared: ComparedRuns;

  constructor(library: string, secret: Secret) {
    this.#library = library;
    this.#secret = secret;
    this.#teaching = new Teaching(library, this.#opened);
    this.#compared = new ComparedRuns(library);
  }

  /** @param practice those of the simulated car too */
  async sources(practice: boolean): Promise<PoolSource[]> {
    const { jobs, loose } = await listJobs(this.#library);
    const kinds = await readKinds(this.#library);
    const ended = (runs: readonly RunEntry[]): RunEntry[] =>
      runs.filter((r) => r.meta.sha256 !== null && (practice || !isSimulated(r.meta)));
    const out: PoolSource[] = [];
    for (const { job, folder, runs } of jobs)
      if (practice || !job.practice) out.push(this.#source(kinds, job.id, job, folder, ended(runs)));
    for (const run of ended(loose))
      out.push(this.#source(kinds, `run ${run.meta.id}`, null, run.folder, [run]));
    return out.sort((a, b) => (a.caseId < b.caseId ? -1 : 1));
  }

  #source(kinds: Kinds, id: string, job: Job | null, folder: string, runs: readonly RunEntry[]): PoolSource {
    const caseId = this.#secret.name('case', id);
    const vin = [job?.vin, ...runs.map((r) => r.meta.vin)].find((v) => v && descriptorOf(v)) ?? null;
    const named = vin ? this.carOfVin(vin) : job?.plate ? this.carOfPlate(job.plate) : null;
    const profile = { ...(runs[0]?.meta.profile ?? {}), ...job?.profile };
    const engine = job ? withoutNames(job.engine, job, '') : '';
    const kind = job ? kindIn(kinds, { ...job, engine, vin: vin ?? '', profile }) : '';
    const carBy = vin ? 'vin' : job?.plate ? 'plate' : 'case';
    return { job, folder, runs, car: named ?? this.#secret.name('car', caseId), carBy, caseId, kind };
  }

  carOfVin(vin: string): string {
    return this.#secret.name('car', `vin ${plain(vin)}`);
  }

  carOfPlate(plate: string): string {
    return this.#secret.name('car', `plate ${plain(plate)}`);
  }

  /** Another one says that the case is to be read again: job, runs, marks or the program have changed. */
  async stampOf({ job, runs, kind }: PoolSource): Promise<string> {
    const marks = await Promise.all(runs.map((r) => readMarkEdits(r.folder)));
    return this.#secret.name('case', keyOf([job, kind, runs.map((r) => r.meta), marks]));
  }

  /** Reads, judges and compares. @throws HandbackError input.* for a run that cannot be read or is not as it was recorded */
  async caseOf(source: PoolSource): Promise<Case> {
    const { job, runs, car, caseId } = source;
    const of = { case_id: caseId, car };
    const judged = await this.#judged(source);
    const cells: Loose<'cells'>[] = [];
    const rows: Loose<'runs'>[] = [];
    for (const { entry, judgement, baroKpa, run } of judged) {
      const { table } = await openRecording(entry.folder);
      const lesson = lessonOf(table, entry.meta.profile ?? job?.profile ?? {});
      rows.push({
        ...of,
        run,
        ...runRow(entry, judgement, baroKpa, table.length),
        plateau_c: lesson.coolant.plateauC,
        warm_up_heat_per_c: lesson.coolant.warmUp?.heatPerC ?? null,
        warm_up_source: lesson.coolant.warmUp?.source ?? null,
        warm_up_air_c: lesson.coolant.warmUp?.airC ?? null,
      });
      cells.push(...cellsOf(lesson.boost).map((cell) => ({ run, car, ...cell })));
    }
    return {
      revision: revisionOf(source),
      row: caseRow(source, await this.stampOf(source)),
      rows: {
        repairs: job ? partsOf(job).map((part_name) => ({ ...of, part_name })) : [],
        runs: rows,
        pulls: judged.flatMap(({ judgement, run }) =>
          judgement.pulls.map((p, i) => ({ run, car, pull: i, ...pullRow(p) })),
        ),
        cells,
        findings: judged.flatMap(({ judgement, run }) =>
          judgement.findings.map((f) => ({ run, car, ...findingRow(f) })),
        ),
        codes: job ? (await codeRows(source.folder, job)).map((c) => ({ ...of, ...c })) : [],
        measurements: (job?.measurements ?? []).map((m) => ({ ...of, ...measurementRow(m) })),
        comparisons: (await this.#comparisons(runs)).map((c) => ({ ...of, ...c })),
      },
      samples: judged.map(({ entry, run }) => ({
        run,
        read: async () => columnsOf((await openRecording(entry.folder)).table),
      })),
    };
  }

  async #judged({ folder, job, runs }: PoolSource): Promise<Judged[]> {
    const judged: Judged[] = [];
    for (const entry of runs) {
      const capture = await captureOf(entry.folder);
      if (capture === null || (await plainDigest(capture)) !== entry.meta.sha256)
        throw new HandbackError('input.format', saying('warn.changed'));
      // A case tells of itself alone: what others did may change without it.
      const taught = job && (await this.#teaching.ownBefore({ folder, job, runs }, entry.meta));
      const { judgement, baroKpa } = await this.#opened.open(entry, taught);
      judged.push({ entry, judgement, baroKpa, run: entry.meta.sha256!.slice(0, 32) });
    }
    return judged;
  }

  async #comparisons(runs: readonly RunEntry[]): Promise<Omit<Loose<'comparisons'>, 'case_id' | 'car'>[]> {
    const ids = (purpose: string): string[] =>
      runs.filter((r) => r.meta.purpose === purpose).map((r) => r.meta.id);
    const [before, after] = [ids('baseline'), ids('verification')];
    if (before.length === 0 || after.length === 0) return [];
    const { overall } = await this.#compared.compare({ before, after, comeBack: [] });
    return overall.map((r) => ({
      region: r.region.id,
      rpm_from: r.rpm[0],
      rpm_to: r.rpm[1],
      before_pulls: r.before.pulls,
      after_pulls: r.after.pulls,
      effect_pct: r.effectPct,
      effect_low_pct: r.interval?.[0] ?? null,
      effect_high_pct: r.interval?.[1] ?? null,
      effect_kpa: r.effectKpa,
      verdict: r.verdict,
    }));
  }
}

const plain = (text: string): string => text.replace(/[^\p{L}\p{N}]/gu, '').toUpperCase();
const dayOf = (iso: string): number => Math.floor(Date.parse(iso) / DAY_MS);

/** Greater of the later program and, of one program, of the job that was changed on a later day. */
function revisionOf({ job, runs }: PoolSource): number {
  const [major = 0, minor = 0, patch = 0] = VERSION.split('.').map(Number);
  const program = (major * 100 + minor) * 100 + patch;
  return (program * 100_000 + dayOf(job?.changedAt ?? runs[0]!.meta.startedAt)) * A_DAY;
}

function caseRow({ job: known, runs, car, carBy, caseId, kind }: PoolSource, source: string): Case['row'] {
  const job = known ?? newJob(caseId, runs[0]!.meta.startedAt);
  const profile = { ...(runs[0]?.meta.profile ?? {}), ...job.profile };
  const vin = [job.vin, ...runs.map((r) => r.meta.vin ?? '')].find((v) => descriptorOf(v)) ?? '';
  const closed = job.closedAt === null ? null : dayOf(job.closedAt);
  const back = runs.find((r) => r.meta.purpose === 'come-back');
  const cameBack = back !== undefined || Object.values(job.comeBack).some((v) => v !== '' && v !== null);
  return {
    case_id: caseId,
    source,
    car,
    car_by: carBy,
    descriptor: descriptorOf(vin),
    kind,
    designation: withoutNames(job.engine, job),
    displacement_cc: job.displacementCc === null ? null : Math.round(job.displacementCc),
    induction: profile.induction ?? null,
    fuel: profile.fuel ?? null,
    opened_day: dayOf(job.openedAt),
    closed_day: closed,
    hand_over: job.handOver?.whole ?? null,
    came_back: cameBack ? 1 : 0,
    days_to_return: back && closed !== null ? dayOf(back.meta.startedAt) - closed : null,
    odometer_thousand_km: job.odometerKm === null ? null : Math.round(job.odometerKm / 1000),
    practice: job.practice || runs.some((r) => isSimulated(r.meta)) ? 1 : 0,
    program: VERSION,
  };
}

/** What a person typed, without plate, VIN and the people of the job. */
function withoutNames(text: string, job: Job, instead = '(left out)'): string {
  const names = [job.plate, job.vin, job.technician, job.workshop].flatMap((n) => secretPattern(n) ?? []);
  return names.reduce((out, name) => out.replace(name, instead), text);
}

/** What a person typed, as it leaves. */
export const textsOf = ({ job }: PoolSource): string[] =>
  job ? [withoutNames(job.engine, job), ...partsOf(job)].filter(Boolean) : [];

function partsOf(job: Job): string[] {
  const said = [...job.replaced, ...job.parts.map((p) => p.name)].map((p) => withoutNames(p, job).trim());
  return [...new Set(said.filter(Boolean))];
}

function runRow(
  { meta }: RunEntry,
  { systems, spanS }: Judgement,
  baroKpa: number | null,
  samples: number,
): Omit<
  Loose<'runs'>,
  'case_id' | 'car' | 'run' | 'plateau_c' | 'warm_up_heat_per_c' | 'warm_up_source' | 'warm_up_air_c'
> {
  return {
    purpose: meta.purpose,
    run_day: dayOf(meta.startedAt),
    seconds: meta.seconds ?? spanS,
    sample_count: samples,
    baro_kpa: baroKpa,
    boost: systems.boost.verdict,
    coolant: systems.coolant.verdict,
    fan: systems.fan.verdict,
    fan_asked: systems.fan.asked ? 1 : 0,
  };
}

function pullRow(p: Judgement['pulls'][number]): Omit<Loose<'pulls'>, 'run' | 'car' | 'pull'> {
  const n = p.boostKpa.length;
  return {
    from_s: p.fromS,
    to_s: p.toS,
    gear: p.gear,
    rpm_from: p.rpmFrom,
    rpm_to: p.rpmTo,
    engagement: p.engagement ? 1 : 0,
    boost_mean_kpa: n === 0 ? null : p.boostKpa.reduce((a, b) => a + b, 0) / n,
    boost_most_kpa: n === 0 ? null : Math.max(...p.boostKpa),
    shortfall_pct: p.shortfallPct,
    held: p.held === null ? null : p.held ? 1 : 0,
  };
}

function measurementRow(m: Job['measurements'][number]): Omit<Loose<'measurements'>, 'case_id' | 'car'> {
  const { what, when: stage, value: measured, unit, low, high, heldMin: held_min, result } = m;
  return { what, stage, measured, unit, low, high, held_min, result };
}

function findingRow(f: Finding): Omit<Loose<'findings'>, 'run' | 'car'> {
  return {
    finding: f.id,
    system: f.system,
    verdict: f.verdict,
    points_to: f.pointsTo?.id ?? null,
    measured: f.measured?.value ?? null,
    unit: f.measured?.unit ?? f.limit?.unit ?? null,
    measured_low: f.measured?.interval[0] ?? null,
    measured_high: f.measured?.interval[1] ?? null,
    limit_value: f.limit?.value ?? null,
    limit_source: f.limit?.source.id ?? null,
    from_s: f.fromS,
    to_s: f.toS,
    said_at_s: f.saidAtS,
  };
}

/** Settled boost by engine speed and demand; none without a barometric pressure. */
function cellsOf(lesson: BoostLesson): Omit<Loose<'cells'>, 'run' | 'car'>[] {
  if (!lesson.baroKnown) return [];
  interface Sum {
    n: number;
    boost: number;
    air: number;
    airs: number;
    readonly pulls: Set<number>;
  }
  const sums = new Map<string, Sum>();
  for (const [i, pull] of lesson.pulls.entries())
    for (const [k, rpm] of pull.rpm.entries()) {
      const at = [
        Math.floor(rpm / RPM_WIDE) * RPM_WIDE,
        Math.min(90, Math.floor(pull.demand[k]! / DEMAND_WIDE) * DEMAND_WIDE),
      ];
      const sum = sums.get(at.join()) ?? { n: 0, boost: 0, air: 0, airs: 0, pulls: new Set() };
      sums.set(at.join(), sum);
      sum.n++;
      sum.boost += pull.map[k]! - lesson.baroKpa;
      sum.pulls.add(i);
      const air = pull.air[k];
      if (air !== null && air !== undefined) {
        sum.air += air;
        sum.airs++;
      }
    }
  return [...sums]
    .map(([at, sum]) => {
      const [rpm = 0, demand_pct = 0] = at.split(',').map(Number);
      return {
        rpm,
        demand_pct,
        points: sum.n,
        pull_count: sum.pulls.size,
        boost_kpa: sum.boost / sum.n,
        air_index: sum.airs === 0 ? null : sum.air / sum.airs,
      };
    })
    .sort((a, b) => a.rpm - b.rpm || a.demand_pct - b.demand_pct);
}

async function codeRows(folder: string, job: Job): Promise<Omit<Loose<'codes'>, 'case_id' | 'car'>[]> {
  const out: Omit<Loose<'codes'>, 'case_id' | 'car'>[] = [];
  for (const ref of [...job.snapshots].sort((a, b) => (a.at < b.at ? -1 : 1))) {
    const snapshot = await readSnapshot(folder, ref).catch(() => null);
    for (const unit of snapshot?.units ?? [])
      for (const list of CODE_STATES)
        for (const { code } of unit[list])
          out.push({ stage: ref.when, code_day: dayOf(ref.at), ecu: unit.ecu, code, list });
  }
  return out;
}

/** Without what a satellite receiver said: height, course and speed draw the road. */
export function columnsOf(table: SampleTable): SampleColumns {
  const all = [...table.names].sort().filter((name) => !isReceiverSignal(name));
  const columns = all.map((name) => ({ name, series: table.series(name) }));
  const length = columns.reduce((sum, { series }) => sum + series.tS.length, 0);
  const tMs = new Int32Array(length);
  const value = new Float64Array(length);
  const signal: string[] = [];
  let n = 0;
  for (const { name, series } of columns) {
    for (let i = 0; i < series.tS.length; i++) {
      tMs[n] = Math.round(series.tS[i]! * 1000);
      value[n++] = series.value[i]!;
      signal.push(name);
    }
  }
  return { signal, tMs, value };
}
