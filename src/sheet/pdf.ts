/** PDF through a Chromium that is installed anyway. Nothing is fetched; the browser gets a throw-away profile and no network use of its own. */

import { spawn } from 'node:child_process';
import { accessSync, constants } from 'node:fs';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { asIs } from '../core/says.ts';

const ON_PATH = [
  'chromium',
  'chromium-browser',
  'google-chrome-stable',
  'google-chrome',
  'microsoft-edge-stable',
  'microsoft-edge',
] as const;
const MAC_APPLICATIONS = ['Chromium', 'Google Chrome', 'Microsoft Edge'] as const;
const WINDOWS_PROGRAMS = [
  ['Chromium', 'Application', 'chrome.exe'],
  ['Google', 'Chrome', 'Application', 'chrome.exe'],
  ['Microsoft', 'Edge', 'Application', 'msedge.exe'],
] as const;
/** A busy laptop takes its time to start a browser. */
const TIMEOUT_MS = 120_000;
const MOST_STDERR = 4000;

/** What the choice of a browser depends on; given in tests. */
export interface Surroundings {
  readonly env: NodeJS.ProcessEnv;
  readonly platform: NodeJS.Platform;
  readonly exists: (path: string) => boolean;
}

const HERE: Surroundings = { env: process.env, platform: process.platform, exists: isProgram };

/** The browser to print with: the one that CHROMIUM names, else the first that is installed; null when there is none. */
export function findChromium({ env, platform, exists }: Surroundings = HERE): string | null {
  const named = env.CHROMIUM;
  if (named) return exists(named) ? named : null;
  return candidates(env, platform).find(exists) ?? null;
}

function candidates(env: NodeJS.ProcessEnv, platform: NodeJS.Platform): string[] {
  if (platform === 'win32')
    return [env.PROGRAMFILES, env['PROGRAMFILES(X86)'], env.LOCALAPPDATA].flatMap((root) =>
      root ? WINDOWS_PROGRAMS.map((parts) => [root, ...parts].join('\\')) : [],
    );
  const found = (env.PATH ?? '').split(delimiter).flatMap((dir) => ON_PATH.map((name) => join(dir, name)));
  if (platform !== 'darwin') return found;
  return [...MAC_APPLICATIONS.map((name) => `/Applications/${name}.app/Contents/MacOS/${name}`), ...found];
}

/**
 * @param html a self-contained sheet (bytes: UTF-8); its own `@page` decides the paper
 * @throws HandbackError input.usage when there is no browser, internal when it does not print
 */
export async function printPdf(
  html: string | Uint8Array,
  surroundings: Surroundings = HERE,
): Promise<Uint8Array> {
  const browser = findChromium(surroundings);
  if (browser === null)
    throw new HandbackError('input.usage', saying('error.no-browser'), {
      hint: saying('error.no-browser-hint'),
    });
  const folder = await mkdtemp(join(tmpdir(), 'handback-pdf-'));
  try {
    const source = join(folder, 'sheet.html');
    const target = join(folder, 'sheet.pdf');
    await writeFile(source, html, { mode: 0o600 });
    let trouble: string | null = null;
    // On a starved machine it may end well without having printed: that is worth a second try, a failure is not.
    for (let attempt = 0; attempt < 2 && trouble === null; attempt++) {
      trouble = await run(browser, [...flags(folder, target), pathToFileURL(source).href]);
      const pdf = await readFile(target).catch(() => null);
      if (trouble === null && pdf !== null && pdf.subarray(0, 5).toString('latin1') === '%PDF-') return pdf;
    }
    throw new HandbackError(
      'internal',
      saying('error.not-printed', {
        browser,
        why: trouble === null ? saying('reason.no-pdf') : asIs(trouble),
      }),
      {
        hint: saying('error.not-printed-hint'),
      },
    );
  } finally {
    // A browser that was killed may still be letting go of its files.
    await rm(folder, { recursive: true, force: true, maxRetries: 5 }).catch(() => undefined);
  }
}

function flags(folder: string, target: string): string[] {
  const root = process.getuid?.() === 0;
  return [
    '--headless',
    // Chromium refuses its sandbox to root; everybody else keeps it.
    ...(root ? ['--no-sandbox'] : []),
    '--disable-gpu',
    '--disable-quic',
    '--no-first-run',
    '--disable-background-networking',
    '--disable-component-update',
    '--disable-sync',
    // It would still ask its maker for the time and for updates: no name leads anywhere.
    '--host-resolver-rules=MAP * ~NOTFOUND',
    '--disable-dev-shm-usage',
    `--user-data-dir=${join(folder, 'profile')}`,
    '--no-pdf-header-footer',
    `--print-to-pdf=${target}`,
  ];
}

/** Null when it ended well, else what went wrong. */
function run(program: string, args: readonly string[]): Promise<string | null> {
  return new Promise((resolve) => {
    const child = spawn(program, args, { stdio: ['ignore', 'ignore', 'pipe'], windowsHide: true });
    let said = '';
    let late = false;
    const timer = setTimeout(() => {
      late = true;
      child.kill('SIGKILL');
    }, TIMEOUT_MS);
    child.stderr.on('data', (chunk: Buffer) => {
      if (said.length < MOST_STDERR) said += chunk.toString('utf8');
    });
    child.on('error', (e) => {
      clearTimeout(timer);
      resolve(e.message);
    });
    child.on('close', (code) => {
      clearTimeout(timer);
      if (late) resolve(`it did not finish within ${TIMEOUT_MS / 1000} s`);
      else resolve(code === 0 ? null : `it ended with ${code}${said === '' ? '' : ` (${lastLine(said)})`}`);
    });
  });
}

const lastLine = (text: string): string => text.trim().split('\n').at(-1)?.slice(0, 200) ?? '';

function isProgram(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}
