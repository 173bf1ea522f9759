/** Changes that no test can notice, because nothing becomes of them; by module, kind and text, with the reason. */
const EQUIVALENT: Readonly<Record<string, string>> = {
  'src/isotp/address.ts number: 16 → 20': 'one hex digit is the same number to a larger base',
  'src/isotp/frame.ts comparison: <= → <': '7F says 127 ms by itself and as a reserved value',
  'src/isotp/reassembler.ts comparison: < → <=': 'of two that are due at once either may be named',
  'src/isotp/receiver.ts number: 0 → 1': 'where nothing is open nothing is given up',
  'src/isotp/sender.ts number: 0 → 1': 'a first value that the start of sending overwrites',
};

/** @param survivor `FILE:LINE KIND: WAS → IS` */
export function reasonWhyEquivalent(survivor: string): string | null {
  return EQUIVALENT[survivor.replace(/:\d+ /, ' ')] ?? null;
}
