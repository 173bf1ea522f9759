/** Addresses of ISO 15765-4, each of the 11-bit ones and each unit of the 29-bit ones; nothing near them counts. */
import { expect, it } from 'vitest';
import { isResponseId, requestIdOf, responseIdOf } from '../../src/isotp/address.ts';

const upper = (n: number, digits: number): string => n.toString(16).toUpperCase().padStart(digits, '0');
const all = (n: number, make: (i: number) => string): string[] =>
  Array.from({ length: n }, (_, i) => make(i));

it('11 bit: eight answers, eight requests, and no other of the 2048', () => {
  const answers = all(8, (i) => upper(0x7e8 + i, 3));
  const requests = all(8, (i) => upper(0x7e0 + i, 3));
  const every = all(2048, (i) => upper(i, 3));
  expect(every.filter(isResponseId)).toEqual(answers);
  expect(every.filter((id) => requestIdOf(id) !== null)).toEqual(answers);
  expect(every.filter((id) => responseIdOf(id) !== null)).toEqual(requests);
  expect(answers.map(requestIdOf)).toEqual(requests);
  expect(requests.map(responseIdOf)).toEqual(answers);
});

it('29 bit: each unit by its number, to the tester F1 and from it, and no other pair', () => {
  const answers = all(256, (i) => `18DAF1${upper(i, 2)}`);
  const requests = all(256, (i) => `18DA${upper(i, 2)}F1`);
  expect(answers.every(isResponseId)).toBe(true);
  expect(answers.map(requestIdOf)).toEqual(requests);
  expect(requests.map(responseIdOf)).toEqual(answers);
  for (const id of ['18DB33F1', '18DA10F2', '18DAF210', '19DAF110', '18DBF110']) {
    expect([id, isResponseId(id), requestIdOf(id)]).toEqual([id, false, null]);
    expect([id, responseIdOf(id)]).toEqual([id, null]);
  }
});

it('longer, shorter, or with another letter it is no address', () => {
  for (const id of ['7E8', '7EF', '18DAF110', '7E0', '18DA10F1', '7E7', '18DAF1FF'])
    for (const near of [`0${id}`, `${id}0`, `${id}F1`, `${id.slice(0, -1)}G`, id.slice(1), id.toLowerCase()])
      if (!['7E0', '7E8'].includes(near))
        expect([near, isResponseId(near), requestIdOf(near), responseIdOf(near)]).toEqual([
          near,
          false,
          null,
          null,
        ]);
  for (const id of ['18DAG0F1', '18DAF1GG', '18DA0GF1', '18DA100F1', '7EG'])
    expect([id, isResponseId(id), requestIdOf(id), responseIdOf(id)]).toEqual([id, false, null, null]);
});
