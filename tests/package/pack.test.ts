import { execFileSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { closureOf, importedBy, licencesOf, neededOf } from '../../.package/modules.ts';
import { filesIn, tarOf } from '../../.package/tar.ts';
import { madeFor, TARGETS } from '../../.package/targets.ts';

const ROOT = resolve(import.meta.dirname, '../..');
const sources = (readdirSync(join(ROOT, 'src'), { recursive: true }) as string[])
  .filter((f) => f.endsWith('.ts'))
  .map((f) => readFileSync(join(ROOT, 'src', f), 'utf8').replaceAll('typeof import(', '')); // types are gone when compiled
const names = importedBy(sources);
const modules = closureOf(names, JSON.parse(readFileSync(join(ROOT, 'package-lock.json'), 'utf8')));
const linux = TARGETS['linux-x64'];

describe('which packages are packed', () => {
  it('those imported, whatever the form, and none of the runtime itself', () => {
    expect(
      importedBy([
        `import { z } from 'zod';\nimport x from "@a/b/inner/c.js";`,
        `await import('lazy'); import 'bare'; export * from 'again/d'`,
        `import fs from 'node:fs'; import p from 'path'; import own from './own.js'; import up from '../up.js';`,
        `say("a word from ', ' a list")`,
      ]),
    ).toEqual(['@a/b', 'again', 'bare', 'lazy', 'zod']);
  });

  it('with what hangs on them, where the lock file has it, and nothing optional', () => {
    const lock = {
      packages: {
        'node_modules/a': {
          version: '1.0.0',
          dependencies: { b: '1', c: '1' },
          optionalDependencies: { d: '1' },
        },
        'node_modules/a/node_modules/b': { version: '2.0.0', license: 'MIT', dependencies: { c: '1' } },
        'node_modules/b': { version: '1.0.0' },
        'node_modules/c': { version: '3.0.0', dependencies: { b: '1' } },
        'node_modules/d': { version: '1.0.0' },
      },
    };
    expect(closureOf(['a'], lock).map((m) => `${m.path} ${m.version} ${m.license}`)).toEqual([
      'node_modules/a 1.0.0 see its package',
      'node_modules/a/node_modules/b 2.0.0 MIT',
      'node_modules/b 1.0.0 see its package',
      'node_modules/c 3.0.0 see its package',
    ]);
    expect(() => closureOf(['absent'], lock)).toThrow('absent, needed by the program');
  });

  it('the program: neither what only the page or the tests need, nor what calls into the system', () => {
    const packed = modules.map((m) => m.name);
    expect(packed).toEqual(
      expect.arrayContaining(['express', 'serialport', 'zod', '@serialport/bindings-cpp']),
    );
    for (const absent of [
      'preact',
      'uplot',
      'koffi',
      'vite',
      'tsx',
      'vitest',
      'typescript',
      '@duckdb/node-api',
    ])
      expect(packed).not.toContain(absent);
  });

  it('each with its licence', () => {
    const without = modules.filter((m) => licencesOf(join(ROOT, m.path)).length === 0).map((m) => m.name);
    expect(without).toEqual([]);
  });
});

describe('which files are packed', () => {
  it('what Node.js loads of each package that the program imports is among them', () => {
    const script = `console.log(JSON.stringify(${JSON.stringify(names)}.map((n) => import.meta.resolve(n))))`;
    const urls = JSON.parse(
      execFileSync(process.execPath, ['--input-type=module', '-e', script], { cwd: ROOT, encoding: 'utf8' }),
    ) as string[];
    expect(urls.length).toBeGreaterThan(10);
    for (const url of urls) {
      const file = new URL(url).pathname;
      const [, path, inner] = /^.*?(node_modules\/(?:@[^/]+\/)?[^/]+)\/(.*)$/.exec(file)!;
      expect([...neededOf(join(ROOT, path!), linux).keys()], file).toContain(inner);
    }
  });

  it.each(Object.entries(TARGETS))('of native parts the one for %s', (_, target) => {
    const native = modules.flatMap((m) =>
      [...neededOf(join(ROOT, m.path), target)]
        .filter(([path]) => path.endsWith('.node'))
        .map(([path, bytes]) => ({ path: `${m.name}/${path}`, made: madeFor(bytes) })),
    );
    expect(native.map((n) => n.path)).toHaveLength(1); // the serial port
    expect(native[0]!.made).toContain(`${target.platform}-${target.arch}`);
  });

  it('no types, no maps, no text of packages, no tests', () => {
    for (const name of ['rxjs', 'zod', 'pino', 'express']) {
      const paths = [...neededOf(join(ROOT, 'node_modules', name), linux).keys()];
      expect(paths.filter((p) => !/\.(js|cjs|mjs|json)$|licen[cs]e/i.test(p))).toEqual([]);
      expect(paths.filter((p) => /^(test|tests|docs|examples)\//.test(p))).toEqual([]);
    }
  });

  it('a program says itself what it was made for', () => {
    expect(madeFor(readFileSync(process.execPath))).toEqual([`${process.platform}-${process.arch}`]);
    expect(madeFor(Buffer.from('#!/bin/sh\n'.padEnd(80)))).toBeNull();
    expect(madeFor(Buffer.from(`MZ${'\0'.repeat(100)}`))).toBeNull();
  });
});

describe('tar archives', () => {
  const long = `${'folder/'.repeat(20)}name.js`;
  const tree = new Map([
    [long, { bytes: Buffer.from('x'.repeat(1000)), program: false }],
    ['run', { bytes: Buffer.from('#!/bin/sh\n'), program: true }],
  ]);

  it('are the same bytes each time, and read by the system’s tar', () => {
    const tar = tarOf(tree, 'top', 1_700_000_000);
    expect(tarOf(new Map(tree), 'top', 1_700_000_000).equals(tar)).toBe(true);
    const listed = execFileSync('tar', ['tvf', '-'], {
      input: tar,
      encoding: 'utf8',
      env: { TZ: 'UTC', PATH: process.env.PATH },
    });
    const lines = listed.trimEnd().split('\n');
    expect(lines.at(-1)).toMatch(/^-rwxr-xr-x root\/root +10 2023-11-14 22:13 top\/run$/);
    expect(lines.find((l) => l.endsWith(`top/${long}`))).toMatch(/^-rw-r--r-- root\/root +1000 /);
    expect(lines[0]).toMatch(/^drwxr-xr-x .* top\/$/);
    expect(filesIn(tar, ['top/run']).get('top/run')!.toString()).toBe('#!/bin/sh\n');
    expect(filesIn(tar, ['nothing']).size).toBe(0);
  });

  it('refuse a name that no tar archive can hold', () => {
    const bytes = Buffer.alloc(0);
    expect(() => tarOf(new Map([['x'.repeat(200), { bytes, program: false }]]), 'top', 0)).toThrow(
      'too long',
    );
  });
});

it('each runtime is pinned by version and hash', () => {
  for (const { runtime } of Object.values(TARGETS)) {
    expect(runtime.version).toMatch(/^\d+\.\d+\.\d+$/);
    expect(Buffer.from(runtime.integrity.replace('sha512-', ''), 'base64')).toHaveLength(64);
  }
});
