/** Negative responses: 7F, service, reason. Reasons from memory of ISO 14229-1 and ISO 15031-5. */
import { asIs, type Says } from '../core/says.ts';
import { pidText } from './pids.ts';

/** In English, by the ids of the catalogues: `refusal.<code>`. */
export const REASONS = {
  16: 'general reject',
  17: 'service not supported',
  18: 'sub-function not supported or invalid format',
  19: 'incorrect length or invalid format',
  20: 'answer too long',
  33: 'busy, repeat the request',
  34: 'conditions not correct',
  36: 'request sequence error',
  49: 'request out of range',
  51: 'security access denied',
  53: 'invalid key',
  54: 'too many attempts',
  55: 'required time delay not over',
  112: 'upload or download not accepted',
  113: 'transfer suspended',
  114: 'programming failure',
  115: 'wrong block sequence counter',
  120: 'request received, answer pending',
  126: 'sub-function not supported in this session',
  127: 'service not supported in this session',
  129: 'engine speed too high',
  130: 'engine speed too low',
  131: 'engine is running',
  132: 'engine is not running',
  133: 'engine run time too short',
  134: 'temperature too high',
  135: 'temperature too low',
  136: 'vehicle speed too high',
  137: 'vehicle speed too low',
  138: 'throttle or pedal too high',
  139: 'throttle or pedal too low',
  140: 'transmission not in neutral',
  141: 'transmission not in gear',
  143: 'brake not applied',
  144: 'shifter not in park',
  145: 'torque converter clutch locked',
  146: 'voltage too high',
  147: 'voltage too low',
} as const;

export const NEGATIVE = {
  serviceNotSupported: 0x11,
  formatWrong: 0x12,
  busy: 0x21,
  conditionsNotCorrect: 0x22,
  outOfRange: 0x31,
  pending: 0x78,
} as const;

export interface NegativeResponse {
  readonly service: number;
  readonly code: number;
  readonly text: string;
}

/** Null when the payload is no negative response. */
export function decodeNegative(payload: Uint8Array): NegativeResponse | null {
  if (payload[0] !== 0x7f || payload.length < 3) return null;
  const code = payload[2]!;
  const known: Readonly<Record<number, string>> = REASONS;
  return { service: payload[1]!, code, text: known[code] ?? `unknown reason ${pidText(code)}` };
}

/** Why it refuses, for people. */
export const refusalOf = ({ code }: Pick<NegativeResponse, 'code'>): Says =>
  Object.hasOwn(REASONS, code) ? { id: `refusal.${code}`, args: {} } : asIs(pidText(code));

export function encodeNegative(service: number, code: number): Uint8Array {
  return Uint8Array.of(0x7f, service, code);
}
