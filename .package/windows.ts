/** For Windows: a windowless Handback.exe, the portable .zip, and an installer for one user without an administrator. */
import { spawnSync } from 'node:child_process';
import { createWriteStream, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { ZipFile } from 'yazl';
import { MAIN, NODE_FLAGS } from './launchers.ts';
import { foldersOf, type Tree } from './tar.ts';

const ICON = join(import.meta.dirname, 'handback.ico');
const HEAD = `Unicode true
Target amd64-unicode
SetCompressor /SOLID lzma
SetDateSave off
RequestExecutionLevel user
Icon "${ICON}"
Name "Handback"
`;

/** Starts Node.js without its black window; arguments are handed on, none mean `start`. */
const LAUNCHER = `${HEAD}
!include FileFunc.nsh
OutFile "Handback.exe"
SilentInstall silent
Section
  \${GetParameters} $0
  StrCmp $0 "" 0 +2
    StrCpy $0 "start"
  SetOutPath "$PROFILE"
  ExecShell "open" "$EXEDIR\\runtime\\node.exe" '${NODE_FLAGS} "$EXEDIR\\${MAIN.replaceAll('/', '\\')}" $0' SW_HIDE
SectionEnd
`;

export function windowlessLauncher(): Buffer {
  return inFolder((folder) => {
    nsis(folder, LAUNCHER);
    return readFileSync(join(folder, 'Handback.exe'));
  });
}

export async function writeZip(file: string, tree: Tree, under: string, atS: number): Promise<void> {
  const zip = new ZipFile();
  // The format has no time zone: the same figures wherever it is packed (APPNOTE 4.4.6).
  const utc = new Date(atS * 1000);
  const mtime = new Date(utc.getTime() + utc.getTimezoneOffset() * 60_000);
  for (const [path, { bytes }] of tree)
    zip.addBuffer(bytes, `${under}/${path}`, { mtime, mode: 0o100644, forceDosTimestamp: true });
  zip.end();
  await pipeline(zip.outputStream, createWriteStream(file));
}

export function writeSetup(file: string, tree: Tree, version: string): void {
  inFolder((folder) => {
    for (const [path, { bytes }] of tree) {
      mkdirSync(join(folder, 'files', dirname(path)), { recursive: true });
      writeFileSync(join(folder, 'files', path), bytes);
    }
    nsis(folder, setup(file, tree, version));
  });
}

const UNINSTALL = 'Software\\Microsoft\\Windows\\CurrentVersion\\Uninstall\\Handback';

function setup(file: string, tree: Tree, version: string): string {
  const kib = Math.ceil([...tree.values()].reduce((sum, { bytes }) => sum + bytes.length, 0) / 1024);
  const tops = [...new Set([...tree.keys()].map((path) => path.split('/')[0]!))];
  const removal = tops.map((top) =>
    [...tree.keys()].includes(top) ? `  Delete "$INSTDIR\\${top}"` : `  RMDir /r "$INSTDIR\\${top}"`,
  );
  return `${HEAD}
!include MUI2.nsh
OutFile "${file}"
InstallDir "$LOCALAPPDATA\\Programs\\Handback"
BrandingText "Handback ${version}"
UninstallIcon "${ICON}"
!define MUI_ICON "${ICON}"
!define MUI_UNICON "${ICON}"
!define MUI_FINISHPAGE_RUN "$INSTDIR\\Handback.exe"
!insertmacro MUI_PAGE_INSTFILES
!insertmacro MUI_PAGE_FINISH
!insertmacro MUI_UNPAGE_CONFIRM
!insertmacro MUI_UNPAGE_INSTFILES
!insertmacro MUI_LANGUAGE "English"
!insertmacro MUI_LANGUAGE "German"
LangString RUNNING \${LANG_ENGLISH} "Handback is running. Quit it on its page first (a recording is kept), then try again. Nothing was changed."
LangString RUNNING \${LANG_GERMAN} "Handback läuft. Erst auf seiner Seite beenden (eine Aufzeichnung bleibt erhalten), dann erneut versuchen. Nichts wurde verändert."

; What runs cannot be written to; what is not there yet can.
!macro refuseRunning
  IfFileExists "$INSTDIR\\runtime\\node.exe" 0 free
  ClearErrors
  FileOpen $0 "$INSTDIR\\runtime\\node.exe" a
  IfErrors 0 closed
    SetErrorLevel 3
    MessageBox MB_OK|MB_ICONEXCLAMATION "$(RUNNING)" /SD IDOK
    Quit
  closed:
  FileClose $0
  free:
!macroend
Function .onInit
  !insertmacro refuseRunning
FunctionEnd
Function un.onInit
  !insertmacro refuseRunning
FunctionEnd

Section
  ; the older one, so that no file of it is left between the newer ones
${removal.join('\n')}
${fileLines(tree)}
  SetOutPath "$INSTDIR"
  WriteUninstaller "$INSTDIR\\Uninstall.exe"
  CreateShortCut "$SMPROGRAMS\\Handback.lnk" "$INSTDIR\\Handback.exe"
  WriteRegStr HKCU "${UNINSTALL}" "DisplayName" "Handback"
  WriteRegStr HKCU "${UNINSTALL}" "DisplayVersion" "${version}"
  WriteRegStr HKCU "${UNINSTALL}" "DisplayIcon" "$INSTDIR\\Handback.exe"
  WriteRegStr HKCU "${UNINSTALL}" "UninstallString" '"$INSTDIR\\Uninstall.exe"'
  WriteRegStr HKCU "${UNINSTALL}" "QuietUninstallString" '"$INSTDIR\\Uninstall.exe" /S'
  WriteRegDWORD HKCU "${UNINSTALL}" "EstimatedSize" ${kib}
  WriteRegDWORD HKCU "${UNINSTALL}" "NoModify" 1
  WriteRegDWORD HKCU "${UNINSTALL}" "NoRepair" 1
SectionEnd

; The library is the user's; only what was installed goes.
Section "Uninstall"
${removal.join('\n')}
  Delete "$INSTDIR\\Uninstall.exe"
  RMDir "$INSTDIR"
  Delete "$SMPROGRAMS\\Handback.lnk"
  DeleteRegKey HKCU "${UNINSTALL}"
SectionEnd
`;
}

/** One by one, because the order in which a folder is read is the file system's. */
function fileLines(tree: Tree): string {
  let folder: string | null = null;
  const lines: string[] = [];
  for (const path of tree.keys()) {
    const inner = foldersOf(path).at(-1) ?? '';
    if (inner !== folder) {
      folder = inner;
      lines.push(`  SetOutPath "$INSTDIR${inner === '' ? '' : `\\${inner.replaceAll('/', '\\')}`}"`);
    }
    lines.push(`  File "files/${path.replaceAll('$', () => '$$')}"`);
  }
  return lines.join('\n');
}

function nsis(folder: string, script: string): void {
  writeFileSync(join(folder, 'script.nsi'), `\ufeff${script}`);
  const { status, stdout, stderr, error } = spawnSync('makensis', ['-V2', 'script.nsi'], {
    cwd: folder,
    encoding: 'utf8',
  });
  if (status !== 0)
    throw new Error(`makensis (Debian: nsis) failed: ${error?.message ?? `${stdout}${stderr}`.slice(-2000)}`);
}

function inFolder<T>(work: (folder: string) => T): T {
  const folder = mkdtempSync(join(tmpdir(), 'handback-nsis-'));
  try {
    return work(folder);
  } finally {
    rmSync(folder, { recursive: true });
  }
}
