/** Services 03, 07 and 0A: lists of trouble codes, both ways. From memory of SAE J1979. */
import { CODE_STATES, type CodeState } from '../core/snapshot.ts';
import { codeBytes, codeText } from './dtc.ts';

/** Which service lists which codes. */
export const CODE_SERVICES = { stored: 0x03, pending: 0x07, permanent: 0x0a } as const satisfies Readonly<
  Record<CodeState, number>
>;

export type CodeList =
  | {
      readonly ok: true;
      readonly state: CodeState;
      readonly codes: readonly string[];
      /** What does not add up, though codes could be read; null when all is well. */
      readonly problem: string | null;
      /** It names fewer codes than it says there are, or is empty: what it does not name may be there. */
      readonly short: boolean;
    }
  | { readonly ok: false; readonly why: string; readonly at: number };

/**
 * An answer of service 03, 07 or 0A. On CAN a count byte comes first, elsewhere pairs only, filled up with zeros:
 * an odd number of bytes has a count, an even number has none. Zero pairs are no codes.
 */
export function decodeCodes(payload: Uint8Array): CodeList {
  const state = CODE_STATES.find((k) => payload[0] === (CODE_SERVICES[k] | 0x40));
  if (!state) return { ok: false, why: 'not an answer of service 03, 07 or 0A', at: 0 };
  const rest = payload.subarray(1);
  const counted = rest.length % 2 === 1;
  const pairs = counted ? rest.subarray(1) : rest;
  const codes: string[] = [];
  for (let i = 0; i + 1 < pairs.length; i += 2)
    if (pairs[i] !== 0 || pairs[i + 1] !== 0) codes.push(codeText(pairs[i]!, pairs[i + 1]!));
  let problem: string | null = null;
  if (rest.length === 0) problem = 'neither a count nor a code in the answer';
  else if (counted && rest[0]! * 2 !== pairs.length)
    problem = `says ${rest[0]} codes, carries ${pairs.length / 2}`;
  const short = rest.length === 0 || (counted && rest[0]! > codes.length);
  return { ok: true, state, codes, problem, short };
}

/**
 * Answers on CAN: one message. Elsewhere (`counted` false): one message for each three codes, filled up with
 * zeros, at least one. Throws RangeError for a text that is no code.
 */
export function encodeCodes(state: CodeState, codes: readonly string[], counted: boolean): Uint8Array[] {
  const service = CODE_SERVICES[state] | 0x40;
  const pairs = codes.map((code) => {
    const bytes = codeBytes(code);
    if (!bytes) throw new RangeError(`${code} is no trouble code`);
    return bytes;
  });
  if (counted)
    return [Uint8Array.from([service, Math.min(255, pairs.length), ...pairs.slice(0, 255).flat()])];
  const messages: Uint8Array[] = [];
  for (let i = 0; i === 0 || i < pairs.length; i += 3) {
    const message = new Uint8Array(7);
    message.set([service, ...pairs.slice(i, i + 3).flat()]);
    messages.push(message);
  }
  return messages;
}
