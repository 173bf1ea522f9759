/** What one user chose on this computer for all later starts: where the library is. A file in the user's settings. */
import { readFileSync } from 'node:fs';
import { homedir } from 'node:os';
import { isAbsolute, join } from 'node:path';
import { z } from 'zod';
import { makeFolder, replaceFile } from './meta.ts';

const settingsSchema = z.object({
  /** Absolute. */
  library: z.string().max(4096).refine(isAbsolute).optional(),
  /** The pool that was added to last, absolute; the page asks it. */
  pool: z.string().max(4096).refine(isAbsolute).optional(),
});
export type Settings = z.output<typeof settingsSchema>;

/** Where the system keeps settings of users. */
export function settingsFolder(
  env: NodeJS.ProcessEnv = process.env,
  platform: NodeJS.Platform = process.platform,
  home: string = homedir(),
): string {
  if (platform === 'win32') return join(env.APPDATA ?? join(home, 'AppData', 'Roaming'), 'Handback');
  if (platform === 'darwin') return join(home, 'Library', 'Preferences', 'Handback');
  const xdg = env.XDG_CONFIG_HOME;
  return join(xdg?.startsWith('/') ? xdg : join(home, '.config'), 'handback');
}

const FILE = 'settings.json';

/** Nothing chosen where the file is missing or is not one of ours: a broken setting must not keep anyone from starting. */
export function readSettings(folder: string = settingsFolder()): Settings {
  try {
    return settingsSchema.parse(JSON.parse(readFileSync(join(folder, FILE), 'utf8')));
  } catch {
    return {};
  }
}

/** @throws HandbackError run.write */
export async function writeSettings(settings: Settings, folder: string = settingsFolder()): Promise<void> {
  await makeFolder(folder);
  await replaceFile(join(folder, FILE), `${JSON.stringify(settings, null, 2)}\n`);
}
