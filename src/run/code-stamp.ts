import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { VERSION } from '../core/version.ts';

/** SHA-256 of this program's version and of the code of these rooms: what another build found out is found out anew. */
export function codeStamp(rooms: readonly string[]): string {
  const hash = createHash('sha256').update(VERSION);
  const root = new URL('../', import.meta.url);
  for (const room of rooms)
    for (const name of (readdirSync(new URL(room, root), { recursive: true }) as string[]).sort())
      if (/\.[jt]s$/.test(name)) hash.update(name).update(readFileSync(new URL(`${room}/${name}`, root)));
  return hash.digest('hex');
}
