/** The parts a sheet is put together from: escaping, units, phrases, the choice of a browser. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cssString, harmless, html } from '../../src/sheet/html.ts';
import { findChromium, printPdf } from '../../src/sheet/pdf.ts';
import { ticks } from '../../src/sheet/svg.ts';
import { METRIC, Measures, parseUnits } from '../../src/words/measures.ts';

/** Any 16-bit units: control characters, halves of pairs and all. */
const anyText = (maxLength = 60) =>
  fc.array(fc.integer({ min: 0, max: 0xffff }), { maxLength }).map((units) => String.fromCharCode(...units));
const IMPERIAL = { temperature: 'F', pressure: 'psi', speed: 'mph' } as const;

describe('markup', () => {
  it('escapes whatever it is given', () => {
    fc.assert(
      fc.property(anyText(), (text) => {
        const out = html`<p title="${text}">${text}</p>`.text;
        const inner = /^<p title="([^"<>]*)">([^<>]*)<\/p>$/s.exec(out);
        expect(inner).not.toBeNull();
        expect(inner![2]).not.toMatch(/[\u0000-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069\u200e\u200f]/);
        expect(Buffer.from(out, 'utf8').toString('utf8')).toBe(out);
      }),
    );
    expect(html`${['a', null, false, html`<b>${'<'}</b>`]}`.text).toBe('a<b>&lt;</b>');
  });

  it('shows what could turn the writing, and keeps other scripts', () => {
    expect(harmless('12\u202e34\u0007\ud800')).toBe('12\ufffd34\ufffd\ufffd');
    expect(harmless('קר ماء 冷却 ü 🚗\nzwei')).toBe('קר ماء 冷却 ü 🚗 zwei');
  });

  it('cannot leave a CSS string', () => {
    fc.assert(
      fc.property(anyText(), (text) => {
        expect(cssString(text)).toMatch(/^"(?:[A-Za-z0-9 ]|\\[0-9a-f]{1,6} )*"$/);
      }),
    );
  });
});

describe('measures', () => {
  const metric = new Measures('en-GB', METRIC, 'UTC');
  const imperial = new Measures('en-GB', IMPERIAL, 'UTC');
  const german = new Measures('de-DE', { ...METRIC, pressure: 'bar' }, 'Europe/Berlin');

  it('converts temperatures, differences, pressures, speeds, distances', () => {
    expect(metric.quantity(-13.68, 'kPa', false, 1)).toBe('−13.7\u00a0kPa');
    expect(imperial.quantity(100, 'degC')).toBe('212\u00a0°F');
    expect(imperial.quantity(10, 'degC', true)).toBe('18\u00a0°F');
    expect(imperial.quantity(100, 'kPa')).toBe('14.5\u00a0psi');
    expect(imperial.quantity(100, 'km/h')).toBe('62\u00a0mph');
    expect(imperial.quantity(16.09344, 'km')).toBe('10.0\u00a0mi');
    expect(german.quantity(123.4, 'kPa')).toBe('1,23\u00a0bar');
    expect(german.number(12345)).toBe('12.345');
    expect(metric.number(-0.2)).toBe('0');
    expect(german.dateTime('2026-03-03T12:00:00Z')).toBe('03.03.2026, 13:00');
    expect(new Measures('en-GB', METRIC, 'Nowhere/At-All').dateTime('2026-03-03T12:00:00Z')).toContain(
      '12:00',
    );
  });

  it('understands units by name and says which word it does not', () => {
    expect(parseUnits('imperial')).toEqual(IMPERIAL);
    expect(parseUnits('bar')).toEqual({ ...METRIC, pressure: 'bar' });
    expect(parseUnits('F, psi ,MPH')).toEqual(IMPERIAL);
    expect(parseUnits('kelvin')).toEqual({ unknown: 'kelvin' });
    expect(parseUnits('toString')).toEqual({ unknown: 'tostring' });
  });

  it('ticks at round numbers within the ends, and gives none for nonsense', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e4, max: 1e4, noNaN: true }),
        fc.double({ min: 0.01, max: 1e4, noNaN: true }),
        (from, span) => {
          const out = ticks(from, from + span, 8);
          expect(out.length).toBeLessThanOrEqual(10);
          for (const t of out) expect(t >= from - span * 1e-6 && t <= from + span * 1.000001).toBe(true);
        },
      ),
    );
    expect(ticks(1, 1, 5)).toEqual([]);
    expect(ticks(0, Number.NaN, 5)).toEqual([]);
  });
});

describe('the browser that prints', () => {
  const only =
    (...paths: string[]) =>
    (path: string) =>
      paths.includes(path);

  it('is found by the names of the platform, the one named first', () => {
    const linux = { env: { PATH: '/a:/b' }, platform: 'linux' as const };
    expect(findChromium({ ...linux, exists: only('/b/chromium', '/b/google-chrome') })).toBe('/b/chromium');
    expect(findChromium({ ...linux, exists: only() })).toBe(null);
    expect(
      findChromium({ ...linux, env: { PATH: '/b', CHROMIUM: '/x' }, exists: only('/x', '/b/chromium') }),
    ).toBe('/x');
    expect(
      findChromium({ ...linux, env: { PATH: '/b', CHROMIUM: '/gone' }, exists: only('/b/chromium') }),
    ).toBe(null);
    const mac = '/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge';
    expect(findChromium({ env: {}, platform: 'darwin', exists: only(mac) })).toBe(mac);
    const windows = 'C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe';
    expect(
      findChromium({ env: { PROGRAMFILES: 'C:\\Program Files' }, platform: 'win32', exists: only(windows) }),
    ).toBe(windows);
  });

  it('is missed with a sentence that says what to do, and its failure is told', async () => {
    const none = { env: {}, platform: 'linux' as const, exists: () => false };
    await expect(printPdf('<p>', none)).rejects.toMatchObject({
      code: 'input.usage',
      message: expect.stringContaining('none was found'),
      hint: expect.stringContaining('HTML'),
    });
    const broken = { env: { CHROMIUM: process.execPath }, platform: 'linux' as const, exists: () => true };
    await expect(printPdf('<p>', broken)).rejects.toMatchObject({
      code: 'internal',
      hint: expect.stringContaining('HTML'),
    });
  });

  it('is tried once more when it ended well and had printed nothing, and no oftener', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'handback-press-'));
    try {
      const program = join(folder, 'press');
      const script = (prints: string) =>
        `#!/bin/sh\necho x >> ${folder}/tries\nfor a; do case $a in --print-to-pdf=*) out=\${a#*=};; esac; done\n${prints}\n`;
      const here = { env: { CHROMIUM: program }, platform: 'linux' as const, exists: () => true };
      const tries = () => readFileSync(join(folder, 'tries'), 'utf8').length / 2;
      const second = `[ $(wc -l < ${folder}/tries) -lt 2 ] || echo %PDF-1.4 > $out`;
      writeFileSync(program, script(second), { mode: 0o755 });
      expect(Buffer.from(await printPdf('<p>', here)).toString()).toBe('%PDF-1.4\n');
      expect(tries()).toBe(2);
      writeFileSync(program, script('true'));
      await expect(printPdf('<p>', here)).rejects.toThrow('wrote no PDF');
      expect(tries()).toBe(4);
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
});
