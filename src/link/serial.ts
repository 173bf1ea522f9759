/** A serial port as a link: one port object per connection, closing bounded, never destroyed. */
import { readFileSync, statSync } from 'node:fs';
import { stat } from 'node:fs/promises';
import { userInfo } from 'node:os';
import { SerialPort } from 'serialport';
import type { Clock, Timer } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { asIs, type Says } from '../core/says.ts';
import { say } from '../core/wire-says.ts';
import { type Direct, directBinding, directOf } from './direct.ts';
import { Inbox } from './inbox.ts';
import type { Link, LinkEvent, LinkFactory } from './link.ts';

/** Line speeds of adapters in the order worth trying, bit/s (common practice, no source). */
const BAUD_RATES = [38400, 115200, 9600, 230400, 500000, 1000000] as const;
const READ_BYTES = 1 << 16;
const DRAIN_MS = 500;
const SERIAL_CLOSE_MS = 1000;
const SPEED_MS = 1000;
const SERIAL_OPEN_MS = 8000; // wireless serial ports connect while they open
/** How often it is seen to that the device is still there. */
const DEVICE_LOOK_MS = 1000;

class SerialLink implements Link {
  readonly name: string;
  readonly #port: SerialPort;
  readonly #clock: Clock;
  readonly #inbox = new Inbox();
  #closing: Promise<void> | null = null;
  #look: Timer | null = null;
  readonly #direct: Direct | null;
  /** Writes that the library was given and has not made yet: what comes meanwhile goes behind them. */
  #writing = 0;
  /** What went wrong first: whatever waits is canceled then, and the stream ends without a reason. */
  #failed: Error | null = null;

