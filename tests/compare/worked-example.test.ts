/** The worked example of docs/compare.md, to the printed digits. */
import { readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { expect, it } from 'vitest';
import { DAY_SD } from '../../src/compare/boost.ts';
import { type ComparedPoint, contrastOf, intervalOf } from '../../src/compare/contrast.ts';

it('comes out as it is printed', () => {
  const page = readFileSync(join(resolve(import.meta.dirname, '../..'), 'docs/compare.md'), 'utf8');
  const [, before = '', after = ''] = /One point; ([\d, ]+) kPa before and ([\d, ]+) kPa after/.exec(page)!;
  const side = (name: ComparedPoint['side'], list: string, from: number): ComparedPoint[] =>
    list.split(', ').map((kpa, i) => ({
      side: name,
      pull: from + i,
      day: name,
      point: 'p',
      value: Math.log(Number(kpa)),
    }));
  const c = contrastOf([...side('before', before, 0), ...side('after', after, 10)])!;
  const percent = (ln: number) => `+${(100 * Math.expm1(ln)).toFixed(2)}`;
  const said = page.replaceAll('\n', ' ');
  expect(said).toContain(`= ${percent(c.difference)} %`);
  expect(said).toContain(`${(100 * c.before.sd!).toFixed(2)} % and ${(100 * c.after.sd!).toFixed(2)} %`);
  const oneDay = intervalOf(c, [], 0.95)!;
  expect(said).toContain(`${oneDay.degreesOfFreedom.toFixed(2)} degrees of freedom, t = 2.663`);
  expect(said).toContain(`on one day ${percent(oneDay.low)} to ${percent(oneDay.high)} %`);
  const twoDays = intervalOf(c, [[c.dayFactor * DAY_SD ** 2, 10]], 0.95)!;
  expect(said).toContain(`${twoDays.degreesOfFreedom.toFixed(2)} degrees of freedom, t = 2.138`);
  expect(said).toContain(`: ${percent(twoDays.low)} to ${percent(twoDays.high)} %.`);
});
