/**
 * What one dialect of adapters brings: a folder beside this file, and one entry in `dialects.ts`. Nothing else of the
 * program asks which dialect it is.
 */
import type { Clock } from '../core/clock.ts';
import type { AdapterDriver, Dialect } from './adapter.ts';
import type { JoinedFrames } from './frames.ts';
import type { Received } from './received.ts';

export interface DialectEntry {
  /** Never silent and never slow to find: looked for at each line speed when patient, otherwise at the last one only. */
  readonly quickToFind: boolean;
  readonly driver: (clock: Clock) => AdapterDriver;
  /** Bytes received for one request → messages and discards, whoever they answer. Pure, never throws. */
  readonly read: (dialect: Dialect, sent: Uint8Array, rx: Received) => JoinedFrames;
  /** The gate's own view of the line, one for each connection. It shares nothing with the driver. */
  readonly watch: (may: Permission) => LineWatch;
}

/** What may reach the vehicle; the gate decides. */
export interface Permission {
  /**
   * This payload (service byte first), now? `once`: it may, and must not be repeated by anything but another
   * permission.
   */
  ask(payload: Uint8Array): 'yes' | 'once' | 'no';
  /** Does this service only read? */
  reads(service: number): boolean;
}

/** Reads along and decides on each write. Whatever is lost of what passes must not become another request. */
export interface LineWatch {
  heard(bytes: Uint8Array): void;
  /** @param bytes one write of the driver */
  mayPass(bytes: Uint8Array): boolean;
}
