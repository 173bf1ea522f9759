/** No part of the program asks the network: it works where there is none, and the kernel counts no attempt to leave. */
import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { join } from 'node:path';
import { describe, expect } from 'vitest';
import { ROOT } from '../cli/program.ts';
import { needs, onPath } from '../require.ts';
import { scratch } from '../run/files.ts';

/** Network of its own, with nothing in it but the loopback. */
const APART = [process.getuid?.() === 0 ? '-n' : '-rn', 'sh', '-c', 'ip link set lo up && exec "$@"', 'sh'];
const can = spawnSync('unshare', [...APART, 'true']).status === 0;

describe('a drive, a job, its sheet and the questions asked of them', () => {
  needs(can && onPath('chromium'), 'a network apart (unshare, ip) and chromium')(
    'ask for no other computer and for no name, whatever part does them',
    async () => {
      const script = join(ROOT, 'tests/outside/apart.ts');
      const args = [...APART, process.execPath, '--import', 'tsx', script, scratch()];
      const child = spawn('unshare', args, { cwd: ROOT });
      let out = '';
      let err = '';
      child.stdout.on('data', (d: Buffer) => (out += d.toString()));
      child.stderr.on('data', (d: Buffer) => (err += d.toString()));
      const [status] = (await once(child, 'close')) as [number];
      expect([status, err]).toEqual([0, '']);
      const { counted, hears, control, commands, ...seen } = JSON.parse(out) as Seen;
      expect(counted).toEqual(Object.fromEntries(Object.keys(counted).map((what) => [what, 0])));
      expect(new Set(hears)).toEqual(new Set([LOOPBACK]));
      expect(control['no way to it, IPv4']).toBeGreaterThan(0);
      expect(seen).toMatchObject({ pdf: '%PDF-', asked: [200, 200, 200, 200, 200] });
      expect(seen.files).toBeGreaterThan(0);
      expect(commands).toEqual([0, 0, 0]);
    },
  );
});

/** 127.0.0.1 in /proc/net/tcp of a little-endian computer. */
const LOOPBACK = '0100007F';

interface Seen {
  readonly counted: Readonly<Record<string, number>>;
  readonly hears: readonly string[];
  readonly files: number;
  readonly pdf: string;
  readonly asked: readonly number[];
  readonly commands: readonly number[];
  readonly control: Readonly<Record<string, number>>;
}
