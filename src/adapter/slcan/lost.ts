/**
 * What a line with a CAN frame can turn into when characters of it are lost on the way to the adapter. There is no
 * echo to compare with, so the line itself has to be harmless, whatever is lost. Adapters are read as loosely as any
 * is: a frame begins at the start of the line, takes the digits that its length asks for, and what follows is passed
 * over; a line with fewer is refused. Common practice, from memory. ISO 15765-2, from memory: a single frame says its
 * length in the low half of its first byte, and one that says more than came, or nothing, is ignored.
 */
import { LRUCache } from 'lru-cache';
import type { Permission } from '../dialect.ts';

/**
 * Services that control units could be asked for, whatever is lost; the intended one among them.
 * @param line `t` or `T`, address, length, data; upper-case hex
 */
export function couldAsk(line: string): ReadonlySet<number> {
  const idLength = line[0] === 'T' ? 8 : 3;
  const value = Array.from(line.slice(1), (c) => Number.parseInt(c, 16));
  const services = new Set<number>();
  // Any `idLength` of the digits in front may be left for the address: the one meant, or somebody else's.
  for (let length = idLength; length < value.length; length++) {
    const bytes = value[length]!;
    if (bytes < 2 || bytes > 8) continue; // one byte has no room for a service
    const last = value.length - 2 * bytes; // the digits behind have to be enough
    for (let kind = length + 1; kind <= last; kind++) {
      if (value[kind] !== 0) continue;
      for (let says = kind + 1; says <= last + 1; says++) {
        if (value[says]! < 1 || value[says]! > bytes - 1) continue;
        for (let high = says + 1; high <= last + 2; high++)
          for (let low = high + 1; low <= last + 3; low++) services.add(value[high]! * 16 + value[low]!);
      }
    }
  }
  return services;
}

/** A drive asks the same few hundred lines again and again. */
const KNOWN = new LRUCache<string, boolean>({ max: 2000 });

/** Nothing but `service`, reading ones and 00, which is no service in any standard, can become of it. */
export function isHarmless(line: string, service: number | null, may: Permission): boolean {
  const key = `${service} ${line}`;
  const known = KNOWN.get(key);
  if (known !== undefined) return known;
  const harmless = [...couldAsk(line)].every((s) => s === 0 || s === service || may.reads(s));
  KNOWN.set(key, harmless);
  return harmless;
}
