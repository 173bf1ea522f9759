/** A pseudo-terminal whose master end is the simulated adapter: any program can open its port like a serial port. */

import { closeSync, lstatSync, readlinkSync, renameSync, symlinkSync, unlinkSync, writeSync } from 'node:fs';
import { createRequire } from 'node:module';
import { ReadStream } from 'node:tty';
import type { Clock, Timer } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import type { HostWire } from './front/front.ts';

export interface Pty extends HostWire {
  /** Path for the host to open: the stable link when one was asked for, else the terminal itself. */
  readonly port: string;
  /** Bytes that the host wrote. */
  listen(listener: (bytes: Uint8Array) => void): void;
  close(): void;
}

/** What waits for a host that reads slowly; more is lost, as on a serial line without flow control. */
const PENDING_LIMIT = 65_536;
const RETRY_MS = 2;
/** Bytes lying unread this long are thrown away: nobody has the port open, so on a real line they would be gone. */
const UNREAD_MS = 400;

interface NativeTerminal {
  openpty(): { master: number; slave: number; path: string };
  makeRaw(fd: number): void;
  /** Bytes in the host's receive buffer. */
  unread(fd: number): number;
  discardUnread(fd: number): void;
  baud(fd: number): number | null;
  closeOnExec(fd: number): void;
  neverBlock(fd: number): void;
}

/**
 * Opens a pseudo-terminal. The slave end is held open here too, so that the master survives a host that closes.
 * @param at path of a symbolic link to keep pointing at the terminal; replaced if it is a link already
 * @throws HandbackError link.open where pseudo-terminals are missing, or when `at` is taken by something else
 */
export function openPty({ clock, at }: { clock: Clock; at?: string }): Pty {
  const native = nativeTerminal();
  const { master, slave, path } = native.openpty();
  native.makeRaw(slave);
  native.closeOnExec(master);
  native.closeOnExec(slave);
  const stream = new ReadStream(master);
  native.neverBlock(master); // the stream leaves it blocking, and a write to a full terminal would stop everything
  let closed = false;
  const shut = (): void => {
    if (closed) return;
    closed = true;
    retry?.cancel();
    stream.destroy();
    closeSync(slave);
    if (at !== undefined && linkTarget(at) === path) unlinkSync(at);
  };

  let pending: Uint8Array = new Uint8Array(0);
  let retry: Timer | null = null;
  let unreadSinceUs: number | null = null;
  let unreadBytes = 0;
  const dropWhatNobodyReads = (): void => {
    const unread = native.unread(slave);
    if (unread === 0 || unread < unreadBytes) unreadSinceUs = null;
    unreadBytes = unread;
    if (unread === 0) return;
    unreadSinceUs ??= clock.nowUs();
    if (clock.nowUs() - unreadSinceUs < UNREAD_MS * 1000) return;
    native.discardUnread(slave);
    pending = new Uint8Array(0);
    unreadSinceUs = null;
  };
  const flush = (): void => {
    if (closed) return;
    dropWhatNobodyReads();
    try {
      while (pending.length > 0) pending = pending.subarray(writeSync(master, pending));
    } catch {
      // The terminal's buffer is full (EAGAIN): the host has not read yet. Try again soon, without spinning.
      retry ??= clock.after(RETRY_MS, () => {
        retry = null;
        flush();
      });
    }
  };

  let listener: ((bytes: Uint8Array) => void) | null = null;
  stream.on('data', (bytes: Buffer) => listener?.(new Uint8Array(bytes)));
  stream.on('error', () => undefined); // a vanished terminal ends in 'close'; there is nobody to tell

  try {
    if (at !== undefined) keepLink(at, path);
  } catch (thrown) {
    shut();
    throw thrown;
  }
  return {
    port: at ?? path,
    listen(fn) {
      listener = fn;
    },
    write(bytes) {
      if (closed || pending.length + bytes.length > PENDING_LIMIT) return;
      const joined = new Uint8Array(pending.length + bytes.length);
      joined.set(pending);
      joined.set(bytes, pending.length);
      pending = joined;
      if (retry === null) flush();
    },
    hostBaud: () => native.baud(slave),
    close: shut,
  };
}

function keepLink(at: string, target: string): void {
  if (linkTarget(at) === 'not a link')
    throw new HandbackError('link.open', saying('error.pty-taken', { path: at }), {
      hint: saying('error.pty-taken-hint'),
    });
  const fresh = `${at}.${process.pid}.new`;
  try {
    symlinkSync(target, fresh);
    renameSync(fresh, at); // over an old link in one step: a host that opens meanwhile finds one or the other
  } catch (cause) {
    throw new HandbackError('link.open', saying('error.pty-link', { path: at, why: toldOf(cause) }), {
      cause,
    });
  }
}

