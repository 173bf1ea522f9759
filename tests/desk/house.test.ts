/** The program itself: where its library is, how a second start finds the first, how it ends. */
import { mkdirSync, mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openerOf } from '../../src/cli/browser.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { addressOf, tellAddress } from '../../src/desk/address.ts';
import { House } from '../../src/desk/house.ts';
import { defaultLibrary } from '../../src/run/library.ts';
import { readSettings, settingsFolder, writeSettings } from '../../src/run/settings.ts';
import { startServer } from '../../src/server/server.ts';
import { FakeDaemon } from '../server/fake-daemon.ts';

let folder: string;
let library: string;
let settings: string;
let api: FakeDaemon;
let ended: number;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'handback-house-'));
  library = join(folder, 'library');
  settings = join(folder, 'settings');
  mkdirSync(library);
  api = new FakeDaemon({ clock: new ManualClock() });
  ended = 0;
});
afterEach(() => rmSync(folder, { recursive: true }));

const houseWith = (changeable = true) =>
  new House({ daemon: api, library, changeable, end: () => ended++, settings });

/** A server with the house behind it, and how it answers. */
async function served(house: House, token?: string) {
  const server = await startServer({
    api,
    house,
    host: token ? '0.0.0.0' : '127.0.0.1',
    port: 0,
    webRoot: folder,
    ...(token ? { token } : {}),
  });
  const ask = async (path: string, body?: object) => {
    const answer = await fetch(new URL(path, server.url), {
      headers: { 'x-handback': '1', 'content-type': 'application/json', 'x-handback-token': token ?? '' },
      ...(body ? { method: 'POST', body: JSON.stringify(body) } : {}),
    });
    return { status: answer.status, json: (await answer.json()) as Record<string, unknown> };
  };
  return { server, ask };
}

describe('the end of the program', () => {
  it('is one request; while a drive is recorded it must be meant', async () => {
    const { server, ask } = await served(houseWith());
    try {
      expect((await ask('/api/house/quit', {})).status).toBe(400);
      await api.connect({ link: 'sim' });
      await api.startRun({ purpose: 'other' });
      const refused = await ask('/api/house/quit', { endRecording: false });
      expect(refused.status).toBe(409);
      expect(refused.json.error).toBe('A drive is being recorded.');
      expect(ended).toBe(0);
      expect((await ask('/api/house/quit', { endRecording: true })).status).toBe(200);
      expect(ended).toBe(1);
      await api.stopRun();
      expect((await ask('/api/house/quit', { endRecording: false })).status).toBe(200);
      expect(ended).toBe(2);
    } finally {
      await server.close();
    }
  });
});

describe('where the library is', () => {
  it('is shown, and another place holds from the next start on', async () => {
    const { server, ask } = await served(houseWith());
    try {
      expect((await ask('/api/house')).json).toMatchObject({
        library: { folder: library, next: null, changeable: true },
      });
      const other = join(folder, 'somewhere', 'else');
      expect((await ask('/api/house/library', { folder: other })).json).toMatchObject({
        library: { folder: library, next: other },
      });
      expect(readSettings(settings)).toEqual({ library: other });
      expect(statSync(other).isDirectory()).toBe(true);
      // back again: nothing is pending
      expect((await ask('/api/house/library', { folder: library })).json).toMatchObject({
        library: { next: null },
      });
    } finally {
      await server.close();
    }
  });

  it('must be a whole path to a folder that can be made', async () => {
    const house = houseWith();
    await expect(house.chooseLibrary('relative')).rejects.toMatchObject({ code: 'input.usage' });
    writeFileSync(join(folder, 'file'), '');
    await expect(house.chooseLibrary(join(folder, 'file', 'x'))).rejects.toMatchObject({
      code: 'library.path',
    });
    await expect(houseWith(false).chooseLibrary(join(folder, 'x'))).rejects.toMatchObject({
      code: 'input.usage',
    });
    expect(readSettings(settings)).toEqual({});
  });

  it('chosen, else where one lies already, else in the documents, else in the data directory', async () => {
    const home = join(folder, 'home');
    const env = {};
    const data = join(home, '.local', 'share', 'handback');
    expect(defaultLibrary(env, 'linux', home)).toBe(data);
    mkdirSync(join(home, 'Documents'), { recursive: true });
    expect(defaultLibrary(env, 'linux', home)).toBe(join(home, 'Documents', 'Handback'));
    expect(defaultLibrary(env, 'darwin', home)).toBe(join(home, 'Documents', 'Handback'));
    mkdirSync(data, { recursive: true });
    expect(defaultLibrary(env, 'linux', home)).toBe(join(home, 'Documents', 'Handback'));
    mkdirSync(join(data, 'job-1'));
    expect(defaultLibrary(env, 'linux', home)).toBe(data);
    await writeSettings({ library: '/mnt/cars' }, settingsFolder(env, 'linux', home));
    expect(defaultLibrary(env, 'linux', home)).toBe('/mnt/cars');
  });

  it('a broken setting keeps nobody from starting', () => {
    mkdirSync(settings);
    for (const text of ['', '{', '[]', '{"library":7}', '{"library":"relative"}']) {
      writeFileSync(join(settings, 'settings.json'), text);
      expect(readSettings(settings)).toEqual({});
    }
  });
});

describe('a second start', () => {
  it('finds the first while that answers, with its token, and nothing afterwards', async () => {
    const { server } = await served(houseWith(), 'a b&c');
    const forget = await tellAddress(library, server.url);
    expect(statSync(join(library, 'address.json')).mode & 0o777).toBe(0o600);
    expect(await addressOf(library)).toBe(server.url);
    await server.close();
    expect(await addressOf(library)).toBeNull(); // what a crash leaves behind
    await forget();
    expect(await addressOf(library)).toBeNull();
    expect(() => statSync(join(library, 'address.json'))).toThrow();
  });

  it('asks nobody but this computer, and believes no other program', async () => {
    for (const url of [
      'http://example.com/',
      'http://192.0.2.1/',
      'https://127.0.0.1/',
      'file:///x',
      'nonsense',
    ]) {
      writeFileSync(join(library, 'address.json'), JSON.stringify({ url }));
      expect(await addressOf(library)).toBeNull();
    }
    writeFileSync(join(library, 'address.json'), '{"url":');
    expect(await addressOf(library)).toBeNull();
  });
});

it('the browser is the system’s own, or one that is named', () => {
  const url = 'http://127.0.0.1:8017/';
  expect(openerOf(url, {}, 'linux')).toBeNull(); // no screen: the address is printed
  expect(openerOf(url, { DISPLAY: ':0' }, 'linux')).toEqual(['xdg-open', url]);
  expect(openerOf(url, { WAYLAND_DISPLAY: 'w' }, 'linux')).toEqual(['xdg-open', url]);
  expect(openerOf(url, {}, 'darwin')).toEqual(['open', url]);
  expect(openerOf(url, {}, 'win32')).toEqual(['rundll32.exe', 'url.dll,FileProtocolHandler', url]);
  expect(openerOf(url, { HANDBACK_BROWSER: 'mine' }, 'win32')).toEqual(['mine', url]);
});