  constructor(port: SerialPort, clock: Clock) {
    this.name = port.path;
    this.#port = port;
    this.#clock = clock;
    this.#direct = directOf(port.port!);
    void this.#read();
    port.on('close', (reason?: Error | null) => {
      this.#look?.cancel();
      const err = reason ?? this.#failed;
      this.#inbox.gone(
        clock.nowUs(),
        err
          ? say('wire.vanished', { link: port.path, why: inWords(err) })
          : say('wire.closed', { link: port.path }),
      );
    });
    if (process.platform !== 'win32') this.#lookAgain();
    // An 'error' without a listener would end the process.
    port.on('error', (err: Error) => {
      if (canceled(err)) return;
      this.#failed ??= err;
      if (!port.isOpen)
        this.#inbox.gone(clock.nowUs(), say('wire.failed', { link: port.path, why: inWords(this.#failed) }));
    });
  }

  listen(listener: (event: LinkEvent) => void): void {
    this.#inbox.listen(listener);
  }

  write(bytes: Uint8Array): Promise<void> {
    return new Promise((resolve, reject) => {
      if (!this.#port.isOpen || this.#closing) {
        reject(new HandbackError('link.lost', saying('error.link-closed', { link: this.name })));
        return;
      }
      const given = this.#writing === 0 ? (this.#direct?.give(bytes) ?? 0) : 0;
      if (given === bytes.length) {
        resolve();
        return;
      }
      this.#writing++;
      this.#port.write(Buffer.from(bytes.subarray(given)), (err) => {
        this.#writing--;
        if (err)
          reject(
            new HandbackError(
              'link.lost',
              saying('error.link-failed', { link: this.name, why: inWords(err) }),
              { cause: err },
            ),
          );
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

  /** What comes goes straight to the inbox, without a stream between them. */
  async #read(): Promise<void> {
    const buffer = Buffer.allocUnsafe(READ_BYTES);
    while (this.#port.isOpen) {
      let n: number;
      try {
        await this.#direct?.take(buffer, (bytes) => this.#came(buffer, bytes));
        n = (await this.#port.port!.read(buffer, 0, buffer.length)).bytesRead;
      } catch (thrown) {
        // It was closed, or its speed changes.
        if (canceled(thrown)) continue;
        this.#failed ??= thrown as Error;
        if (this.#port.isOpen) this.#port.close(undefined, thrown as Error);
        return;
      }
      if (n === 0) return; // nothing comes any more
      this.#came(buffer, n);
    }
  }

  #came(buffer: Uint8Array, bytes: number): void {
    this.#inbox.data(this.#clock.nowUs(), new Uint8Array(buffer.subarray(0, bytes)));
  }

  /**
   * A device that vanishes while a read is on its way gives no bytes, and the port's library takes that for a reason to
   * read again at once, for ever: whoever only listens would never hear of it.
   */
  #lookAgain(): void {
    this.#look = this.#clock.after(DEVICE_LOOK_MS, () => {
      stat(this.name)
        .then(
          () => false,
          (e: NodeJS.ErrnoException) => e.code === 'ENOENT',
        )
        .then((unplugged) => {
          if (!this.#port.isOpen || this.#closing) return;
          if (!unplugged) return this.#lookAgain();
          const why = saying('reason.unplugged');
          this.#inbox.gone(this.#clock.nowUs(), say('wire.vanished', { link: this.name, why }));
          this.#port.close(() => undefined);
        });
    });
  }

  async #shut(): Promise<void> {
    this.#look?.cancel();
    this.#inbox.end();
    if (!this.#port.isOpen) return;
    await within(this.#clock, DRAIN_MS, (done) => this.#port.drain(done));
    if (this.#port.isOpen) await within(this.#clock, SERIAL_CLOSE_MS, (done) => this.#port.close(done));
  }
}

const canceled = (thrown: unknown): boolean => (thrown as { canceled?: boolean }).canceled === true;

/** The library gives the system's words without their code. */
function inWords(err: Error): Says {
  return /bad file descriptor|input\/output error|no such device|EBADF|EIO|ENXIO|ENODEV|Unknown error code/i.test(
    err.message,
  )
    ? saying('reason.unplugged')
    : toldOf(err);
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
        const timer = clock.after(SERIAL_OPEN_MS, () => fail(new Error('opening took too long')));
        try {
          const named = { path, baudRate: baud ?? BAUD_RATES[0], autoOpen: false };
          port = new SerialPort(Object.assign(named, { binding: directBinding }));
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
  readonly says: (port: string) => Says;
  readonly hint: (port: string) => Says;
}[] = [
  {
    pattern: /lock|busy|temporarily unavailable|access denied/i,
    code: 'link.busy',
    says: (port) => saying('error.port-busy', { port }),
    hint: () => saying('error.port-busy-hint'),
  },
  {
    pattern: /permission denied|EACCES|EPERM/i,
    code: 'link.open',
    says: (port) => saying('error.port-forbidden', { port }),
    hint: (port) => saying('error.port-forbidden-hint', { group: groupOf(port), user: user() }),
  },
  {
    pattern: /no such file|ENOENT|file not found|no such device|ENXIO|ENODEV/i,
    code: 'link.open',
    says: (port) => saying('error.no-port', { port }),
    hint: () => saying('error.no-port-hint'),
  },
  {
    pattern: /took too long/,
    code: 'link.open',
    says: (port) => saying('error.port-slow', { port, s: SERIAL_OPEN_MS / 1000 }),
    hint: () => saying('error.port-slow-hint'),
  },
];

function user(): string {
  try {
    return userInfo().username;
  } catch {
    return 'NAME'; // a user that the system does not list
  }
}

/** The group that owns a port, by group(5); dialout, which most Linux systems use, where it cannot be told. */
function groupOf(path: string): string {
  try {
    const { gid } = statSync(path);
    const entries = readFileSync('/etc/group', 'utf8').split('\n');
    const name = entries.map((e) => e.split(':')).find((e) => e[2] === String(gid))?.[0];
    return name !== undefined && name !== 'root' && /^[a-z_][a-z0-9_-]*$/.test(name) ? name : 'dialout';
  } catch {
    return 'dialout';
  }
}

export function openError(path: string, cause: unknown): HandbackError {
  const reason = cause instanceof Error ? cause.message : String(cause);
  const known = OPEN_FAILURES.find((f) => f.pattern.test(reason));
  if (known) return new HandbackError(known.code, known.says(path), { hint: known.hint(path), cause });
  return new HandbackError('link.open', saying('error.port-not-opened', { port: path, why: asIs(reason) }), {
    hint: saying('error.port-not-opened-hint'),
    cause,
  });
}