/** Where the link points; null when nothing is there. */
function linkTarget(at: string): string | null {
  try {
    return lstatSync(at).isSymbolicLink() ? readlinkSync(at) : 'not a link';
  } catch {
    return null;
  }
}

/** Numbers of <sys/ioctl.h> and <termios.h> that differ between the systems (from memory of their headers). */
const PLATFORM = {
  linux: {
    libraries: ['libutil.so.1', 'libc.so.6'], // openpty moved from the first to the second in glibc 2.34
    FIONREAD: 0x541b,
    FIOCLEX: 0x5451,
    FIONBIO: 0x5421,
    TCIFLUSH: 0,
    speeds: new Map([
      [0o13, 4800],
      [0o15, 9600],
      [0o16, 19200],
      [0o17, 38400],
      [0o10001, 57600],
      [0o10002, 115200],
      [0o10003, 230400],
      [0o10005, 500000],
      [0o10010, 1000000],
      [0o10013, 2000000],
    ]),
  },
  darwin: {
    libraries: ['libSystem.B.dylib'],
    FIONREAD: 0x4004667f,
    FIOCLEX: 0x20006601,
    FIONBIO: 0x8004667e,
    TCIFLUSH: 1,
    speeds: null, // the value is the speed itself
  },
} as const;

const TERMIOS_BYTES = 256; // larger than the structure on any system served here

let loaded: NativeTerminal | null = null;

function nativeTerminal(): NativeTerminal {
  if (loaded !== null) return loaded;
  if (process.platform !== 'linux' && process.platform !== 'darwin')
    throw new HandbackError('link.open', saying('error.pty-none', { system: process.platform }), {
      hint: saying('error.pty-hint'),
    });
  const platform = PLATFORM[process.platform];
  const koffi = foreignFunctions();
  const find = (declaration: string) => {
    let reason: unknown;
    for (const library of platform.libraries) {
      try {
        return koffi.load(library).func(declaration);
      } catch (thrown) {
        reason = thrown;
      }
    }
    throw new HandbackError('link.open', saying('error.pty-library'), {
      hint: saying('error.pty-hint'),
      cause: reason,
    });
  };
  const openpty = find('int openpty(_Out_ int *m, _Out_ int *s, void *name, void *termios, void *size)');
  const ptsname = find('const char *ptsname(int fd)');
  const tcgetattr = find('int tcgetattr(int fd, _Inout_ uint8_t *termios)');
  const tcsetattr = find('int tcsetattr(int fd, int when, uint8_t *termios)');
  const cfmakeraw = find('void cfmakeraw(_Inout_ uint8_t *termios)');
  const cfgetospeed = find('unsigned long cfgetospeed(uint8_t *termios)');
  const tcflush = find('int tcflush(int fd, int queue)');
  const ioctl = find('int ioctl(int fd, unsigned long request, ...)');
  loaded = {
    openpty() {
      const master = [-1];
      const slave = [-1];
      if (openpty(master, slave, null, null, null) !== 0)
        throw new HandbackError('link.open', saying('error.pty-full'), {
          hint: saying('error.pty-full-hint'),
        });
      return { master: master[0] ?? -1, slave: slave[0] ?? -1, path: String(ptsname(master[0])) };
    },
    makeRaw(fd) {
      const termios = new Uint8Array(TERMIOS_BYTES);
      if (tcgetattr(fd, termios) !== 0) return;
      cfmakeraw(termios);
      tcsetattr(fd, 0, termios);
    },
    unread(fd) {
      const count = new Int32Array(1);
      return ioctl(fd, platform.FIONREAD, 'int *', count) === 0 ? (count[0] ?? 0) : 0;
    },
    discardUnread: (fd) => void tcflush(fd, platform.TCIFLUSH),
    baud(fd) {
      const termios = new Uint8Array(TERMIOS_BYTES);
      if (tcgetattr(fd, termios) !== 0) return null;
      const speed = Number(cfgetospeed(termios));
      return platform.speeds === null ? speed : (platform.speeds.get(speed) ?? null);
    },
    neverBlock: (fd) => void ioctl(fd, platform.FIONBIO, 'int *', new Int32Array([1])),
    closeOnExec: (fd) => void ioctl(fd, platform.FIOCLEX),
  };
  return loaded;
}

/** An optional dependency: only this simulation calls into the system's library. */
function foreignFunctions(): typeof import('koffi') {
  try {
    return createRequire(import.meta.url)('koffi');
  } catch (thrown) {
    throw new HandbackError('link.open', saying('error.pty-package'), {
      hint: saying('error.pty-package-hint'),
      cause: thrown,
    });
  }
}
