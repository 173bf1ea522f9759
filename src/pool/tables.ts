/**
 * The tables of a pool and their columns (docs/pool.md). Columns are only ever added: one that is there keeps its name,
 * type and meaning; a file written before a column was added has none, and readers see NULL.
 */

/** `text` STRING, `int` INT32, `real` DOUBLE; truth is 1 or 0. Each may be NULL. */
type ColumnType = 'text' | 'int' | 'real';

export const POOL_FORMAT = 'handback.pool/1';

/** Every row carries `edition`, the taking-in of its case; see `src/pool/pool.ts`. Days count from 1970-01-01, UTC. */
export const TABLES = {
  /** One row a job, or a run outside jobs; written last: it makes the other rows of its edition count. */
  cases: {
    edition: 'text',
    case_id: 'text',
    /** Digest of all rows of the case. */
    taking: 'text',
    /** Of what the rows were made from, and of the program that made them. */
    source: 'text',
    /** How many rows of other tables belong to it. */
    row_count: 'int',
    car: 'text',
    /** What the car was told by: vin, plate, case. */
    car_by: 'text',
    descriptor: 'text',
    kind: 'text',
    designation: 'text',
    displacement_cc: 'int',
    induction: 'text',
    fuel: 'text',
    opened_day: 'int',
    closed_day: 'int',
    hand_over: 'text',
    came_back: 'int',
    days_to_return: 'int',
    odometer_thousand_km: 'int',
    practice: 'int',
    program: 'text',
  },
  /** What was fitted or replaced. */
  repairs: { edition: 'text', case_id: 'text', car: 'text', part_name: 'text' },
  runs: {
    edition: 'text',
    case_id: 'text',
    run: 'text',
    car: 'text',
    purpose: 'text',
    run_day: 'int',
    seconds: 'real',
    sample_count: 'int',
    baro_kpa: 'real',
    boost: 'text',
    coolant: 'text',
    fan: 'text',
    fan_asked: 'int',
    plateau_c: 'real',
    warm_up_heat_per_c: 'real',
    warm_up_source: 'text',
    warm_up_air_c: 'real',
  },
  pulls: {
    edition: 'text',
    run: 'text',
    car: 'text',
    pull: 'int',
    from_s: 'real',
    to_s: 'real',
    gear: 'int',
    rpm_from: 'real',
    rpm_to: 'real',
    engagement: 'int',
    boost_mean_kpa: 'real',
    boost_most_kpa: 'real',
    shortfall_pct: 'real',
    held: 'int',
  },
  /** Settled boost of a run by engine speed (from `rpm`, 500 wide) and demand (from `demand_pct`, 10 wide). */
  cells: {
    edition: 'text',
    run: 'text',
    car: 'text',
    rpm: 'int',
    demand_pct: 'int',
    points: 'int',
    pull_count: 'int',
    boost_kpa: 'real',
    air_index: 'real',
  },
  findings: {
    edition: 'text',
    run: 'text',
    car: 'text',
    finding: 'text',
    system: 'text',
    verdict: 'text',
    points_to: 'text',
    measured: 'real',
    unit: 'text',
    measured_low: 'real',
    measured_high: 'real',
    limit_value: 'real',
    limit_source: 'text',
    from_s: 'real',
    to_s: 'real',
    said_at_s: 'real',
  },
  codes: {
    edition: 'text',
    case_id: 'text',
    car: 'text',
    stage: 'text',
    code_day: 'int',
    ecu: 'text',
    code: 'text',
    list: 'text',
  },
  measurements: {
    edition: 'text',
    case_id: 'text',
    car: 'text',
    what: 'text',
    stage: 'text',
    measured: 'real',
    unit: 'text',
    low: 'real',
    high: 'real',
    held_min: 'real',
    result: 'text',
  },
  comparisons: {
    edition: 'text',
    case_id: 'text',
    car: 'text',
    region: 'text',
    rpm_from: 'real',
    rpm_to: 'real',
    before_pulls: 'int',
    after_pulls: 'int',
    effect_pct: 'real',
    effect_low_pct: 'real',
    effect_high_pct: 'real',
    effect_kpa: 'real',
    verdict: 'text',
  },
} as const satisfies Record<string, Record<string, ColumnType>>;

/** A file for each run, named after it: `run`, `car`, then values by signal and time. */
export const SAMPLE_COLUMNS = {
  run: 'text',
  car: 'text',
  signal: 'text',
  t_ms: 'int',
  value: 'real',
} as const;

export type TableName = keyof typeof TABLES;
export type ChildName = Exclude<TableName, 'cases'>;
export const TABLE_NAMES = Object.keys(TABLES) as readonly TableName[];
export const CHILD_NAMES = TABLE_NAMES.filter((n): n is ChildName => n !== 'cases');

interface Native {
  readonly text: string | null;
  readonly int: number | null;
  readonly real: number | null;
}
export type Row<T extends TableName> = {
  readonly [C in keyof (typeof TABLES)[T]]: (typeof TABLES)[T][C] extends ColumnType
    ? Native[(typeof TABLES)[T][C]]
    : never;
};
/** A row before it is known with what it is taken in. */
export type Loose<T extends TableName> = Omit<Row<T>, 'edition'>;

export interface SampleColumns {
  /** In order of signal, then time. */
  readonly signal: readonly string[];
  readonly tMs: Int32Array;
  readonly value: Float64Array;
}

/** A job, or a run outside jobs, as it is taken in. */
export interface Case {
  /** Whole; grows with the program's version, then with the day of the job's last change. */
  readonly revision: number;
  readonly row: Omit<Loose<'cases'>, 'taking' | 'row_count'>;
  readonly rows: { readonly [T in ChildName]: readonly Loose<T>[] };
  /** Read when they are written: a run's samples take room. */
  readonly samples: readonly { readonly run: string; read(): Promise<SampleColumns> }[];
}
