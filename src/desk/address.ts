/** Where the daemon of a library answers: written beside the library's lock, so that a second start finds the first. */
import { chmod, readFile, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { replaceFile } from '../run/meta.ts';

const FILE = 'address.json';
const ANSWER_MS = 3000;

/** The address may carry the token, so only the user may read it. @returns what takes it back */
export async function tellAddress(library: string, url: string): Promise<() => Promise<void>> {
  const path = join(library, FILE);
  try {
    await replaceFile(path, `${JSON.stringify({ url })}\n`);
    await chmod(path, 0o600);
  } catch {
    return async () => undefined; // a library that cannot be written is still shown
  }
  return () => rm(path, { force: true });
}

/** The address of the daemon that has this library and answers; null where there is none. */
export async function addressOf(library: string): Promise<string | null> {
  try {
    const { url } = JSON.parse(await readFile(join(library, FILE), 'utf8')) as { readonly url: string };
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
