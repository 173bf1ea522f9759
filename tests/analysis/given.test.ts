import { expect, it } from 'vitest';
import { type Given, later } from '../../src/analysis/given.ts';
import { say as sayLeg } from '../../src/analysis/leg-says.ts';

it('what a drive has given whole stays so where the rest of it has to wait', () => {
  const half: Given = { share: 0.5, left: null, fromS: 1, toS: 2 };
  const left = sayLeg('leg.left.signal');
  expect(later(half, left)).toEqual({ ...half, left, over: true });
  expect(later({ ...half, share: 1 }, left)).toEqual({ ...half, share: 1 });
});
