/** What a person starts on each system, and the few lines that lie beside it. */
import type { Target } from './targets.ts';

/** As `npm start` has them: what is lost in memory is bounded, and a fault names its line. */
export const NODE_FLAGS = '--enable-source-maps --max-semi-space-size=4 --max-old-space-size=512';
export const MAIN = 'app/dist/src/program/main.js';

/** Follows links to where the program lies, so that it may be linked into the path. No tool but the shell's own. */
const SHELL = `#!/bin/sh
# Handback: without arguments it starts and opens its page; with arguments it is the command line (--help).
self=$0
while [ -h "$self" ]; do
  link=$(ls -ld "$self")
  link=\${link#*' -> '}
  case $link in
    /*) self=$link ;;
    *) self=$(dirname "$self")/$link ;;
  esac
done
home=$(cd "$(dirname "$self")" && pwd -P)
[ $# -gt 0 ] || set -- start
exec "$home/runtime/node" ${NODE_FLAGS} "$home/${MAIN}" "$@"
`;

const CMD = `@echo off\r
"%~dp0runtime\\node.exe" ${NODE_FLAGS} "%~dp0${MAIN.replaceAll('/', '\\')}" %*\r
`;

/** Path → text. The windowless Handback.exe is made by makensis. */
export function launchersOf(target: Target): ReadonlyMap<string, string> {
  if (target.platform === 'win32') return new Map([['handback.cmd', CMD]]);
  if (target.platform === 'darwin')
    return new Map([
      ['handback', SHELL],
      ['Handback.command', '#!/bin/sh\nexec "$(dirname "$0")/handback" start\n'],
    ]);
  return new Map([['handback', SHELL]]);
}

const START: Readonly<Record<Target['platform'], string>> = {
  linux: 'Start: ./handback opens the page in your browser, or says its address.',
  darwin: 'Start: open Handback.command; it opens the page in your browser.',
  win32: 'Start: open Handback.exe; it opens the page in your browser.',
};
const PORTS: Readonly<Record<Target['platform'], string>> = {
  linux: `Serial ports: your account must be in the group that owns them, usually dialout:
  sudo usermod -aG dialout "$USER"
and sign in again. (The .deb does this for whoever sits at the computer, without a group.)`,
  darwin: 'Serial ports need no permission. Take the one whose name begins with /dev/cu.',
  win32: 'Serial ports need no permission. The driver of the cable must be installed.',
};

export function readMe(target: Target, version: string): string {
  const text = `Handback ${version}

${START[target.platform]}
Quit: on the page, under "?". Closing the page alone stops nothing.

Nothing else is needed: no Node.js, no network, no administrator.
Your library is not in this folder. The page shows where it is, under "?".
Update: quit, put the newer folder in the place of this one, start. The library stays.
Remove: quit, delete this folder. The library stays.

${PORTS[target.platform]}

The command line is "handback" beside this file: handback --help.
Licences of what is inside: LICENCES.txt.
`;
  return target.platform === 'win32' ? text.replaceAll('\n', '\r\n') : text;
}
