/** The program itself: where its library is, and its orderly end. */
import { existsSync } from 'node:fs';
import { access, constants, readFile } from 'node:fs/promises';
import { isAbsolute, resolve } from 'node:path';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { VERSION } from '../core/version.ts';
import { makeFolder } from '../run/meta.ts';
import { readSettings, writeSettings } from '../run/settings.ts';
import type { DaemonApi } from './api.ts';
import type { HouseApi, HouseView } from './house-api.ts';
import { reportOf } from './report.ts';

export interface HouseOptions {
  readonly daemon: Pick<DaemonApi, 'state'> & { transcript?(): readonly string[] };
  /** File with the licences of what is inside. */
  readonly licences?: string;
  /** What the program wrote into its log. */
  readonly log?: () => readonly string[];
  readonly library: string;
  /** False when the library was named at the start. */
  readonly changeable: boolean;
  /** Ends the program; a recording is ended and kept. */
  readonly end: () => void;
  /** Where settings are; absent: where the system keeps them. */
  readonly settings?: string;
}

export class House implements HouseApi {
  readonly #o: HouseOptions;

  constructor(options: HouseOptions) {
    this.#o = options;
  }

  view(): HouseView {
    const { changeable, licences, settings } = this.#o;
    const folder = resolve(this.#o.library);
    const chosen = changeable ? readSettings(settings).library : undefined;
    const next = chosen === undefined || resolve(chosen) === folder ? null : resolve(chosen);
    return {
      version: VERSION,
      licences: licences !== undefined && existsSync(licences),
      library: { folder, next, changeable },
    };
  }

  async licences(): Promise<string | null> {
    const { licences } = this.#o;
    return licences === undefined ? null : readFile(licences, 'utf8').catch(() => null);
  }

  report(): Promise<string> {
    const { daemon, library, log } = this.#o;
    return reportOf({
      library,
      at: new Date(),
      state: daemon.state(),
      transcript: daemon.transcript?.() ?? [],
      log: log?.() ?? [],
    });
  }

  async chooseLibrary(folder: string): Promise<HouseView> {
    if (!this.#o.changeable) throw new HandbackError('input.usage', saying('error.library-named'));
    if (!isAbsolute(folder)) throw new HandbackError('input.usage', saying('error.folder-whole'));
    try {
      await makeFolder(folder);
      await access(folder, constants.W_OK);
    } catch (cause) {
      throw new HandbackError(
        'library.path',
        saying('error.folder-not-made', { path: folder, why: toldOf(cause) }),
        { cause },
      );
    }
    const { settings } = this.#o;
    await writeSettings({ ...readSettings(settings), library: resolve(folder) }, settings);
    return this.view();
  }

  async quit(endRecording: boolean): Promise<void> {
    if (this.#o.daemon.state().run !== null && !endRecording)
      throw new HandbackError('run.busy', saying('error.quit-recording'), {
        hint: saying('error.quit-recording-hint'),
      });
    this.#o.end();
  }
}
