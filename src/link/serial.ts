/** A serial port as a link: one port object per connection, closing bounded, never destroyed. */
import { SerialPort } from 'serialport';
import type { Clock } from '../core/clock.ts';
import { HandbackError, reasonOf } from '../core/errors.ts';
import { Inbox } from './inbox.ts';
import type { Link, LinkEvent, LinkFactory } from './link.ts';

/** Line speeds of adapters in the order worth trying, bit/s (common practice, no source). */
const BAUD_RATES = [38400, 115200, 9600, 230400, 500000, 1000000] as const;
const DRAIN_MS = 500;
const CLOSE_MS = 1000;
const SPEED_MS = 1000;
const OPEN_MS = 8000; // wireless serial ports connect while they open

class SerialLink implements Link {
  readonly name: string;
  readonly #port: SerialPort;
  readonly #clock: Clock;
  readonly #inbox = new Inbox();
  #closing: Promise<void> | null = null;

  constructor(port: SerialPort, clock: Clock) {
    this.name = port.path;
    this.#port = port;
    this.#clock = clock;
    port.on('data', (bytes: Buffer) => this.#inbox.data(clock.nowUs(), Uint8Array.from(bytes)));
    port.on('close', (err: Error | null) =>
      this.#inbox.gone(clock.nowUs(), err ? `${port.path} vanished: ${inWords(err)}` : `${port.path} closed`),
    );
    // An 'error' without a listener would end the process.
    port.on('error', (err: Error) => {
      if (!port.isOpen) this.#inbox.gone(clock.nowUs(), `${port.path} failed: ${inWords(err)}`);
    });
  }

  listen(listener: (event: LinkEvent) => void): void {
    this.#inbox.listen(listener);
  }

  write(bytes: Uint8Array): Promise<void> {
    return new Promise((resolve, reject) => {
      if (!this.#port.isOpen || this.#closing) {
        reject(new HandbackError('link.lost', `${this.name} is closed.`));
        return;
      }
      this.#port.write(Buffer.from(bytes), (err) => {
        if (err) reject(new HandbackError('link.lost', `${this.name}: ${inWords(err)}`, { cause: err }));
        else resolve();
      });
    });
  }

  readonly setBaud = async (baud: number): Promise<boolean> => {
    if (!this.#port.isOpen || this.#closing) return false;
    let done = false;
    await within(this.#clock, SPEED_MS, (end) => {
      // What still waits to be sent belongs to the old speed.
      this.#port.drain(() => {
        if (!this.#port.isOpen) return end();
        this.#port.update({ baudRate: baud }, (err) => {
          done = !err;
          end();
        });
      });
    });
    return done;
  };

  close(): Promise<void> {
    this.#closing ??= this.#shut();
    return this.#closing;
  }

  async #shut(): Promise<void> {
    this.#inbox.end();
    if (!this.#port.isOpen) return;
    await within(this.#clock, DRAIN_MS, (done) => this.#port.drain(done));
    if (this.#port.isOpen) await within(this.#clock, CLOSE_MS, (done) => this.#port.close(done));
  }
}

/** The library gives the system's words without their code. */
function inWords(err: Error): string {
  return /bad file descriptor|input\/output error|no such device|EBADF|EIO|ENXIO|ENODEV|Unknown error code/i.test(
    err.message,
  )
    ? 'the device is gone: was the plug pulled?'
    : reasonOf(err);
}

/** Calls `start` and waits for its callback, at most `ms`. */
function within(clock: Clock, ms: number, start: (done: () => void) => void): Promise<void> {
  return new Promise((resolve) => {
    const timer = clock.after(ms, resolve);
    start(() => {
      timer.cancel();
      resolve();
    });
  });
}

/** @param path a device path, a symbolic link to one, or a Windows name such as COM3. */
export function serialLinkFactory(path: string, options: { readonly clock: Clock }): LinkFactory {
  const { clock } = options;
  return {
    name: path,
    baudRates: BAUD_RATES,
    open: ({ baud }) =>
      new Promise<Link>((resolve, reject) => {
        let port: SerialPort;
        let over = false;
        const fail = (cause: unknown) => {
          over = true;
          timer.cancel();
          reject(openError(path, cause));
        };
        const timer = clock.after(OPEN_MS, () => fail(new Error('opening took too long')));
        try {
          port = new SerialPort({ path, baudRate: baud ?? BAUD_RATES[0], autoOpen: false });
        } catch (cause) {
          fail(cause);
          return;
        }
        port.open((err) => {
          if (over) {
            port.on('error', () => undefined);
            if (!err) port.close(() => undefined);
          } else if (err) fail(err);
          else {
            timer.cancel();
            resolve(new SerialLink(port, clock));
          }
        });
      }),
  };
}

/** What systems say about a port that cannot be opened, and what the technician can do about it. */
const OPEN_FAILURES: readonly {
  readonly pattern: RegExp;
  readonly code: 'link.open' | 'link.busy';
  readonly says: (path: string) => string;
  readonly hint: string;
}[] = [
  {
    pattern: /lock|busy|temporarily unavailable|access denied/i,
    code: 'link.busy',
    says: (p) => `${p} is in use by another program.`,
    hint: 'Close the other program that uses the adapter, then connect again.',
  },
  {
    pattern: /permission denied|EACCES|EPERM/i,
    code: 'link.open',
    says: (p) => `This user may not open ${p}.`,
    hint: 'On Linux add the user to the group that owns the port (often "dialout"), log in again, then connect.',
  },
  {
    pattern: /no such file|ENOENT|file not found|no such device|ENXIO|ENODEV/i,
    code: 'link.open',
    says: (p) => `There is no port ${p}.`,
    hint: 'Plug the adapter in, or pair it if it is wireless, and choose it from the list of ports.',
  },
  {
    pattern: /took too long/,
    code: 'link.open',
    says: (p) => `${p} did not open within ${OPEN_MS / 1000} s.`,
    hint: 'Is the adapter powered (plugged into the vehicle) and near? Unplug it, plug it in again, then connect.',
  },
];

export function openError(path: string, cause: unknown): HandbackError {
  const reason = cause instanceof Error ? cause.message : String(cause);
  const known = OPEN_FAILURES.find((f) => f.pattern.test(reason));
  if (known) return new HandbackError(known.code, known.says(path), { hint: known.hint, cause });
  return new HandbackError('link.open', `${path} cannot be opened: ${reason}.`, {
    hint: 'Choose a serial port or pseudo-terminal; unplug the adapter and plug it in again.',
    cause,
  });
}
