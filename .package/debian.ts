/** A package for Debian and what descends from it: `dpkg -i` as root, no other package needed but the C and C++ libraries. */

import { spawnSync } from 'node:child_process';
import {
  chmodSync,
  lutimesSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { foldersOf, type Tree } from './tar.ts';
import type { Target } from './targets.ts';
import { ROOT, SHELL_FOLDER } from './tree.ts';

const HOME = 'usr/lib/handback';
const RUNNING = `
# What runs would lose the files under its feet, and with them perhaps a recording.
for process in /proc/[0-9]*; do
  case "$(readlink "$process/exe" 2>/dev/null)" in
    "/${HOME}/runtime/node" | "/${HOME}/runtime/node (deleted)")
      echo "Handback is running. Quit it on its page first (a recording is kept), then try again; nothing was changed." >&2
      exit 1 ;;
  esac
done
`;
const SCRIPTS: Readonly<Record<string, string>> = {
  preinst: `#!/bin/sh\nset -e\nif [ "$1" = upgrade ]; then${RUNNING}fi\n`,
  prerm: `#!/bin/sh\nset -e\nif [ "$1" = remove ]; then${RUNNING}fi\n`,
  // The rule holds for what is plugged in already, too.
  postinst: `#!/bin/sh
set -e
if [ "$1" = configure ] && command -v udevadm >/dev/null 2>&1; then
  udevadm control --reload || true
  udevadm trigger --subsystem-match=tty || true
fi
`,
};

const DESKTOP = `[Desktop Entry]
Type=Application
Name=Handback
Comment=Prove a big cooling or forced-induction repair on the road
Comment[de]=Große Reparaturen an Kühlung und Aufladung auf der Straße belegen
Exec=handback start
Icon=handback
Terminal=false
Categories=Utility;
`;

/** udev(7): whoever sits at the computer may open serial ports of USB and wireless adapters; nobody else gains. */
const UDEV = `# Must come before 73-seat-late.rules, where "uaccess" takes effect.
ACTION!="remove", SUBSYSTEM=="tty", KERNEL=="ttyUSB[0-9]*|ttyACM[0-9]*|rfcomm[0-9]*", TAG+="uaccess"
`;

/** Writes the package to `file`. */
export function writeDeb(
  file: string,
  tree: Tree,
  target: Target,
  about: { readonly version: string; readonly atS: number },
): void {
  const files = new Map<string, { bytes: Buffer; mode: number }>();
  for (const [path, { bytes, program }] of tree)
    files.set(`${HOME}/${path}`, { bytes, mode: program ? 0o755 : 0o644 });
  const put = (path: string, text: string | Buffer) =>
    files.set(path, { bytes: Buffer.from(text), mode: 0o644 });
  put('usr/share/applications/handback.desktop', DESKTOP);
  put('usr/share/icons/hicolor/scalable/apps/handback.svg', readFileSync(join(ROOT, 'web/icon.svg')));
  put('usr/lib/udev/rules.d/70-handback.rules', UDEV);
  put('usr/share/doc/handback/copyright', tree.get('LICENCES.txt')!.bytes);
  const shell = (path: string): Buffer => tree.get(`${SHELL_FOLDER}/${path}`)!.bytes;
  put('usr/share/man/man1/handback.1.gz', gzipSync(shell('handback.1'), { level: 9 }));
  put('usr/share/bash-completion/completions/handback', shell('handback.bash'));
  put('usr/share/zsh/vendor-completions/_handback', shell('_handback'));
  const kib = Math.ceil([...files.values()].reduce((sum, f) => sum + f.bytes.length, 0) / 1024);
  const links = new Map([['usr/bin/handback', `../lib/handback/handback`]]);
  const folder = mkdtempSync(join(tmpdir(), 'handback-deb-'));
  try {
    layOut(join(folder, 'root'), files, links, about.atS, {
      control: control(target, about.version, kib),
      ...SCRIPTS,
    });
    const { status, stderr, error } = spawnSync(
      'dpkg-deb',
      ['--root-owner-group', '--threads-max=1', '-Zxz', '-z6', '--build', join(folder, 'root'), file],
      { encoding: 'utf8', env: { ...process.env, SOURCE_DATE_EPOCH: String(about.atS) } },
    );
    if (status !== 0) throw new Error(`dpkg-deb failed: ${stderr || error}`);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

function control(target: Target, version: string, installedKib: number): string {
  return `Package: handback
Version: ${version}
Architecture: ${target.debian}
Maintainer: Handback <handback@localhost>
Installed-Size: ${installedKib}
Depends: libc6 (>= 2.28), libgcc-s1, libstdc++6
Suggests: udev, xdg-utils
Section: utils
Priority: optional
Description: prove a big cooling or forced-induction repair on the road
 Records a road test over a serial diagnostic adapter, watches it live, judges
 it, compares it with the drive before the repair and prints a sheet.
 .
 The page opens in the browser that is there. Nothing leaves the computer.
`;
}

/** Files, folders, links and maintainer scripts with modes and times that do not depend on who packs, and when. */
function layOut(
  root: string,
  files: ReadonlyMap<string, { readonly bytes: Buffer; readonly mode: number }>,
  links: ReadonlyMap<string, string>,
  atS: number,
  scripts: Readonly<Record<string, string>>,
): void {
  const made = new Set<string>();
  const make = (path: string): string => {
    mkdirSync(join(root, dirname(path)), { recursive: true });
    for (const folder of foldersOf(path)) made.add(folder);
    return join(root, path);
  };
  for (const [path, { bytes, mode }] of files) {
    writeFileSync(make(path), bytes);
    chmodSync(join(root, path), mode);
    lutimesSync(join(root, path), atS, atS);
  }
  for (const [path, to] of links) {
    symlinkSync(to, make(path));
    lutimesSync(join(root, path), atS, atS);
  }
  for (const [name, text] of Object.entries(scripts)) {
    writeFileSync(make(`DEBIAN/${name}`), text);
    chmodSync(join(root, 'DEBIAN', name), name === 'control' ? 0o644 : 0o755);
    lutimesSync(join(root, 'DEBIAN', name), atS, atS);
  }
  for (const folder of ['', ...[...made].sort().reverse()]) {
    chmodSync(join(root, folder), 0o755);
    lutimesSync(join(root, folder), atS, atS);
  }
}
