/**
 * What makes names of cars out of their numbers: an HMAC with a secret that lies outside the pool. Without it a pool
 * does not tell which car a row is of, though a number has few digits and could be tried through; with it the same car
 * has the same name wherever it is taken in.
 */
import { createHmac, randomBytes } from 'node:crypto';
import { open, readFile } from 'node:fs/promises';
import { dirname } from 'node:path';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { makeFolder } from '../run/meta.ts';

/** In the user's settings. */
export const SECRET_FILE = 'pool-secret';
const HEX_DIGITS = 64;

export class Secret {
  readonly #key: Buffer;

  constructor(key: Uint8Array) {
    this.#key = Buffer.from(key);
  }

  /** 20 hex digits. `what` keeps names of different things apart. */
  name(what: 'car' | 'case' | 'forgotten' | 'pool', text: string): string {
    return createHmac('sha256', this.#key).update(`${what}:${text}`).digest('hex').slice(0, 20);
  }
}

/**
 * The secret in a file, 64 hex digits; made, readable for the user alone, where there is none.
 * @throws HandbackError input.file, input.format, run.write
 */
export async function secretIn(path: string): Promise<Secret> {
  const known = await readFile(path, 'utf8').catch((thrown: NodeJS.ErrnoException) => {
    if (thrown.code === 'ENOENT') return null;
    throw new HandbackError('input.file', saying('error.not-read', { path, why: toldOf(thrown) }));
  });
  if (known !== null) return secretOf(known, path);
  const fresh = randomBytes(HEX_DIGITS / 2).toString('hex');
  try {
    await makeFolder(dirname(path));
    const file = await open(path, 'wx', 0o600);
    try {
      await file.writeFile(`${fresh}\n`);
      await file.sync();
    } finally {
      await file.close();
    }
    return secretOf(fresh, path);
  } catch (thrown) {
    if ((thrown as NodeJS.ErrnoException).code === 'EEXIST')
      return secretOf(await readFile(path, 'utf8'), path);
    throw new HandbackError('run.write', saying('error.not-written', { path, why: toldOf(thrown) }));
  }
}

function secretOf(text: string, path: string): Secret {
  const hex = text.trim();
  if (!new RegExp(`^[0-9a-f]{${HEX_DIGITS}}$`).test(hex))
    throw new HandbackError('input.format', saying('error.pool-no-secret', { path }));
  return new Secret(Buffer.from(hex, 'hex'));
}
