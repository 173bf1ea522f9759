/** docs/signals.md is made from the tables, so that it stays true: UPDATE_DOCS=1 writes it, otherwise it is compared. */
import { readFileSync, writeFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { expect, it } from 'vitest';
import { SIGNALS, type SignalDef } from '../../src/core/signals.ts';
import { PIDS, pidText } from '../../src/j1979/pids.ts';

const FILE = resolve(import.meta.dirname, '../../docs/signals.md');

function page(): string {
  const by = new Map<string, string[]>();
  PIDS.forEach((def, pid) => {
    for (const { signal } of def?.fields ?? []) by.set(signal, [...(by.get(signal) ?? []), pidText(pid)]);
  });
  const rows = Object.entries(SIGNALS as Record<string, SignalDef>).map(([name, def]) => {
    const [low, high] = def.plausible;
    const more = [
      ...(def.maxRatePerS === undefined ? [] : [`at most ${def.maxRatePerS} per second`]),
      ...(def.endStops === undefined ? [] : [`end stops ${def.endStops.join(', ')}`]),
      ...Object.entries(def.names ?? {}).map(([code, text]) => `${code} ${text}`),
    ];
    return `| \`${name}\` | ${def.label} | ${def.unit} | ${(by.get(name) ?? []).join(' ')} | ${low} to ${high} | ${more.join('; ')} |`;
  });
  const raw = PIDS.flatMap((def, pid) =>
    def && def.fields.length === 0 && def.kind === undefined ? [`| ${pidText(pid)} | ${def.name} |`] : [],
  );
  return `# Signals

One name, unit and plausible range for each quantity, whoever measured it. Names are stable: tables, scripts and
captures of any age use them. This page is made from \`src/core/signals.ts\` and \`src/j1979/pids.ts\` by
\`UPDATE_DOCS=1 npx vitest run tests/j1979/signals-doc.test.ts\`; the same test without it fails when the page is out
of date.

## Where the facts come from

PIDs, scalings and named values are from memory of SAE J1979 / J1979-DA (ISO 15031-5). Checked against an outside
decoder (\`tests/outside/oracle.test.ts\`): 00, 03-12, 14-1C, 1F-40, 42-4E, 51-53, 59-5E, 60-63, 80, A0, C0. The
others are checked only against vectors written by hand from the same memory. Least certain: 74 (10 rpm a count), 83
(which sensor stands where; the two editions differ), 8B, 8C, 9D, A4. Plausible ranges, rates and end stops are common
practice, no source.

## How to read it

- A signal that several PIDs carry is asked by the finest of them that the vehicle supports: 87 before 0B.
- PIDs 64 to 8C say by bits of their first byte which of their values exist; others are absent, not zero.
- Over service 22 (SAE J1979-2) identifier F400 + PID carries the same bytes as the PID: F40C is read as 0C.
- PIDs 4F and 50 may rescale 0B, 10, 24-2B and 34-3B; a maximum of 0 keeps the default scale. Manifold pressure by
  0B ends at 255 kPa unless rescaled: a value there is a lower bound.
- Oxygen sensors count by their place in the PID's group; PID 13 or 1D says which bank and sensor each place is.
- Lambda is the equivalence ratio as the standard sends it, 1 = stoichiometric. Boost pressures of PID 70 are absolute.
- Signals with named values are recorded by their code.
- Beyond the plausible range, faster than the rate or on an end stop, a value is kept and flagged, and no rule uses it.

## All signals

| name | what | unit | PIDs | plausible | more |
| --- | --- | --- | --- | --- | --- |
${rows.join('\n')}

## PIDs known by name only

Their bytes are shown raw: the layout is not recalled for certain.

| PID | what |
| --- | --- |
${raw.join('\n')}
`;
}

it('docs/signals.md says what the tables say', () => {
  if (process.env.UPDATE_DOCS === '1') writeFileSync(FILE, page());
  expect(readFileSync(FILE, 'utf8')).toBe(page());
});

it('labels and names can stand in a table of the page', () => {
  for (const [name, def] of Object.entries(SIGNALS as Record<string, SignalDef>)) {
    expect(name).toMatch(/^[a-z][a-z0-9_]*$/);
    expect(def.label + Object.values(def.names ?? {}).join('')).not.toMatch(/[|\n]/);
  }
  const labels = Object.values(SIGNALS).map((d) => d.label);
  expect(labels.filter((l, i) => labels.indexOf(l) !== i)).toEqual([]);
});
