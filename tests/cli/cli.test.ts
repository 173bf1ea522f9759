/** The command line as scripts see it: exit status, JSON Lines, and a sentence for every bad input. */
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, type ExpectStatic, expect, it } from 'vitest';
import pkg from '../../package.json' with { type: 'json' };
import { harmless } from '../../src/cli/io.ts';
import { VERSION } from '../../src/core/version.ts';
import { argv, ROOT } from './program.ts';

const folder = mkdtempSync(join(tmpdir(), 'handback-cli-'));
const children: ChildProcess[] = [];
afterAll(() => {
  for (const child of children) child.kill('SIGKILL');
  rmSync(folder, { recursive: true, force: true });
});

function handback(args: readonly string[], input = '') {
  const r = spawnSync(process.execPath, argv(...args), { cwd: ROOT, input, encoding: 'utf8' });
  return { status: r.status, out: r.stdout, err: r.stderr };
}

/** Records until so many exchanges are on the disk, then asks it to stop as Ctrl-C does. */
async function recordedUntil(exchanges: number, out: string, port: string, { poll }: ExpectStatic) {
  const child = spawn(process.execPath, argv('record', '--json', '--link', port, '--out', out), {
    cwd: ROOT,
  });
  children.push(child);
  const said = { out: '', err: '' };
  child.stdout.on('data', (b: Buffer) => (said.out += b));
  child.stderr.on('data', (b: Buffer) => (said.err += b));
  const ended = new Promise<number | null>((resolve) => child.once('close', resolve));
  const capture = join(out, 'capture.txt');
  const done = () =>
    existsSync(capture) ? readFileSync(capture, 'latin1').split(/^\d+ done\b/m).length - 1 : 0;
  await poll(() => child.exitCode !== null || done() >= exchanges).toBe(true);
  child.kill('SIGINT');
  return { status: await ended, ...said };
}

/** A file in the test's own folder. */
function file(name: string, text: string): string {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
}

describe('handback', () => {
  it('tells its version, the same as package.json', () => {
    expect(VERSION).toBe(pkg.version);
    expect(handback(['--version']).out.trim()).toBe(pkg.version);
  });

  it('refuses what it does not know with status 2', () => {
    expect(handback(['fly']).status).toBe(2);
    expect(handback(['judge']).status).toBe(2);
    expect(handback(['sim', '--front', 'smoke']).status).toBe(2);
    expect(handback(['sim', '--fault', 'no-such-fault']).status).toBe(2);
  });

  it('decodes frames, and names line and column of what is no frame', () => {
    const good = handback(['decode', '--json'], '7E8#04410C1AF8\n');
    expect(good.status).toBe(0);
    expect(JSON.parse(good.out)).toMatchObject({
      id: '7E8',
      service: '01',
      values: [{ pid: '0C', signal: 'rpm', value: 1726, unit: 'rpm', raw: '1AF8' }],
    });
    const bad = handback(['decode', '--json'], '7E8#04410C1AF8\n7E8#04410CZZ\n');
    expect(bad.status).toBe(2);
    expect(bad.out.trim().split('\n')).toHaveLength(1);
    expect(bad.err).toMatch(/line 2, column \d+/);
  });

  it.each([
    ['a missing file', () => join(folder, 'absent.csv'), /does not exist/],
    ['an empty file', () => file('empty.csv', ''), /./],
    ['no known header', () => file('headers.csv', 'foo,bar\n1,2\n'), /./],
    ['only text in numbers', () => file('text.csv', 't_s,signal,value\nx,rpm,y\n'), /./],
    ['binary junk', () => file('junk.csv', '\u0000\u0001\u0002\ufffd'.repeat(50)), /./],
  ] as const)('judge refuses %s with status 2 and a sentence', (_what, path, sentence) => {
    const r = handback(['judge', '--json', path()]);
    expect(r.status).toBe(2);
    expect(r.out).toBe('');
    expect(r.err).toMatch(sentence);
    expect(r.err).not.toMatch(/Internal error|at .*\.ts:/);
  });

  it('judges a good file beside a bad one, and names the key of a bad profile', () => {
    const good = file('good.csv', 't_s,ect_c,rpm\n0,20,800\n1,20,810\n2,21,805\n');
    const both = handback(['judge', '--json', join(folder, 'absent.csv'), good]);
    expect(both.status).toBe(2);
    const [line = ''] = both.out.trim().split('\n');
    expect(JSON.parse(line)).toMatchObject({ schema: 'handback.judgement/1', path: good });
    const profile = file('profile.json', '{"induction":"steam"}');
    const r = handback(['judge', '--profile', profile, good]);
    expect(r.status).toBe(2);
    expect(r.err).toContain('induction');
  });

  it('says which port is missing, with status 4', () => {
    const r = handback([
      'record',
      '--link',
      join(folder, 'no-port'),
      '--out',
      join(folder, 'r0'),
      '--seconds',
      '1',
    ]);
    expect(r.status).toBe(4);
    expect(r.err).toContain('no-port');
  });

  it('keeps control characters from the terminal', () => {
    expect(harmless('a\u001b[31mb\u202ec\n')).toBe('a\ufffd[31mb\ufffdc\n');
  });
});

describe.skipIf(process.platform === 'win32')('a simulated car on a pseudo-terminal', () => {
  // Side by side: each goes at the pace of its line.
  const fronts = ['at', 'slcan'] as const;
  it.concurrent.for(fronts)('is found, recorded, checked and judged: %s', async (front, { expect }) => {
    const sim = spawn(process.execPath, argv('sim', '--front', front, '--route', 'warm-road-test'), {
      cwd: ROOT,
    });
    children.push(sim);
    const first: string = await new Promise((got) =>
      sim.stdout.once('data', (b: Buffer) => got(b.toString())),
    );
    const { port } = JSON.parse(first) as { port: string };
    const out = join(folder, `run-${front}`);
    // Begun again where other work kept the car, a process of its own, from answering in time.
    let r = await recordedUntil(60, out, port, expect);
    while (r.status === 4) r = await recordedUntil(60, out, port, expect);
    expect([r.status, r.err]).toEqual([0, expect.stringContaining('Connected')]);
    const result = JSON.parse(r.out.trim().split('\n').at(-1) ?? '') as { samples: number };
    expect(result.samples).toBeGreaterThan(50);
    // What it found is left beside the run, and is what the capture gives.
    const kept = handback(['check', '--kept', '--json', out]);
    expect([kept.status, kept.out]).toEqual([
      0,
      expect.stringMatching(/judgement\.json.*check\.cache\.same/),
    ]);
    const judged = JSON.parse(handback(['judge', '--json', out]).out) as { signals: { name: string }[] };
    expect(judged.signals.map((s) => s.name)).toEqual(expect.arrayContaining(['ect_c', 'map_kpa', 'rpm']));
    // Asked again for the same reason.
    await expect
      .poll(() => {
        const codes = handback(['codes', '--json', '--link', port]);
        return codes.status === 0 ? (JSON.parse(codes.out) as { units: unknown[] }).units.length : codes.err;
      })
      .toBe(2);
    sim.kill('SIGTERM');
    expect(await new Promise((ended) => sim.once('exit', ended))).toBe(0);
  });
});
