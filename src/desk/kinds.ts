/** Kinds of engine for the page: what the library states, merged and split, and questions to the pool. */
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { descriptorOf, edited, type KindEdit, kindIn, mayBeOne, splitInto } from '../job/kinds.ts';
import { changeKinds, readKinds } from '../job/kinds-file.ts';
import { listJobs } from '../job/library.ts';
import { hasEngine } from '../pool/engine.ts';
import type { Answer } from '../pool/questions.ts';
import { readSettings } from '../run/settings.ts';
import type { KindChange, KindRow, KindsApi, KindsView, PoolQuestion } from './kinds-api.ts';
import type { ReadingRoom } from './reading-room.ts';

export class KindDesk implements KindsApi {
  readonly #library: string;
  readonly #room: ReadingRoom;
  readonly #settings: string | undefined;

  /** @param settings folder of the user's settings; absent: where the system keeps them */
  constructor(library: string, room: ReadingRoom, settings?: string) {
    this.#library = library;
    this.#room = room;
    this.#settings = settings;
  }

  async view(): Promise<KindsView> {
    const [kinds, { jobs }] = [await readKinds(this.#library), await listJobs(this.#library)];
    const by = new Map<string, Map<string, number>>();
    for (const { job } of jobs) {
      const kind = kindIn(kinds, job);
      const of = by.get(kind) ?? new Map<string, number>();
      const descriptor = descriptorOf(job.vin) ?? '';
      by.set(kind, of.set(descriptor, (of.get(descriptor) ?? 0) + 1));
    }
    const rows: KindRow[] = [...by]
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([kind, of]) => ({
        kind,
        mayBe: [...by.keys()].filter((o) => o !== '' && o !== kind && mayBeOne(o, kind)).sort(),
        jobs: [...of.values()].reduce((a, n) => a + n, 0),
        descriptors: [...of].filter(([d]) => d !== '').sort(([a], [b]) => (a < b ? -1 : 1)),
      }));
    const { pool } = readSettings(this.#settings);
    const isThere =
      pool !== undefined &&
      (await poolAt(pool).then(
        () => true,
        () => false,
      ));
    return {
      kinds: rows.filter((r) => r.kind !== ''),
      without: rows.find((r) => r.kind === '')?.jobs ?? 0,
      cars: jobs
        .filter(({ job }) => descriptorOf(job.vin) !== null || job.plate !== '')
        .map(({ job }) => ({ job: job.id, vehicle: job.vehicle, plate: job.plate })),
      canUndo: kinds.edits.length > 0,
      canRedo: kinds.undone.length > 0,
      pool: isThere ? pool : null,
      engine: hasEngine(),
    };
  }

  async change(change: KindChange): Promise<KindsView> {
    const { jobs } = await listJobs(this.#library);
    await changeKinds(this.#library, (kinds) => {
      if (change.is === 'undo' || change.is === 'redo') return edited(kinds, change.is);
      const known = new Set(jobs.map(({ job }) => kindIn(kinds, job)));
      for (const kind of change.is === 'merge' ? [change.from, change.into] : [change.from])
        if (kind === '' || !known.has(kind))
          throw new HandbackError('input.usage', saying('error.no-kind', { kind }));
      return edited(kinds, editOf(change));
    });
    return this.view();
  }

  /** In the thread that reads: below the recorder, and only the pool's files are read. */
  async ask(question: PoolQuestion, signal?: AbortSignal): Promise<Answer> {
    const { pool } = readSettings(this.#settings);
    if (pool === undefined) throw new HandbackError('input.usage', saying('error.pool-none'));
    return this.#room.ask('askPool', [pool, question], signal);
  }
}

function editOf(change: Exclude<KindChange, { is: 'undo' } | { is: 'redo' }>): KindEdit {
  if (change.is === 'merge') return change;
  const { from, descriptor, engine } = change;
  return { is: 'split', from, descriptor, into: splitInto(from, engine) };
}

/** Loaded by whoever looks at a pool: a drive needs nothing of it. */
const poolAt = async (folder: string) => (await import('../pool/pool.ts')).Pool.open(folder);
