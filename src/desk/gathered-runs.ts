/** What comparing takes from runs, kept beside each where no places belong to it. */
import { type Gathered, Gathering, gatherParts } from '../compare/gather.ts';
import type { Profile } from '../core/profile.ts';
import type { Says } from '../core/says.ts';
import { Places } from '../nmea/places.ts';
import type { ImportOptions } from '../run/import/builder.ts';
import type { RunEntry } from '../run/library.ts';
import { COMPARED_FILE, type RunMeta } from '../run/meta.ts';
import { openRecording } from '../run/recording.ts';
import type { During } from '../run/types.ts';
import { hasJump } from '../signal/parts.ts';
import { keyOf } from './kept-judgement.ts';
import type { RecordedRuns } from './recorded-runs.ts';

export interface GatheredParts {
  readonly parts: readonly Gathered[];
  readonly warnings: readonly Says[];
}

export class GatheredRuns {
  readonly #recorded: RecordedRuns;

  constructor(recorded: RecordedRuns) {
    this.#recorded = recorded;
  }

  /** What comparing takes from a run under a profile; kept beside it where no places belong to it. */
  async of(entry: RunEntry, profile: Profile, during?: During): Promise<Gathered> {
    return (await this.#take(entry, profile, during)).gathered;
  }

  /** The same in parts where its time jumps, and what is odd about it. */
  async parts(entry: RunEntry, profile: Profile, during?: During): Promise<GatheredParts> {
    const { gathered, jumps, warnings } = await this.#take(entry, profile, during);
    if (!jumps) return { parts: [gathered], warnings };
    const places = new Places();
    const { table } = await this.#recorded.recording(entry, during, places);
    return { parts: gatherParts(table, profile, places), warnings };
  }

  /** The same of a capture or table by itself. @throws HandbackError input.*; the signal's reason */
  async ofFile(
    path: string,
    table: ImportOptions,
    profile: Profile,
    during?: During,
  ): Promise<GatheredParts & { readonly meta: RunMeta | null }> {
    const places = new Places();
    const { table: samples, warnings, meta } = await openRecording(path, table, during, places);
    return { parts: gatherParts(samples, profile, places), warnings, meta };
  }

  /** Whether what comparing takes is kept, if the capture is what run.json says: told without reading it. */
  async isKept({ folder, meta }: RunEntry, profile: Profile): Promise<boolean> {
    const under = comparedUnder(meta.sha256, profile);
    return (
      meta.sha256 !== null &&
      ((await this.#recorded.kept?.readAside(folder, COMPARED_FILE, under)) ?? null) !== null
    );
  }

  async #take(entry: RunEntry, profile: Profile, during?: During): Promise<Taken> {
    const { folder } = entry;
    const whole = await this.#recorded.wholeDigest(entry);
    const under = comparedUnder(whole, profile);
    const known =
      whole === null
        ? null
        : ((await this.#recorded.kept?.readAside(folder, COMPARED_FILE, under)) as KeptTaken);
    if (known) return { ...known, gathered: fromPlain(known.gathered) };
    const places = new Places();
    const { table, warnings } = await this.#recorded.recording(entry, during, places);
    const gathering = new Gathering(profile);
    for (const sample of table) gathering.push(sample);
    const gathered = gathering.finish(places);
    const taken = { gathered, jumps: hasJump(table), warnings };
    // Where it was driven is written nowhere but in the capture.
    if (whole !== null && gathered.pulls.every((p) => p.way === null)) {
      const kept: KeptTaken = { ...taken, gathered: toPlain(gathered) };
      await this.#recorded.kept?.writeAside(folder, COMPARED_FILE, under, kept);
    }
    return taken;
  }
}

/** What comparing takes from a run. */
interface Taken {
  readonly gathered: Gathered;
  /** Its time jumps by an hour or more. */
  readonly jumps: boolean;
  readonly warnings: readonly Says[];
}
type KeptTaken = Omit<Taken, 'gathered'> & { readonly gathered: PlainGathered };

const comparedUnder = (capture: string | null, profile: Profile): string =>
  keyOf([capture, profile, 'compared']);

/** As JSON takes it. */
type PlainGathered = Omit<Gathered, 'signals' | 'settledS'> & {
  readonly signals: readonly string[];
  readonly settledS: readonly (readonly [number, number])[];
};
const toPlain = (g: Gathered): PlainGathered => ({
  ...g,
  signals: [...g.signals],
  settledS: [...g.settledS],
});
const fromPlain = (g: PlainGathered): Gathered => ({
  ...g,
  signals: new Set(g.signals),
  settledS: new Map(g.settledS),
});
