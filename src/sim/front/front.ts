/** What a simulated adapter is, seen from the wire on one side and from the bus on the other. */

/** The adapter's end of the serial wire: a pseudo-terminal or an in-process pipe. */
export interface HostWire {
  /** Never blocks and never throws; what does not fit is lost, as on a serial line without flow control. */
  write(bytes: Uint8Array): void;
  /** Line speed that the host has set, bit/s; null where it cannot be known. */
  hostBaud(): number | null;
}

/** A simulated adapter. It keeps its settings while the host closes and reopens the wire, as powered hardware does. */
export interface Front {
  /** Bytes as the host sent them, already paced. */
  receive(bytes: Uint8Array): void;
  /** Power removed and given again: everything back to factory settings. */
  powerCycle(): void;
  close(): void;
}
