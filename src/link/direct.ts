/**
 * The port's library reads and writes in the pool of threads, and reads first and waits afterwards: of a few bytes that
 * come a hundred times a second most of the work is waking threads. The descriptor never blocks, so what is there can
 * be taken, and a short request given, in this thread. Whatever else happens is the library's own way: ends, errors, a
 * line that takes no more, and Windows, where there is no such descriptor.
 */
import { readSync, writeSync } from 'node:fs';
import { SerialPort } from 'serialport';

type Binding = typeof SerialPort.binding;
type Port = Awaited<ReturnType<Binding['open']>>;

/** A port of the library's on Linux or macOS. */
interface Polled {
  /** Null when closed. */
  readonly fd: number | null;
  readonly poller: {
    on(event: 'readable', heard: (err: Error | null) => void): unknown;
    off(event: 'readable', heard: (err: Error | null) => void): unknown;
    /** Waits for these of libuv's events, and no longer for others. */
    poll(events: number): void;
    listenerCount(event: keyof typeof EVENTS): number;
  };
}

/** As libuv has them. */
const EVENTS = { readable: 1, writable: 2 } as const;

/** Reads and writes of an open port in this thread. */
export interface Direct {
  /**
   * Reads into `buffer` whenever something comes and says how many bytes those are, without a promise for each.
   * Resolves where the library has to read the next; rejects when waiting was canceled or failed.
   */
  take(buffer: Uint8Array, heard: (bytes: number) => void): Promise<void>;
  /** Writes what the line takes at once. @returns so many bytes */
  give(bytes: Uint8Array): number;
}

const DIRECT = new WeakMap<Port, Direct>();

/** Null where all is left to the library. */
export const directOf = (port: Port): Direct | null => DIRECT.get(port) ?? null;

/** The library's binding; what it opens can be read and written in this thread where that is possible. */
export const directBinding: Binding = {
  ...SerialPort.binding,
  open: async (options: never): Promise<Port> => {
    const port = await SerialPort.binding.open(options);
    if (isPolled(port)) DIRECT.set(port, direct(port));
    return port;
  },
} as Binding;

function isPolled(port: Port): port is Port & Polled {
  const { fd, poller } = port as Partial<Polled>;
  return (
    typeof fd === 'number' && fd > 0 && typeof poller?.on === 'function' && typeof poller.poll === 'function'
  );
}

function direct(port: Port & Polled): Direct {
  const update = port.update;
  const { poller } = port;
  const poll = poller.poll;
  // Who waits to write must not end the waiting of who reads, nor the other way round: with both directions full that is for ever.
  poller.poll = (events: number) => {
    const read = poller.listenerCount('readable') > 0 ? EVENTS.readable : 0;
    const write = poller.listenerCount('writable') > 0 ? EVENTS.writable : 0;
    poll.call(poller, events | read | write);
  };
  /** While the line changes its speed the driver may hold whoever reads or writes for seconds. */
  let changing = 0;
  port.update = async (options) => {
    changing++;
    try {
      await update.call(port, options);
    } finally {
      changing--;
    }
  };
  const now = <T>(call: (fd: number) => T): T | null => {
    if (port.fd === null || changing > 0) return null;
    try {
      return call(port.fd);
    } catch {
      return null; // the library's way tells why
    }
  };

  return {
    take: (buffer, heard) =>
      new Promise((resolve, reject) => {
        const onReadable = (err: Error | null): void => {
          const bytes = err ? null : now((fd) => readSync(fd, buffer, 0, buffer.length, null));
          if (bytes !== null && bytes > 0) {
            poller.poll(EVENTS.readable);
            heard(bytes);
            return;
          }
          poller.off('readable', onReadable);
          if (err) reject(err);
          else resolve();
        };
        if (now(() => true) === null) return resolve();
        poller.on('readable', onReadable);
        poller.poll(EVENTS.readable);
      }),
    give: (bytes) => now((fd) => writeSync(fd, bytes)) ?? 0,
  };
}
