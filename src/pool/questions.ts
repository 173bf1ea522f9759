/**
 * Questions that stand ready: SQL over the views of `views.ts`, plain enough for any engine (no function beyond the
 * five aggregates, no window, no type of one engine's own); `tests/pool` asks each of two engines. Parameters are $kind
 * and $car, empty for all.
 */
export interface Question {
  readonly name: QuestionName;
  /** What must be given. */
  readonly needs: readonly ('kind' | 'car')[];
  readonly sql: string;
}

export interface Answer {
  readonly columns: readonly string[];
  /** Numbers, texts and null. */
  readonly rows: readonly (readonly (number | string | null)[])[];
}

export const QUESTION_NAMES = ['healthy-boost', 'healthy-coolant', 'repairs', 'car'] as const;
export type QuestionName = (typeof QUESTION_NAMES)[number];

/** Cells of runs that were shown good, each car once. */
const CAR_CELLS = `car_cells AS (
  SELECT c.kind AS kind, c.car AS car, x.rpm AS rpm, x.demand_pct AS demand_pct,
    SUM(x.boost_kpa * x.points) / SUM(x.points) AS boost_kpa,
    AVG(x.air_index) AS air_index, SUM(x.pull_count) AS pulls
  FROM cells x
  JOIN runs r ON r.run = x.run
  JOIN cases c ON c.edition = r.edition
  WHERE r.boost = 'shown good'
  GROUP BY c.kind, c.car, x.rpm, x.demand_pct
)`;

export const QUESTIONS: readonly Question[] = [
  {
    name: 'healthy-boost',
    needs: [],
    sql: `WITH ${CAR_CELLS}
SELECT kind, rpm, demand_pct, COUNT(*) AS cars, SUM(pulls) AS pulls,
  AVG(boost_kpa) AS boost_kpa, MIN(boost_kpa) AS least_kpa, MAX(boost_kpa) AS most_kpa, AVG(air_index) AS air_index
FROM car_cells
WHERE $kind = '' OR kind = $kind
GROUP BY kind, rpm, demand_pct
ORDER BY kind, rpm, demand_pct`,
  },
  {
    name: 'healthy-coolant',
    needs: [],
    sql: `WITH car_coolant AS (
  SELECT c.kind AS kind, c.car AS car, AVG(r.plateau_c) AS plateau_c,
    AVG(r.warm_up_heat_per_c) AS heat_per_c, COUNT(r.warm_up_heat_per_c) AS warm_ups
  FROM runs r JOIN cases c ON c.edition = r.edition
  WHERE r.coolant = 'shown good' AND ($kind = '' OR c.kind = $kind)
  GROUP BY c.kind, c.car
)
SELECT kind, COUNT(*) AS cars, COUNT(plateau_c) AS cars_with_plateau,
  AVG(plateau_c) AS plateau_c, MIN(plateau_c) AS least_c, MAX(plateau_c) AS most_c,
  SUM(warm_ups) AS warm_ups, AVG(heat_per_c) AS heat_per_c
FROM car_coolant
GROUP BY kind
ORDER BY kind`,
  },
  {
    name: 'repairs',
    needs: [],
    sql: `SELECT c.kind AS kind, p.part_name AS part_name, COUNT(*) AS cases, SUM(c.came_back) AS came_back,
  AVG(c.days_to_return) AS days_to_return,
  SUM(CASE WHEN EXISTS (
    SELECT 1 FROM repairs q JOIN cases d ON d.edition = q.edition
    WHERE q.car = p.car AND q.part_name = p.part_name AND d.opened_day > c.opened_day
  ) THEN 1 ELSE 0 END) AS done_again
FROM repairs p
JOIN cases c ON c.edition = p.edition
WHERE c.closed_day IS NOT NULL AND ($kind = '' OR c.kind = $kind)
GROUP BY c.kind, p.part_name
ORDER BY came_back DESC, done_again DESC, cases DESC, kind, part_name`,
  },
  {
    name: 'car',
    needs: ['car'],
    sql: `WITH ${CAR_CELLS},
mine AS (
  SELECT c.kind AS kind, x.rpm AS rpm, x.demand_pct AS demand_pct,
    SUM(x.boost_kpa * x.points) / SUM(x.points) AS boost_kpa
  FROM cells x
  JOIN runs r ON r.run = x.run
  JOIN cases c ON c.edition = r.edition
  WHERE c.car = $car
  GROUP BY c.kind, x.rpm, x.demand_pct
)
SELECT m.kind AS kind, m.rpm AS rpm, m.demand_pct AS demand_pct, m.boost_kpa AS boost_kpa, COUNT(*) AS cars,
  AVG(k.boost_kpa) AS kind_kpa, MIN(k.boost_kpa) AS least_kpa, MAX(k.boost_kpa) AS most_kpa,
  m.boost_kpa - AVG(k.boost_kpa) AS difference_kpa
FROM mine m
JOIN car_cells k ON k.kind = m.kind AND k.rpm = m.rpm AND k.demand_pct = m.demand_pct AND k.car <> $car
GROUP BY m.kind, m.rpm, m.demand_pct, m.boost_kpa
ORDER BY m.kind, m.rpm, m.demand_pct`,
  },
];
