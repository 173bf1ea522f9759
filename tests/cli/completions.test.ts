/** Completions and the manual, each read by the program that it is made for. */
import { execFileSync, spawnSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { families } from '../../src/adapter/dialects.ts';
import { completionOf } from '../../src/cli/completions.ts';
import { manualOf } from '../../src/cli/manual.ts';
import { handbackProgram } from '../../src/cli/program.ts';
import { shownOf } from '../../src/cli/shown.ts';
import { needs, onPath } from '../require.ts';
import { scratch } from '../run/files.ts';

const shown = shownOf(await handbackProgram());
const folder = scratch();
writeFileSync(join(folder, 'profile of a car.json'), '{}');

/** What is typed, the cursor behind its last character, and what must be offered, or the beginning of it. */
const TYPED: readonly (readonly [typed: readonly string[], offered: readonly string[]])[] = [
  [['sta'], ['start']],
  [['ki'], ['kinds']],
  [['kinds', 'm'], ['merge']],
  [
    ['--lang', ''],
    ['en', 'de'],
  ],
  [
    ['record', '--adapter', 'a'],
    ['auto', 'at'],
  ],
  [['record', '--out', 'prof'], ['profile of a car.json']],
  [['record', '--seconds', ''], []],
  [['record', '--sec'], ['--seconds']],
  [['--json', 'sheet', '--lang', 'd'], ['de']],
  [['completion', 'z'], ['zsh']],
  [['judge', 'prof'], ['profile of a car.json']],
  [['nonsense', '$(touch x)', 'st'], ['start']],
];

function offersOf(shell: string, script: string): string[][] {
  const file = join(folder, `run.${shell}`);
  writeFileSync(file, script);
  const out = execFileSync(shell, [...(shell === 'bash' ? ['--norc', '--noprofile'] : ['-f']), file], {
    cwd: folder,
    encoding: 'utf8',
  });
  return out
    .split('==\n')
    .slice(0, -1)
    .map((part) => part.split('\n').filter(Boolean));
}
const quoted = (words: readonly string[]): string => words.map((w) => `'${w}'`).join(' ');
const sorted = (list: readonly string[]): string[] => [...list].sort();

describe('completion', () => {
  needs(onPath('bash'), 'bash')('bash offers commands, options, values and files', () => {
    const calls = TYPED.map(
      ([typed]) =>
        `COMP_WORDS=(handback ${quoted(typed)}); COMP_CWORD=${typed.length}; _handback 2>&1; printf '%s\\n' "\${COMPREPLY[@]}" ==`,
    );
    const offers = offersOf('bash', `${completionOf('bash', shown)}\n${calls.join('\n')}\n`);
    for (const [i, [typed, offered]] of TYPED.entries())
      expect([typed, sorted(offers[i]!)]).toEqual([typed, sorted(offered)]);
  });

  needs(onPath('zsh'), 'zsh')('zsh offers the same', () => {
    // What zsh itself would do with what it is offered: keep what begins with the word, list the files.
    const stand = `compdef() { :; }
compadd() { local w; shift; for w in "$@"; do [[ $w == "$cur"* ]] && print -r -- $w; done }
_files() { local f; for f in *(N); do [[ $f == "$cur"* ]] && print -r -- $f; done }`;
    const calls = TYPED.map(
      ([typed]) =>
        `() { local -a words; words=(handback ${quoted(typed)}); local CURRENT=$#words; _handback; }; print '=='`,
    );
    const script = `${stand}\n${completionOf('zsh', shown)}\n${calls.join('\n')}\n`;
    const offers = offersOf('zsh', script);
    for (const [i, [typed, offered]] of TYPED.entries())
      expect([typed, sorted(offers[i]!)]).toEqual([typed, sorted(offered)]);
  });

  it('PowerShell gets every command with its options and choices', () => {
    const script = completionOf('powershell', shown);
    expect(script.split('{').length).toBe(script.split('}').length);
    for (const { path, options } of shown) {
      const flags = options.flatMap((o) => o.flags).join("', '");
      expect(script).toContain(`    '${path}' = @('${flags}')`);
    }
    const kinds = ['auto', ...families()].map((kind) => `'${kind}'`);
    expect(script).toContain(`'record:--adapter' = @(${kinds.join(', ')})`);
  });
});

describe('the manual', () => {
  it('has every command and every option with what --help says of it', () => {
    const plain = manualOf(shown, '0.1.0')
      .replaceAll('\\-', '-')
      .replaceAll('\\&', '')
      .replaceAll('\\e', '\\');
    for (const { path, options, description } of shown) {
      if (path !== '') expect(plain).toContain(`.SS handback ${path}\n${description}\n`);
      for (const o of options) expect(plain).toContain(`.B ${o.usage}\n`);
    }
    expect(shown.length).toBeGreaterThan(25);
  });

  needs(onPath('man'), 'man')('is read by man without a warning', () => {
    const file = join(folder, 'handback.1');
    writeFileSync(file, manualOf(shown, '0.1.0'));
    const env = { ...process.env, MANWIDTH: '80', LC_ALL: 'C.UTF-8', MAN_KEEP_FORMATTING: '' };
    const { stdout, stderr, status } = spawnSync('man', ['--warnings', '-l', file], {
      encoding: 'utf8',
      env,
    });
    expect([status, stderr]).toEqual([0, '']);
    expect(stdout).toMatch(/^HANDBACK\(1\)/);
    expect(stdout).toMatch(/handback kinds merge/);
    expect(stdout).toMatch(/--seconds/);
  });
});
