/**
 * A serial port that is found again when the adapter comes back under another name: unplugged and plugged in elsewhere,
 * systems give out names by order of arrival. It is known by what the system says of the device (its by-id name, its
 * USB ids and serial number), not by its name. Where that says nothing, or names the socket too, as Windows does for a
 * device without a serial number, it is the one newcomer of its kind once its own port is gone.
 */
import { realpath } from 'node:fs/promises';
import type { Clock } from '../core/clock.ts';
import type { LinkFactory } from './link.ts';
import { listPorts, NO_DESCRIPTION, type PortInfo } from './ports.ts';
import { serialLinkFactory } from './serial.ts';

export interface FollowOptions {
  readonly clock: Clock;
  /** For tests: what is plugged in, and what a name leads to. */
  readonly list?: () => Promise<readonly PortInfo[]>;
  readonly factoryOf?: (path: string) => LinkFactory;
}

/** One look at the list serves so long: a search opens a port many times. */
const LOOK_US = 1e6;

/** @param path a device path, a symbolic link to one, or a Windows name such as COM3 */
export function followedLinkFactory(path: string, options: FollowOptions): LinkFactory {
  const { clock } = options;
  const list = options.list ?? (async () => (await listPorts()).ports);
  const factoryOf = options.factoryOf ?? ((p) => serialLinkFactory(p, { clock }));
  const first = factoryOf(path);
  let now = path;
  let adapter: { readonly port: PortInfo; readonly others: ReadonlySet<string> } | null = null;
  let lookedUs = Number.NEGATIVE_INFINITY;

  /** What is known of the port, once it was opened; null where the system does not list it as what an adapter may be. */
  const remember = async (): Promise<void> => {
    const ports = await list();
    const device = await realpath(now).catch(() => now);
    const port = ports.find((p) => p.path === device);
    if (port?.likelyAdapter)
      adapter = { port, others: new Set(ports.filter((p) => p !== port).map((p) => p.path)) };
  };

  /** The one newcomer that is the same device, or may be; never a port that stood beside it before. */
  const look = async (): Promise<void> => {
    if (!adapter || clock.nowUs() - lookedUs < LOOK_US) return;
    lookedUs = clock.nowUs();
    const { port, others } = adapter;
    const device = await realpath(now).catch(() => now);
    const ports = (await list()).filter((p) => !others.has(p.path));
    let same = ports.filter((p) => p.identity === port.identity && p.identity !== NO_DESCRIPTION);
    if (same.length === 0 && !ports.some((p) => p.path === device))
      same = ports.filter((p) => p.likelyAdapter && kindOf(p) === kindOf(port));
    if (same.length === 1 && same[0]!.path !== device) now = same[0]!.path;
  };

  return {
    name: path,
    baudRates: first.baudRates,
    async open(how) {
      await look();
      const link = await factoryOf(now).open(how);
      if (!adapter && lookedUs === Number.NEGATIVE_INFINITY) {
        lookedUs = clock.nowUs();
        await remember();
      }
      return link;
    },
  };
}

/** What devices of a kind have in common: their USB ids, or where nothing is known the name without its number. */
const kindOf = ({ identity, path }: PortInfo): string =>
  /USB [0-9a-f]{4}:[0-9a-f]{4}/.exec(identity)?.[0] ?? path.replace(/\d+$/, '');
