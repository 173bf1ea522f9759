/**
 * `npm run package:try [-- --from DIR]`: what was packed is tried as a technician would, and a table says how it went.
 * `npm run windows`: of it the Windows files alone, packed first where they are not there; skipped with the reason where
 * wine is missing.
 * The .deb in a fresh Debian without Node.js, the Windows files under wine64, of the others each program's platform.
 * As root on Debian, with debootstrap and wine64; the fresh Debian is kept in ~/.cache/handback-try for the next time.
 */
import { type ChildProcess, execFileSync, spawn, spawnSync } from 'node:child_process';
import {
  closeSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readdirSync,
  readFileSync,
  readlinkSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { homedir, tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { madeFor, TARGETS } from './targets.ts';
import { ROOT, version } from './tree.ts';

const fromAt = process.argv.indexOf('--from');
const only = process.argv.includes('--windows') ? 'windows' : null;
const from = resolve(fromAt < 0 ? join(ROOT, 'dist', 'packages') : (process.argv[fromAt + 1] ?? '.'));
const CACHE = join(homedir(), '.cache', 'handback-try');
const PATIENCE_MS = 180_000;
const work = mkdtempSync(join(tmpdir(), 'handback-try-'));
const rows: { readonly where: string; readonly what: string; readonly how: string; readonly ok: boolean }[] =
  [];
const started: ChildProcess[] = [];

/** One row; what fails is a row too, and the rest of that system is left. */
async function step(where: string, what: string, tried: () => Promise<string> | string): Promise<void> {
  try {
    rows.push({ where, what, how: await tried(), ok: true });
  } catch (thrown) {
    rows.push({ where, what, how: String(thrown).split('\n').slice(0, 3).join(' '), ok: false });
    throw thrown;
  } finally {
    const { ok, how } = rows.at(-1)!;
    console.error(`${ok ? 'ok    ' : 'FAILED'} ${where}: ${what}: ${how}`);
  }
}

const run = (program: string, ...args: string[]): string =>
  execFileSync(program, args, { encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'], env: plainEnv() });

function plainEnv(more: NodeJS.ProcessEnv = {}): NodeJS.ProcessEnv {
  const { PATH, HOME, LANG } = process.env;
  return { PATH, HOME, LANG, ...more };
}

async function until<T>(what: string, look: () => Promise<T | null> | T | null): Promise<T> {
  for (const end = Date.now() + PATIENCE_MS; Date.now() < end; ) {
    const found = await look();
    if (found !== null) return found;
    await new Promise((done) => setTimeout(done, 50));
  }
  throw new Error(`${what} did not come within ${PATIENCE_MS / 1000} s`);
}

/** On a connection of its own: one that was kept would have been closed while a step here held everything up. */
const fetchAnew: typeof fetch = (to, init = {}) =>
  fetch(to, { ...init, headers: { ...(init.headers as Record<string, string>), connection: 'close' } });

/** Talks to a daemon as its page does. */
class Page {
  url: string;
  constructor(url: string) {
    this.url = url;
  }
  async get<T>(path: string): Promise<T> {
    return (await fetchAnew(new URL(path, this.url))).json() as Promise<T>;
  }
  async post<T>(path: string, body: object = {}): Promise<T> {
    const answer = await fetchAnew(new URL(path, this.url), {
      method: 'POST',
      headers: { 'x-handback': '1', 'content-type': 'application/json' },
      body: JSON.stringify(body),
    });
    const json = (await answer.json()) as T & { readonly error?: string; readonly hint?: string };
    if (!answer.ok) throw new Error(`${path}: ${answer.status} ${json.error} ${json.hint ?? ''}`);
    return json;
  }
  up(): Promise<string> {
    return until('the page', () =>
      fetchAnew(this.url).then(
        async (a) => (a.ok ? await a.text() : null),
        () => null,
      ),
    );
  }
  samples(atLeast: number): Promise<number> {
    return until('samples', async () => {
      const { run } = await this.get<{ run: { samples: number } | null }>('/api/state');
      return run && run.samples >= atLeast ? run.samples : null;
    });
  }
  runs(): Promise<{ id: string; closed: boolean; seconds: number | null }[]> {
    return this.get('/api/runs');
  }
}

/** A simulated car behind a pseudo-terminal of this computer; its port. */
async function simulatedCar(): Promise<string> {
  const child = spawn(
    process.execPath,
    ['--import', 'tsx', join(ROOT, 'src/cli/main.ts'), 'sim', '--json', '--front', 'at'],
    {
      cwd: ROOT,
      stdio: ['ignore', 'pipe', 'inherit'],
    },
  );
  started.push(child);
  let told = '';
  child.stdout!.on('data', (b: Buffer) => {
    told += b.toString();
  });
  const { port } = await until('the simulated car', () =>
    told.includes('\n') ? JSON.parse(told.split('\n')[0]!) : null,
  );
  run('chmod', 'a+rw', port);
  return port;
}

const packed = (target: string, kind: string): string => {
  const file = join(from, `handback-${version()}-${target}.${kind}`);
  if (!existsSync(file)) throw new Error(`${file} is missing: npm run package -- ${target}`);
  return file;
};

async function debian(): Promise<void> {
  const where = 'deb, Debian without Node.js';
  const clean = join(CACHE, 'debian');
  const root = join(work, 'debian');
  const inside = (command: string) => run('chroot', root, 'su', 'tess', '-c', command);
  const file = packed('linux-x64', 'deb');
  if (!existsSync(join(clean, 'etc'))) {
    mkdirSync(CACHE, { recursive: true });
    run('debootstrap', '--variant=minbase', 'bookworm', clean, 'http://deb.debian.org/debian');
  }
  run('cp', '-a', clean, root);
  run('mount', '--bind', '/dev/pts', join(root, 'dev/pts'));
  run('mount', '-t', 'proc', 'proc', join(root, 'proc'));
  const open = join(root, 'tmp', 'opened');
  writeFileSync(join(root, 'tmp', 'browser'), '#!/bin/sh\necho "$1" >> /tmp/opened\n', { mode: 0o755 });
  const opened = () => (existsSync(open) ? readFileSync(open, 'utf8').trim().split('\n') : []);
  const start = (): ChildProcess => {
    const child = spawn(
      'chroot',
      [root, 'su', 'tess', '-c', 'HANDBACK_BROWSER=/tmp/browser exec handback start'],
      {
        stdio: ['ignore', 'ignore', 'inherit'],
        env: plainEnv(),
      },
    );
    started.push(child);
    return child;
  };
  const next = async (): Promise<{ page: Page; ms: number; child: ChildProcess }> => {
    const before = opened().length;
    const beganMs = performance.now();
    const child = start();
    const url = await until('the browser', () => opened()[before] ?? null);
    const page = new Page(url);
    await page.up();
    return { page, ms: performance.now() - beganMs, child };
  };
  const over = (child: ChildProcess) =>
    until('the end', () => ((child.exitCode ?? child.signalCode) === null ? null : child));
  const size = (readFileSync(file).length / 1e6).toFixed(1);
  try {
    run('chroot', root, 'useradd', '-m', 'tess');
    run('cp', file, join(root, 'tmp', 'handback.deb'));
    await step(where, 'install', () => {
      run('chroot', root, 'dpkg', '-i', '/tmp/handback.deb');
      const node = run('chroot', root, 'sh', '-c', 'command -v node nodejs || echo none').trim();
      if (node !== 'none') throw new Error(`there is a Node.js: ${node}`);
      return `${size} MB; ${inside('handback --version').trim()}; no other Node.js there`;
    });
    let { page, ms, child } = await next();
    await step(where, 'start, page up', () => `first ${(ms / 1000).toFixed(1)} s`);
    await step(where, 'second start', async () => {
      inside('HANDBACK_BROWSER=/tmp/browser handback start');
      if (opened().length !== 2 || opened()[0] !== opened()[1]) throw new Error(opened().join(' '));
      return 'shows the page of the one that runs';
    });
    const port = await simulatedCar();
    await step(where, 'record over a pseudo-terminal', async () => {
      await page.post('/api/connect', { link: port });
      await page.post('/api/run', { purpose: 'other' });
      return `${await page.samples(500)} samples and counting`;
    });
    await step(where, 'quit and update while it records', async () => {
      const refused = await page.post('/api/house/quit', { endRecording: false }).then(
        () => 'not refused',
        (e: unknown) => String(e),
      );
      if (!refused.includes('409')) throw new Error(refused);
      const upgrade = newer(file, root);
      const said = spawnText('chroot', root, 'dpkg', '-i', upgrade);
      if (!said.includes('Handback is running') || (await page.samples(501)) < 501) throw new Error(said);
      return 'both refused with a sentence; recording goes on';
    });
    await step(where, 'killed while it records, started again', async () => {
      killBelow(root);
      await over(child);
      ({ page, ms, child } = await next());
      const [kept] = await page.runs();
      if (!kept?.closed) throw new Error(JSON.stringify(kept));
      return `run closed and kept, ${kept.seconds?.toFixed(1)} s; page up warm in ${(ms / 1000).toFixed(1)} s`;
    });
    await step(where, 'quit, update, start', async () => {
      await page.post('/api/house/quit', { endRecording: false });
      await over(child);
      run('chroot', root, 'dpkg', '-i', newer(file, root));
      ({ page, child } = await next());
      const kept = await page.runs();
      await page.post('/api/house/quit', { endRecording: false });
      await over(child);
      if (kept.length !== 1) throw new Error(JSON.stringify(kept));
      return `${inside('handback --version').trim()} as 999.0; the run is there`;
    });
    await step(where, 'remove', () => {
      run('chroot', root, 'dpkg', '-r', 'handback');
      for (const gone of ['usr/lib/handback', 'usr/bin/handback', 'usr/share/applications/handback.desktop'])
        if (existsSync(join(root, gone))) throw new Error(`${gone} is still there`);
      const library = join(root, 'home/tess/.local/share/handback');
      const left = readdirSync(library);
      if (left.length === 0) throw new Error('the library is gone');
      return `program gone, library left (${left.length} entry)`;
    });
  } finally {
    for (const child of started.splice(0)) child.kill('SIGKILL');
    killBelow(root);
    run('umount', '-l', join(root, 'proc'));
    run('umount', '-l', join(root, 'dev/pts'));
  }
}

/** Ends whatever runs a program that lies in this folder. */
function killBelow(root: string): void {
  for (const pid of readdirSync('/proc').filter((name) => /^\d+$/.test(name)))
    try {
      if (readlinkSync(`/proc/${pid}/exe`).startsWith(`${root}/`)) process.kill(Number(pid), 'SIGKILL');
    } catch {
      // ended meanwhile, or a thread of the kernel
    }
}

/** The same package with a higher version, inside the root; its path there. */
function newer(file: string, root: string): string {
  const folder = join(root, 'tmp', 'newer');
  if (!existsSync(`${folder}.deb`)) {
    run('dpkg-deb', '-R', file, folder);
    const control = join(folder, 'DEBIAN', 'control');
    writeFileSync(control, readFileSync(control, 'utf8').replace(/^Version: .*$/m, 'Version: 999.0'));
    run('dpkg-deb', '-Znone', '--root-owner-group', '-b', folder, `${folder}.deb`);
  }
  return '/tmp/newer.deb';
}

/** Whatever its status. */
function spawnText(program: string, ...args: string[]): string {
  try {
    return run(program, ...args);
  } catch (thrown) {
    const { stdout, stderr } = thrown as { stdout?: string; stderr?: string };
    return `${stdout ?? ''}${stderr ?? ''}`;
  }
}

async function windows(): Promise<void> {
  const where = 'zip, wine64';
  const env = plainEnv({ WINEPREFIX: join(work, 'wine'), WINEDEBUG: '-all', WINEARCH: 'win64' });
  const wine = (...args: string[]) =>
    execFileSync('wine', args, { env, stdio: 'ignore', timeout: PATIENCE_MS });
  for (const program of ['wine', 'wineserver'])
    if (spawnText('sh', '-c', `command -v ${program} || echo none`).trim() === 'none') {
      console.error(`skipped: ${program} is missing (Debian: wine64)`);
      return;
    }
  if (only !== null && !existsSync(join(from, `handback-${version()}-win-x64.setup.exe`)))
    await step(where, 'pack', () => {
      run(process.execPath, '--import', 'tsx', join(ROOT, '.package/pack.ts'), 'win-x64', '--out', from);
      return 'from these sources';
    });
  const file = packed('win-x64', 'zip');
  const folder = join(work, 'zip', `handback-${version()}-win-x64`);
  const serve = (): ChildProcess => {
    const child = spawn(
      'wine',
      [
        join(folder, 'runtime/node.exe'),
        join(folder, 'app/dist/src/program/main.js'),
        'start',
        '--no-browser',
        '--port',
        '8237',
      ],
      { env, stdio: 'ignore' },
    );
    started.push(child);
    return child;
  };
  const page = new Page('http://127.0.0.1:8237/');
  /** The command line; its two streams go through files, because a pipe is not always taken for one under wine. */
  const cli = (...args: string[]): { status: number | null; out: string; err: string } => {
    const [out, err] = ['out', 'err'].map((name) => join(work, `cli-${name}`)) as [string, string];
    const [o, e] = [openSync(out, 'w'), openSync(err, 'w')];
    const program = [join(folder, 'runtime/node.exe'), join(folder, 'app/dist/src/program/main.js')];
    const stdio: ['ignore', number, number] = ['ignore', o, e];
    const { status } = spawnSync('wine', [...program, ...args], { env, stdio, timeout: PATIENCE_MS });
    closeSync(o);
    closeSync(e);
    return { status, out: readFileSync(out, 'utf8'), err: readFileSync(err, 'utf8') };
  };
  const well = (...args: string[]): string => {
    const { status, out, err } = cli(...args);
    if (status !== 0)
      throw new Error(`handback ${args.join(' ')} ended with ${status}: ${err.slice(0, 300)}`);
    return out;
  };
  /** A path of this computer as wine sees it. */
  const seen = (path: string): string => `Z:${path.replaceAll('/', '\\')}`;
  try {
    run('python3', '-m', 'zipfile', '-e', file, join(work, 'zip'));
    spawnText(
      'env',
      `WINEPREFIX=${env.WINEPREFIX}`,
      'WINEARCH=win64',
      'WINEDEBUG=-all',
      'wine',
      'wineboot',
      '-i',
    );
    wine('reg', 'add', 'HKCU\\Software\\Wine', '/v', 'Version', '/d', 'win10', '/f');
    const port = await simulatedCar();
    symlinkSync(port, join(work, 'wine/dosdevices/com9'));
    const drive = join(ROOT, 'captures/clutch-never-closes');
    await step(where, 'judge, check, export', () => {
      const [judgement = ''] = well('judge', '--json', seen(drive)).split('\n');
      const { systems } = JSON.parse(judgement) as { systems: { boost: { verdict: string } } };
      if (systems.boost.verdict !== 'fault shown') throw new Error(judgement.slice(0, 300));
      well('check', seen(drive));
      const table = join(work, 'drive.csv');
      well('export', seen(drive), '--to', 'csv', '--out', seen(table));
      return `boost: ${systems.boost.verdict}; table of ${readFileSync(table, 'utf8').split('\n').length} lines`;
    });
    await step(where, 'record over a COM port by the command line', () => {
      const args = [
        'record',
        '--link',
        'COM9',
        '--seconds',
        '5',
        '--out',
        seen(join(work, 'recorded')),
        '--json',
      ];
      const { samples, discardedBytes } = JSON.parse(well(...args)) as Record<string, number>;
      if (!(samples! > 50) || discardedBytes !== 0)
        throw new Error(`${samples} samples, ${discardedBytes} bytes`);
      well('check', seen(join(work, 'recorded')));
      return `${samples} samples, none discarded; the run is in order`;
    });
    let child = serve();
    await step(where, 'unpack, start, page served', async () => {
      const beganMs = performance.now();
      const text = await page.up();
      if (!text.includes('<title>')) throw new Error(text.slice(0, 200));
      return `${(readFileSync(file).length / 1e6).toFixed(1)} MB; page up in ${((performance.now() - beganMs) / 1000).toFixed(1)} s`;
    });
    await step(where, 'record over a COM port', async () => {
      await page.post('/api/connect', { link: 'COM9' });
      await page.post('/api/run', { purpose: 'other' });
      return `${await page.samples(200)} samples and counting`;
    });
    await step(where, 'the same port by another one', () => {
      const { status, err } = cli(
        'record',
        '--link',
        'COM9',
        '--seconds',
        '2',
        '--out',
        seen(join(work, 'second')),
      );
      if (status !== 4) throw new Error(`ended with ${status}: ${err.slice(0, 300)}`);
      return err.trim().split('\n').at(-1)!.slice(0, 120);
    });
    await step(where, 'killed while it records, started again', async () => {
      child.kill('SIGKILL');
      spawnText('env', `WINEPREFIX=${env.WINEPREFIX}`, 'wineserver', '-k');
      child = serve();
      await page.up();
      const [kept] = await page.runs();
      if (!kept?.closed) throw new Error(JSON.stringify(kept));
      return `run closed and kept, ${kept.seconds?.toFixed(1)} s`;
    });
    await step(where, 'job, run filed, archive out and in, sheet', async () => {
      const [kept] = await page.runs();
      const { job } = await page.post<{ job: { id: string } }>('/api/jobs', {
        vehicle: 'trial',
        complaint: 'none',
      });
      await page.post(`/api/runs/${kept!.id}/file`, { job: job.id, purpose: 'verification' });
      const archive = await (await fetchAnew(new URL(`/api/jobs/${job.id}/archive`, page.url))).arrayBuffer();
      await page.post(`/api/jobs/${job.id}/delete`);
      const headers = { 'x-handback': '1', 'content-type': 'application/zip' };
      const answer = await fetchAnew(new URL('/api/jobs/import', page.url), {
        method: 'POST',
        headers,
        body: archive,
      });
      const again = (await answer.json()) as { id: string; error?: string };
      if (!answer.ok) throw new Error(JSON.stringify(again));
      const sheet = await (await fetchAnew(new URL(`/api/jobs/${again.id}/sheet`, page.url))).text();
      if (!sheet.includes('<h1') || !sheet.includes('trial')) throw new Error(sheet.slice(0, 300));
      return `archive of ${(archive.byteLength / 1000).toFixed(0)} kB; sheet of ${(sheet.length / 1000).toFixed(0)} kB`;
    });
    await step(where, 'sheet as PDF', async () => {
      const { jobs } = await page.get<{ jobs: { id: string }[] }>('/api/jobs');
      const answer = await fetchAnew(new URL(`/api/jobs/${jobs[0]!.id}/sheet?as=pdf`, page.url));
      const bytes = Buffer.from(await answer.arrayBuffer());
      if (answer.ok && bytes.subarray(0, 5).toString() === '%PDF-')
        return `${(bytes.length / 1000).toFixed(0)} kB`;
      // There is no browser for Windows here: what counts is that it says so.
      if (!/browser/i.test(bytes.toString())) throw new Error(bytes.toString().slice(0, 300));
      return 'no browser in this Windows: said in a sentence; not printed';
    });
    await page.post('/api/house/quit', { endRecording: false });
    await until('the end', () => (child.exitCode ?? child.signalCode) !== null || null);
    const setup = packed('win-x64', 'setup.exe');
    const home = join(work, 'wine/drive_c/users', process.env.USER ?? 'root');
    const installed = join(home, 'AppData/Local/Programs/Handback');
    await step('setup.exe, wine64', 'install', () => {
      wine(setup, '/S');
      const link = readdirSync(join(home, 'AppData/Roaming/Microsoft/Windows/Start Menu/Programs'));
      if (!existsSync(join(installed, 'runtime/node.exe')) || !link.includes('Handback.lnk'))
        throw new Error(link.join());
      return `${(readFileSync(setup).length / 1e6).toFixed(1)} MB; entry in the Start menu`;
    });
    await step('setup.exe, wine64', 'setup and uninstaller over a running program', async () => {
      const program = [join(installed, 'runtime/node.exe'), join(installed, 'app/dist/src/program/main.js')];
      child = spawn('wine', [...program, 'start', '--no-browser', '--port', '8237'], {
        env,
        stdio: 'ignore',
      });
      started.push(child);
      await page.up();
      const { status } = spawnSync('wine', [setup, '/S'], { env, stdio: 'ignore', timeout: PATIENCE_MS });
      // In place: the copy that it otherwise starts keeps its exit status to itself.
      const args = [join(installed, 'Uninstall.exe'), '/S', `_?=${windowsPath(installed)}`];
      const removal = spawnSync('wine', args, { env, stdio: 'ignore', timeout: PATIENCE_MS });
      if (status !== 3 || removal.status !== 3) throw new Error(`ended with ${status} and ${removal.status}`);
      await page.up();
      for (const kept of ['runtime/node.exe', 'app/dist/src/program/main.js', 'Uninstall.exe'])
        if (!existsSync(join(installed, kept))) throw new Error(`${kept} is gone`);
      await page.post('/api/house/quit', { endRecording: false });
      await until('the end', () => (child.exitCode ?? child.signalCode) !== null || null);
      return 'both refused with 3, nothing changed, the page goes on';
    });
    await step('setup.exe, wine64', 'update of a program that was quit', () => {
      wine(setup, '/S');
      if (!existsSync(join(installed, 'runtime/node.exe'))) throw new Error('not installed');
      return 'installed again';
    });
    await step('setup.exe, wine64', 'uninstall', async () => {
      wine(join(installed, 'Uninstall.exe'), '/S');
      await until('the end of the uninstaller', () => (existsSync(join(installed, 'runtime')) ? null : true));
      const left = readdirSync(join(home, 'Documents/Handback'));
      return `program gone, library left (${left.length} entry)`;
    });
  } finally {
    for (const child of started.splice(0)) child.kill('SIGKILL');
    spawnText('env', `WINEPREFIX=${env.WINEPREFIX}`, 'wineserver', '-k');
  }
}

/** A path below a wine prefix as its programs see it. */
function windowsPath(path: string): string {
  return `C:${path.split('drive_c')[1]!.replaceAll('/', '\\')}`;
}

/** Unpacked; each program and native part asked what it was made for. */
async function others(): Promise<void> {
  for (const name of ['linux-arm64', 'darwin-x64'] as const)
    await step(`tar.gz, ${name}`, 'unpack', () => {
      const file = packed(name, 'tar.gz');
      const folder = join(work, name);
      mkdirSync(folder);
      run('tar', 'xzf', file, '-C', folder);
      const { platform, arch } = TARGETS[name];
      const made = (readdirSync(folder, { recursive: true }) as string[])
        .filter(
          (f) => /(^|\/)node$|\.node$/.test(f) && !f.endsWith('esm/node') && !f.endsWith('commonjs/node'),
        )
        .map((f) => ({ f, made: madeFor(readFileSync(join(folder, f))) }));
      const wrong = made.find((m) => !m.made?.includes(`${platform}-${arch}`));
      if (wrong || made.length !== 2) throw new Error(JSON.stringify(made));
      return `${(readFileSync(file).length / 1e6).toFixed(1)} MB; ${made.map((m) => m.f.split('/').at(-1)).join(', ')} for ${name}; not started`;
    });
}

try {
  for (const part of only === null ? [debian, windows, others] : [windows])
    await part().catch((thrown: unknown) => {
      if (rows.at(-1)?.ok !== false)
        rows.push({ where: part.name, what: 'trial', how: String(thrown), ok: false });
    });
} finally {
  run('rm', '-rf', '--one-file-system', work); // a mount that is left over keeps what is behind it
}
console.log('| tried | step | how it went |\n|---|---|---|');
for (const r of rows) console.log(`| ${r.where} | ${r.what} | ${r.ok ? '' : 'FAILED: '}${r.how} |`);
process.exitCode = rows.every((r) => r.ok) ? 0 : 1;
