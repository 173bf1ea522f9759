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
    once(event: 'readable', heard: (err: Error | null) => void): unknown;
    /** Waits for these of libuv's events, and no longer for others. */
    poll(events: number): void;
    listenerCount(event: keyof typeof EVENTS): number;
  };
}

/** As libuv has them. */
const EVENTS = { readable: 1, writable: 2 } as const;

/** The library's binding; reads and writes of what it opens are made in this thread where they can be. */
export const directBinding: Binding = {
  ...SerialPort.binding,
  open: async (options: never): Promise<Port> => {
    const port = await SerialPort.binding.open(options);
    if (isPolled(port)) makeDirect(port);
    return port;
  },
} as Binding;

function isPolled(port: Port): port is Port & Polled {
  const { fd, poller } = port as Partial<Polled>;
  return (
    typeof fd === 'number' &&
    fd > 0 &&
    typeof poller?.once === 'function' &&
    typeof poller.poll === 'function'
  );
}

function makeDirect(port: Port & Polled): void {
  const own = { read: port.read, write: port.write, update: port.update };
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

  port.read = (buffer, offset, length) => {
    const { fd } = port;
    if (fd === null || changing > 0) return own.read.call(port, buffer, offset, length);
    return new Promise((resolve, reject) => {
      poller.once('readable', (err) => {
        if (err) return reject(err);
        let bytesRead = 0;
        if (port.fd === fd && changing === 0) {
          try {
            bytesRead = readSync(fd, buffer, offset, length, null);
          } catch {
            // the library's way tells why
          }
        }
        resolve(bytesRead > 0 ? { bytesRead, buffer } : own.read.call(port, buffer, offset, length));
      });
    });
  };

  port.write = (buffer) => {
    const { fd } = port;
    let written = 0;
    if (fd !== null && changing === 0) {
      try {
        written = writeSync(fd, buffer);
      } catch {
        // as above
      }
    }
    return written === buffer.length
      ? Promise.resolve()
      : own.write.call(port, written === 0 ? buffer : buffer.subarray(written));
  };

  port.update = async (options) => {
    changing++;
    try {
      await own.update.call(port, options);
    } finally {
      changing--;
    }
  };
}
