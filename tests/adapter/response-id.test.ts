/** The address of an answer in a line: each there is, in either case, and nothing near it. */
import { expect, it } from 'vitest';
import { responseIdAt } from '../../src/adapter/response-id.ts';
import { isResponseId } from '../../src/isotp/address.ts';

const upper = (n: number, digits: number): string => n.toString(16).toUpperCase().padStart(digits, '0');
const all = (n: number, make: (i: number) => string): string[] =>
  Array.from({ length: n }, (_, i) => make(i));

it('an answer’s address is read where its digits stand in a line, in either case, of its own length', () => {
  const at = (line: string, from: number, to: number) => responseIdAt(Buffer.from(line, 'latin1'), from, to);
  for (const id of [...all(8, (i) => upper(0x7e8 + i, 3)), ...all(256, (i) => `18DAF1${upper(i, 2)}`)]) {
    expect(at(id, 0, id.length)).toBe(id);
    expect(at(`t${id.toLowerCase()}8`, 1, 1 + id.length)).toBe(id);
  }
  const others = all(2048, (i) => upper(i, 3)).filter((id) => !isResponseId(id));
  expect(others.filter((id) => at(id, 0, 3) !== null)).toEqual([]);
  for (const id of ['07E8', '000007E8', '18DB33F1', '18DA10F1', '018DAF110', '7G8', '7E', ''])
    expect([id, at(id, 0, id.length)]).toEqual([id, null]);
});
