/**
 * A drive, its job, its sheet and the questions asked of them, by the program as people start it; run by network.test.ts
 * where there is no network but the loopback. Prints what the kernel counted of attempts to leave this computer.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync } from 'node:fs';
import { request } from 'node:http';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { argv, ROOT } from '../cli/program.ts';

const folder = process.argv[2]!;
const library = join(folder, 'library');
const IPV6 = 'no way to it, IPv6';

/** Each is 0 in a network of its own, and stays 0 unless somebody asks for another computer or for a name. */
function attempts(): Record<string, number> {
  const rows = readFileSync('/proc/net/snmp', 'utf8')
    .split('\n')
    .map((row) => row.split(/\s+/));
  const v4 = (of: string, what: string): number => {
    const [names, values] = rows.filter((row) => row[0] === `${of}:`) as [string[], string[]];
    return Number(values[names.indexOf(what)]);
  };
  const v6 = (what: string): number =>
    Number(new RegExp(`^${what}\\s+(\\d+)$`, 'm').exec(readFileSync('/proc/net/snmp6', 'utf8'))?.[1]);
  return {
    'no way to it, IPv4': v4('Ip', 'OutNoRoutes'),
    [IPV6]: v6('Ip6OutNoRoutes'),
    'datagrams, IPv4': v4('Udp', 'OutDatagrams'),
    'datagrams, IPv6': v6('Udp6OutDatagrams'),
  };
}

/** Addresses, as the kernel writes them, on which something here listens. */
function listening(): string[] {
  const LISTEN = '0A';
  return ['tcp', 'tcp6']
    .flatMap((kind) => readFileSync(`/proc/net/${kind}`, 'utf8').split('\n').slice(1))
    .map((row) => row.trim().split(/\s+/))
    .filter((row) => row[3] === LISTEN)
    .map((row) => row[1]!.split(':')[0]!);
}

function start(...args: readonly string[]): ChildProcess {
  return spawn(process.execPath, argv(...args), { cwd: ROOT, stdio: ['ignore', 'pipe', 'inherit'] });
}

async function done(...args: readonly string[]): Promise<number> {
  const child = start(...args, '--quiet');
  child.stdout!.resume();
  const [status] = (await once(child, 'close')) as [number];
  return status;
}

/** Over plain HTTP; nothing of what it uses asks for a name. */
function ask(url: URL, path: string, body?: object): Promise<{ status: number; bytes: Buffer }> {
  return new Promise((resolve, reject) => {
    const call = request(
      { host: '127.0.0.1', port: url.port, path, method: body ? 'POST' : 'GET' },
      async (answer) => {
        const chunks: Buffer[] = [];
        for await (const chunk of answer) chunks.push(chunk as Buffer);
        resolve({ status: answer.statusCode!, bytes: Buffer.concat(chunks) });
      },
    );
    call.on('error', reject);
    call.setHeader('x-handback', '1');
    call.setHeader('content-type', 'application/json');
    call.end(body && JSON.stringify(body));
  });
}

const daemon = start('start', '--no-browser', '--json', '--port', '0', '--library', library);
const [line] = (await once(createInterface({ input: daemon.stdout! }), 'line')) as [string];
const url = new URL((JSON.parse(line) as { url: string }).url);
const json = async (path: string, body?: object) =>
  JSON.parse((await ask(url, path, body)).bytes.toString('utf8')) as never;

const page = (await ask(url, '/')).bytes.toString('utf8');
const files = [...page.matchAll(/(?:src|href)="\.?(\/assets\/[^"]+)"/g)].map((m) => m[1]!);
for (const file of files) await ask(url, file);
const { job } = (await json('/api/jobs', { vehicle: 'Tarnwick (invented)' })) as { job: { id: string } };
await json('/api/connect', { link: 'sim:twin-charged?front=slcan&answer=90' });
const { id: run } = (await json('/api/run', { purpose: 'verification', job: job.id })) as { id: string };
for (let samples = 0; samples < 300; )
  ({ samples } = ((await json('/api/state')) as { run: { samples: number } }).run);
await json('/api/marks', { key: 'N', text: 'noise' });
await json('/api/run/stop', {});
const beforePrint = attempts();
const pdf = await ask(url, `/api/jobs/${job.id}/sheet?as=pdf`);
const afterPrint = attempts();
const asked = await Promise.all(
  [
    `/api/runs/${run}`,
    `/api/compare?before=${run}&after=${run}`,
    '/api/ports',
    '/api/network',
    `/api/jobs/${job.id}/sheet`,
  ].map(async (path) => (await ask(url, path)).status),
);
const hears = listening();
await json('/api/house/quit', { endRecording: true });
await once(daemon, 'close');

const folderOfRun = join(library, job.id, run);
const pool = join(folder, 'pool');
const secret = ['--secret', join(folder, 'secret')];
const commands = [
  await done('judge', folderOfRun),
  await done('pool', 'add', pool, '--library', library, '--practice', '--yes', ...secret),
  await done('pool', 'sql', pool, 'SELECT count(*) AS n FROM runs'),
];
const counted = attempts();
// A browser asks the kernel by a socket that sends nothing whether IPv6 leads anywhere.
counted[IPV6]! -= afterPrint[IPV6]! - beforePrint[IPV6]!;

// And were it otherwise it would be seen: one address, one name.
await new Promise((resolve) => request('http://192.0.2.1/').on('error', resolve).end());
console.log(
  JSON.stringify({
    counted,
    hears,
    files: files.length,
    pdf: pdf.bytes.subarray(0, 5).toString('latin1'),
    asked,
    commands,
    control: attempts(),
  }),
);
