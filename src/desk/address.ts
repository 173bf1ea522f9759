/**
 * Where the daemon of a library answers: written beside the library's lock, so that a second start finds the first. Of a
 * library that may not be written it is kept with the user's settings.
 */
import { createHash } from 'node:crypto';
import { chmod, readFile, rm } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { refuseReadOnly } from '../run/library-format.ts';
import { makeFolder, replaceFile } from '../run/meta.ts';
import { settingsFolder } from '../run/settings.ts';

const FILE = 'address.json';
const ANSWER_MS = 3000;

/**
 * The address may carry the token, so only the user may read it.
 * @param settings folder of the user's settings
 * @returns what takes it back
 */
export async function tellAddress(
  library: string,
  url: string,
  settings: string = settingsFolder(),
): Promise<() => Promise<void>> {
  const path = (await mayWrite(library)) ? join(library, FILE) : asideIn(settings, library);
  try {
    if (path !== join(library, FILE)) await makeFolder(settings);
    await replaceFile(path, `${JSON.stringify({ url })}\n`);
    await chmod(path, 0o600);
  } catch {
    return async () => undefined; // a library that cannot be written is still shown
  }
  return () => rm(path, { force: true });
}

/** The address of the daemon that has this library and answers; null where there is none. */
export async function addressOf(
  library: string,
  settings: string = settingsFolder(),
): Promise<string | null> {
  const holder = await answering(join(library, FILE));
  // One that only reads is passed over by a program that may write.
  return holder ?? ((await mayWrite(library)) ? null : answering(asideIn(settings, library)));
}

const mayWrite = (library: string): Promise<boolean> =>
  refuseReadOnly(library).then(
    () => true,
    () => false,
  );

function asideIn(settings: string, library: string): string {
  const name = createHash('sha256').update(resolve(library)).digest('hex').slice(0, 16);
  return join(settings, `address-${name}.json`);
}

async function answering(file: string): Promise<string | null> {
  try {
    const { url } = JSON.parse(await readFile(file, 'utf8')) as { readonly url: string };
    const { protocol, hostname, origin, searchParams } = new URL(url);
    // The file is no more than a hint: nothing but this computer is asked.
    if (protocol !== 'http:' || !/^(localhost|127\.\d+\.\d+\.\d+|\[::1\])$/.test(hostname)) return null;
    const answer = await fetch(`${origin}/api/state`, {
      headers: { 'x-handback-token': searchParams.get('token') ?? '' },
      redirect: 'error',
      signal: AbortSignal.timeout(ANSWER_MS),
    });
    const state = (await answer.json()) as { readonly version?: unknown };
    return answer.ok && typeof state.version === 'string' ? url : null;
  } catch {
    return null;
  }
}
