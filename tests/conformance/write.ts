/**
 * `npm run conformance`: writes each `expected.json` of captures/conformance anew, findings included. To be read as a
 * diff before it is committed: samples of an old capture change only when a decoder was wrong.
 */
import { writeFileSync } from 'node:fs';
import { actualOf, cases, expectedFile, written } from './cases.ts';

const withoutFindings = process.argv.includes('--without-findings');
for (const name of cases()) {
  const { findings, ...rest } = await actualOf(name);
  const expected = withoutFindings || !findings ? rest : { ...rest, findings };
  writeFileSync(expectedFile(name), written(expected));
  console.log(`${name}: ${rest.error ?? `${rest.samples?.length} samples`}`);
}
