/** Tar archives (POSIX.1-1988 ustar: a header of 512 bytes, then the file filled up to 512), the same bytes each time. */
export interface Entry {
  readonly bytes: Buffer;
  /** May be started. */
  readonly program: boolean;
}

/** Path with forward slashes, in order → what lies there. */
export type Tree = ReadonlyMap<string, Entry>;

const BLOCK = 512;

/** @param under folder that everything lies in; @param atS seconds since 1970 that every file carries */
export function tarOf(tree: Tree, under: string, atS: number): Buffer {
  const parts: Buffer[] = [];
  const folders = new Set<string>();
  for (const [path, { bytes, program }] of tree) {
    const whole = `${under}/${path}`;
    for (const folder of foldersOf(whole))
      if (!folders.has(folder)) {
        folders.add(folder);
        parts.push(header(`${folder}/`, 0, 0o755, '5', atS));
      }
    parts.push(header(whole, bytes.length, program ? 0o755 : 0o644, '0', atS), bytes);
    parts.push(Buffer.alloc((BLOCK - (bytes.length % BLOCK)) % BLOCK));
  }
  return Buffer.concat([...parts, Buffer.alloc(2 * BLOCK)]);
}

/** `a`, `a/b` of `a/b/c`. */
export function foldersOf(path: string): string[] {
  const parts = path.split('/').slice(0, -1);
  return parts.map((_, i) => parts.slice(0, i + 1).join('/'));
}

function header(path: string, size: number, mode: number, type: '0' | '5', atS: number): Buffer {
  const block = Buffer.alloc(BLOCK);
  const { prefix, name } = split(path);
  const octal = (value: number, at: number, width: number) =>
    block.write(`${value.toString(8).padStart(width - 1, '0')}\0`, at, 'latin1');
  block.write(name, 0, 'utf8');
  octal(mode, 100, 8);
  octal(0, 108, 8);
  octal(0, 116, 8);
  octal(size, 124, 12);
  octal(atS, 136, 12);
  block.write('        ', 148, 'latin1'); // the checksum counts as blanks in its own sum
  block.write(type, 156, 'latin1');
  block.write('ustar\0' + '00', 257, 'latin1');
  block.write('root', 265, 'latin1');
  block.write('root', 297, 'latin1');
  block.write(prefix, 345, 'utf8');
  block.write(
    `${block
      .reduce((sum, b) => sum + b, 0)
      .toString(8)
      .padStart(6, '0')}\0 `,
    148,
    'latin1',
  );
  return block;
}

/** A path too long for the name's 100 bytes is cut at a slash. */
function split(path: string): { prefix: string; name: string } {
  if (Buffer.byteLength(path) <= 100) return { prefix: '', name: path };
  for (let at = path.indexOf('/'); at > 0; at = path.indexOf('/', at + 1)) {
    const prefix = path.slice(0, at);
    const name = path.slice(at + 1);
    if (name !== '' && Buffer.byteLength(prefix) <= 155 && Buffer.byteLength(name) <= 100)
      return { prefix, name };
  }
  throw new Error(`${path} is too long for a tar archive`);
}

/** Those plain files of an archive that have one of the names. */
export function filesIn(tar: Buffer, names: readonly string[]): Map<string, Buffer> {
  const found = new Map<string, Buffer>();
  for (let at = 0; at + BLOCK <= tar.length; ) {
    const name = tar.toString('utf8', at, at + 100).replace(/\0.*$/s, '');
    const size = Number.parseInt(tar.toString('latin1', at + 124, at + 136), 8) || 0;
    if (names.includes(name)) found.set(name, tar.subarray(at + BLOCK, at + BLOCK + size));
    at += BLOCK + BLOCK * Math.ceil(size / BLOCK);
  }
  return found;
}
