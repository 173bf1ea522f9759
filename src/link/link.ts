/**
 * A byte stream to something at the other end of a wire. A link is single-use: opened once, closed once;
 * reopening asks the factory for a new one. Serial port, pipe and replay are interchangeable here.
 */
import type { Says } from '../core/says.ts';

export type LinkEvent =
  /** Bytes that arrived together; `tUs` is when they arrived, by the clock the factory was given. */
  | { readonly kind: 'data'; readonly tUs: number; readonly bytes: Uint8Array }
  /** The link is gone; nothing follows. `why` is for the technician. */
  | { readonly kind: 'closed'; readonly tUs: number; readonly why: Says };

export interface Link {
  /** What people call it: port path or "simulated vehicle". */
  readonly name: string;
  /** Exactly one listener; events before it is set are kept for it (bounded). */
  listen(listener: (event: LinkEvent) => void): void;
  /** Resolves when the bytes have been handed to the system, rejects with link.lost. */
  write(bytes: Uint8Array): Promise<void>;
  /**
   * Changes the line speed of the open link, bit/s; false when the system did not do it. Absent where speed has no
   * meaning. Never rejects, never hangs.
   */
  readonly setBaud?: (baud: number) => Promise<boolean>;
  /** Never rejects, never hangs (bounded internally); further events are not delivered. */
  close(): Promise<void>;
}

export interface LinkFactory {
  readonly name: string;
  /** Line speeds worth trying in order, bit/s; empty where speed has no meaning (pipe, TCP, USB that ignores it). */
  readonly baudRates: readonly number[];
  /** Rejects with link.open or link.busy. */
  open(options: { readonly baud?: number }): Promise<Link>;
}
