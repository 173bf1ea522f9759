/** How the tables are to be read, as SQL that any engine takes: of each case its greatest edition, of each run one. */
import { CHILD_NAMES, type TableName } from './tables.ts';

/** Tables whose rows belong to a run; the others' belong to a case. */
const OF_RUN: readonly TableName[] = ['pulls', 'cells', 'findings'];

/** The file's own rows are in `stored_…`; name of the view to its SELECT, in the order in which they build on each other. */
export function viewsOf(): (readonly [name: string, select: string])[] {
  return [
    [
      'cases',
      `SELECT s.* FROM stored_cases s
 JOIN (SELECT case_id, MAX(edition) AS edition FROM stored_cases GROUP BY case_id) n
 ON n.case_id = s.case_id AND n.edition = s.edition`,
    ],
    // a run that was filed into a job after it had been taken in alone stands in two cases
    [
      'runs',
      `SELECT s.* FROM stored_runs s
 JOIN (SELECT r.run AS run, MAX(r.edition) AS edition FROM stored_runs r JOIN cases c ON c.edition = r.edition GROUP BY r.run) n
 ON n.run = s.run AND n.edition = s.edition`,
    ],
    ...CHILD_NAMES.filter((n) => n !== 'runs').map(
      (name) =>
        [
          name,
          OF_RUN.includes(name)
            ? `SELECT s.* FROM stored_${name} s JOIN runs r ON r.run = s.run AND r.edition = s.edition`
            : `SELECT s.* FROM stored_${name} s JOIN cases c ON c.edition = s.edition`,
        ] as const,
    ),
    ['samples', 'SELECT s.* FROM stored_samples s JOIN runs r ON r.run = s.run'],
  ];
}
