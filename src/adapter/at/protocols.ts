/** The bus protocols of the AT dialect by their number. Common practice, from memory. */
import type { Dialect } from '../adapter.ts';

interface ProtocolRow {
  /** For people. */
  readonly bus: string;
  readonly dialect: Pick<Dialect, 'bus' | 'bitrate'>;
}

export const PROTOCOLS: Readonly<Record<string, ProtocolRow>> = {
  '1': { bus: 'J1850 PWM, 41.6 kbit/s', dialect: { bus: 'j1850', bitrate: 41600 } },
  '2': { bus: 'J1850 VPW, 10.4 kbit/s', dialect: { bus: 'j1850', bitrate: 10400 } },
  '3': { bus: 'K-line, ISO 9141-2', dialect: { bus: 'kline', bitrate: 10400 } },
  '4': { bus: 'K-line, ISO 14230-4, slow wake-up', dialect: { bus: 'kline', bitrate: 10400 } },
  '5': { bus: 'K-line, ISO 14230-4, fast wake-up', dialect: { bus: 'kline', bitrate: 10400 } },
  '6': { bus: 'CAN 11 bit, 500 kbit/s', dialect: { bus: 'can11', bitrate: 500000 } },
  '7': { bus: 'CAN 29 bit, 500 kbit/s', dialect: { bus: 'can29', bitrate: 500000 } },
  '8': { bus: 'CAN 11 bit, 250 kbit/s', dialect: { bus: 'can11', bitrate: 250000 } },
  '9': { bus: 'CAN 29 bit, 250 kbit/s', dialect: { bus: 'can29', bitrate: 250000 } },
};

/**
 * K-lines of ISO 14230 whose units answer only when each is called by its own address: protocol and address of the unit.
 * 10 is the engine's (SAE J2178, from memory).
 */
export const PHYSICAL_IN_ORDER = [
  { protocol: '5', unit: '10' },
  { protocol: '4', unit: '10' },
] as const;

/**
 * What makes the adapter call one unit. The header's first byte says "to one unit, two bytes follow"; adapters put the true
 * length in (common practice, from memory). A slow wake-up calls an address of its own.
 */
export function toOneUnit(protocol: string, unit: string): readonly string[] {
  const header = `ATSH82${unit}F1`;
  return protocol === '4' ? [header, `ATIIA${unit}`] : [header];
}

/** Where automatic search is not known: most vehicles first. */
export const CAN_IN_ORDER = ['6', '8', '7', '9'] as const;
export const TRY_IN_ORDER = [...CAN_IN_ORDER, '5', '4', '3', '2', '1'] as const;
