/** Links: pipe, TCP, cut from outside, list of ports, sentences for what cannot be opened; a real pseudo-terminal. */
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdir, mkdtemp, rm, symlink, writeFile } from 'node:fs/promises';
import { createServer, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it, vi } from 'vitest';
import { ManualClock, systemClock } from '../../src/core/clock.ts';
import { asIs } from '../../src/core/says.ts';
import { abortable } from '../../src/link/abortable.ts';
import { directBinding } from '../../src/link/direct.ts';
import { followedLinkFactory } from '../../src/link/follow.ts';
import type { Link, LinkEvent } from '../../src/link/link.ts';
import { pipePair } from '../../src/link/pipe.ts';
import { listPorts, type PortInfo } from '../../src/link/ports.ts';
import { openError, serialLinkFactory } from '../../src/link/serial.ts';
import { tcpLinkFactory } from '../../src/link/tcp.ts';
import { inWords } from '../in-words.ts';
import { needs, onPath } from '../require.ts';

const bytes = (t: string) => Uint8Array.from(t, (c) => c.charCodeAt(0));

/** Collects a link's events; `until` resolves as soon as the text so far satisfies it, and fails when the end does not. */
function hear(link: Link) {
  const events: LinkEvent[] = [];
  let check: () => void = () => undefined;
  link.listen((e) => {
    events.push(e);
    check();
  });
  const text = () =>
    events.map((e) => (e.kind === 'data' ? String.fromCharCode(...e.bytes) : `<${inWords(e.why)}>`)).join('');
  const until = (pattern: RegExp) =>
    new Promise<string>((resolve, reject) => {
      check = () => {
        if (pattern.test(text())) resolve(text());
        else if (events.at(-1)?.kind === 'closed') reject(new Error(text()));
      };
      check();
    });
  return { events, text, until };
}

describe('pipe', () => {
  it('carries bytes both ways in order, with times, and says the end once', async () => {
    const clock = new ManualClock(5);
    const [near, far] = pipePair(clock);
    const a = hear(near);
    await far.write(bytes('one '));
    await clock.advance(1);
    await far.write(bytes('two'));
    const b = hear(far); // bytes before the listener are kept for it
    await near.write(bytes('three'));
    await clock.advance(1);
    expect(a.events.map((e) => e.tUs)).toEqual([5, 1005]);
    expect(a.text()).toBe('one two');
    expect(b.text()).toBe('three');
    await far.close();
    await far.close();
    await clock.advance(1);
    expect(a.events.filter((e) => e.kind === 'closed')).toHaveLength(1);
    await expect(near.write(bytes('x'))).rejects.toMatchObject({ code: 'link.lost' });
    expect(() => near.listen(() => undefined)).toThrow();
  });

  it('keeps the newest megabyte when nobody listens', async () => {
    const clock = new ManualClock();
    const [near, far] = pipePair(clock);
    for (let i = 0; i < 40; i++) await far.write(new Uint8Array(65536).fill(i));
    await clock.advance(1);
    const got = hear(near).events.flatMap((e) => (e.kind === 'data' ? [e.bytes] : []));
    expect(got.reduce((n, b) => n + b.length, 0)).toBeLessThanOrEqual(1 << 20);
    expect(got.at(-1)?.[0]).toBe(39);
  });

  it('can be cut from outside', async () => {
    const clock = new ManualClock();
    const [near, far] = pipePair(clock);
    const { factory, abort } = abortable({ name: 'p', baudRates: [], open: async () => near }, clock);
    const a = hear(await factory.open({}));
    const b = hear(far);
    abort(asIs('enough'));
    await clock.advance(1);
    expect(a.text()).toBe('<enough>');
    expect(b.text()).toMatch(/closed/);
  });
});

describe('TCP', () => {
  const server = () =>
    new Promise<{ port: number; peer: Promise<Socket>; close: () => void }>((resolve) => {
      let connected: (s: Socket) => void;
      const peer = new Promise<Socket>((r) => {
        connected = r;
      });
      const s = createServer((socket) => connected(socket)).listen(0, '127.0.0.1', () =>
        resolve({ port: (s.address() as { port: number }).port, peer, close: () => s.close() }),
      );
    });

  it('carries bytes and says when the other end is gone', async () => {
    const s = await server();
    const link = await tcpLinkFactory(`tcp:127.0.0.1:${s.port}`, { clock: systemClock }).open({});
    const ear = hear(link);
    const peer = await s.peer;
    peer.on('data', (d) => peer.write(d));
    await link.write(bytes('ATI\r'));
    await ear.until(/ATI\r/);
    peer.end();
    await ear.until(/<.*closed/);
    await expect(link.write(bytes('x'))).rejects.toMatchObject({ code: 'link.lost' });
    await link.close();
    s.close();
  });

  it('says what is wrong with an address, and that nobody is there', async () => {
    for (const bad of ['tcp:', 'tcp:host', 'tcp:host:0', 'tcp:host:99999', 'tcp:a:b:1'])
      expect(() => tcpLinkFactory(bad, { clock: systemClock })).toThrow(/tcp:HOST:PORT/);
    const s = await server();
    s.close();
    await expect(
      tcpLinkFactory(`tcp:127.0.0.1:${s.port}`, { clock: systemClock }).open({}),
    ).rejects.toMatchObject({
      code: 'link.open',
      hint: expect.stringMatching(/wireless/),
    });
  });
});

/** A pseudo-terminal of socat's under this path, whose other end sends back what it gets, or is the child's own input and output. */
function ptyAt(path: string, far: 'exec:cat' | 'stdio' = 'exec:cat'): Promise<ChildProcess> {
  const child = spawn('socat', ['-d', '-d', `pty,raw,echo=0,link=${path}`, far], {
    stdio: far === 'stdio' ? 'pipe' : ['ignore', 'ignore', 'pipe'],
  });
  return new Promise((resolve, reject) => {
    let said = '';
    child.once('exit', () => reject(new Error(said)));
    child.stderr!.on('data', (d) => {
      said += d;
      if (said.includes('starting data transfer loop')) resolve(child);
    });
  });
}

const gone = (child: ChildProcess) =>
  new Promise<void>((resolve) => {
    if (child.exitCode !== null || child.signalCode !== null) resolve();
    child.once('exit', () => resolve());
    child.kill();
  });

describe('serial port', () => {
  it.each([
    ['Error: No such file or directory, cannot open /dev/x', 'link.open', /no port/i, /plug/i],
    [
      'Error: Permission denied, cannot open /dev/x',
      'link.open',
      /may not open/,
      /sudo usermod -aG dialout \S+\. Then sign out/,
    ],
    ['Error Resource temporarily unavailable Cannot lock port', 'link.busy', /in use/, /Close the other/],
    ['Opening COM3: Access denied', 'link.busy', /in use/, /Close the other/],
    ['Opening COM3: File not found', 'link.open', /no port/i, /plug/i],
    ['Error: Inappropriate ioctl for device', 'link.open', /cannot be opened/, /serial port/],
  ])('explains: %s', (reason, code, says, hint) => {
    const e = openError('/dev/x', new Error(reason));
    expect(e.code).toBe(code);
    expect(e.message).toMatch(says);
    expect(e.hint).toMatch(hint);
  });

  it('rejects a port that is not there, and a file that is no port', async () => {
    for (const path of ['/dev/does-not-exist', 'COM99'])
      await expect(serialLinkFactory(path, { clock: systemClock }).open({})).rejects.toMatchObject({
        code: 'link.open',
      });
    const dir = await mkdtemp(join(tmpdir(), 'link-'));
    await writeFile(join(dir, 'file'), '');
    await expect(serialLinkFactory(join(dir, 'file'), { clock: systemClock }).open({})).rejects.toMatchObject(
      {
        code: 'link.open',
      },
    );
    await rm(dir, { recursive: true });
  });

  needs(onPath('socat'), 'socat')(
    'works over a real pseudo-terminal, notices its end, and opens anew',
    async () => {
      const dir = await mkdtemp(join(tmpdir(), 'link-'));
      const path = join(dir, 'port');
      let child = await ptyAt(path);
      const factory = serialLinkFactory(path, { clock: systemClock });
      const link = await factory.open({ baud: 115200 });
      const ear = hear(link);
      await link.write(bytes('hello'));
      await ear.until(/hello/);
      await expect(factory.open({ baud: 115200 })).rejects.toMatchObject({ code: 'link.busy' });
      await gone(child);
      expect(await ear.until(/<.*vanished/)).not.toContain('[object');
      await link.close();
      await expect(link.write(bytes('x'))).rejects.toMatchObject({ code: 'link.lost' });
      await expect(factory.open({})).rejects.toMatchObject({ code: 'link.open' });
      child = await ptyAt(path);
      const again = await factory.open({ baud: 9600 });
      const ear2 = hear(again);
      await again.write(bytes('back'));
      await ear2.until(/back/);
      await again.close();
      await again.close();
      await gone(child);
      await rm(dir, { recursive: true, force: true });
    },
  );

  needs(onPath('socat'), 'socat')(
    'hears that its device is gone though nothing ends the reading',
    async () => {
      const dir = await mkdtemp(join(tmpdir(), 'link-'));
      const path = join(dir, 'port');
      const child = await ptyAt(path);
      const link = await serialLinkFactory(path, { clock: systemClock }).open({});
      const ear = hear(link);
      await rm(path);
      await ear.until(/<.*vanished/);
      await gone(child);
      await rm(dir, { recursive: true, force: true });
    },
  );

  needs(onPath('socat'), 'socat')(
    'says that the plug was pulled, whatever still waited to be sent when reading failed',
    async () => {
      const opened = vi.spyOn(directBinding, 'open');
      const dir = await mkdtemp(join(tmpdir(), 'link-'));
      const path = join(dir, 'port');
      const child = await ptyAt(path, 'stdio'); // nobody reads its output
      const link = await serialLinkFactory(path, { clock: systemClock }).open({});
      const ear = hear(link);
      const waits = expect(link.write(new Uint8Array(1 << 20))).rejects.toMatchObject({ code: 'link.lost' });
      const port = await opened.mock.results[0]!.value;
      await expect.poll(() => port.poller.listenerCount('writable')).toBe(1);
      child.stdin!.write('the reading before it ends');
      await ear.until(/before it ends/);
      port.poller.emit('readable', Object.assign(new Error('EIO: i/o error, read'), { code: 'EIO' }));
      expect(await ear.until(/<.*>/)).toMatch(/^the reading before it ends<.*was the plug pulled/);
      await waits;
      opened.mockRestore();
      await gone(child);
      await rm(dir, { recursive: true, force: true });
    },
  );

  needs(onPath('socat'), 'socat')(
    'carries what fills the line both ways, on several ports at once, whole and in order',
    async () => {
      const dir = await mkdtemp(join(tmpdir(), 'link-'));
      const sent = Uint8Array.from({ length: 200_000 }, (_, i) => (7 * i + (i >> 8)) & 255);
      const echoed = async (n: number) => {
        const child = await ptyAt(join(dir, `port-${n}`));
        const link = await serialLinkFactory(join(dir, `port-${n}`), { clock: systemClock }).open({});
        const got: number[] = [];
        const whole = new Promise<void>((resolve) =>
          link.listen((e) => {
            if (e.kind === 'data') for (const b of e.bytes) got.push(b);
            if (got.length >= sent.length) resolve();
          }),
        );
        // Some give it in one piece, some in as many as a request has bytes.
        const piece = n % 2 === 0 ? sent.length : 20;
        for (let i = 0; i < sent.length; i += piece) await link.write(sent.subarray(i, i + piece));
        await whole;
        await link.close();
        await gone(child);
        return Buffer.compare(Buffer.from(got), sent);
      };
      expect(await Promise.all([0, 1, 2, 3].map(echoed))).toEqual([0, 0, 0, 0]);
      await rm(dir, { recursive: true, force: true });
    },
  );

  needs(onPath('socat'), 'socat')(
    'gives what came before its end, and refuses what waited to be sent when it ended or was closed',
    async () => {
      const dir = await mkdtemp(join(tmpdir(), 'link-'));
      const path = join(dir, 'port');
      const full = new Uint8Array(1 << 20);
      for (const how of ['pulled', 'closed']) {
        const child = await ptyAt(path, 'stdio'); // nobody reads its output
        const link = await serialLinkFactory(path, { clock: systemClock }).open({});
        const ear = hear(link);
        child.stdin!.write('before');
        const waits = expect(link.write(full)).rejects.toMatchObject({ code: 'link.lost' });
        await ear.until(/before/);
        if (how === 'pulled') {
          await gone(child);
          expect(await ear.until(/before<.*>/)).toMatch(/was the plug pulled/);
        } else await link.close();
        await waits;
        await link.close();
        expect(ear.events.filter((e) => e.kind === 'closed')).toHaveLength(how === 'pulled' ? 1 : 0);
        if (how === 'closed') await gone(child);
      }
      await rm(dir, { recursive: true, force: true });
    },
  );
});

describe('list of ports', () => {
  it('names ports by what stays, likely adapters first', async () => {
    const { ports, note } = await listPorts(
      async () => [
        { path: '/dev/ttyS0', pnpId: undefined },
        {
          path: '/dev/ttyUSB1',
          vendorId: '1234',
          productId: 'ABCD',
          serialNumber: 'S1',
          manufacturer: 'Maker',
        },
        { path: 'COM3', pnpId: 'BTHENUM\\DEV_01' },
      ],
      '/nowhere',
    );
    expect(note).toBeNull();
    expect(ports).toEqual([
      { path: '/dev/ttyUSB1', identity: 'USB 1234:abcd, serial S1', likelyAdapter: true },
      { path: 'COM3', identity: 'BTHENUM\\DEV_01', likelyAdapter: true },
      { path: '/dev/ttyS0', identity: '', likelyAdapter: false },
    ]);
  });

  it('falls back to names when the system tool is missing, and says so', async () => {
    const dev = await mkdtemp(join(tmpdir(), 'dev-'));
    await writeFile(join(dev, 'ttyUSB0'), '');
    await writeFile(join(dev, 'null'), '');
    await mkdir(join(dev, 'serial', 'by-id'), { recursive: true });
    await symlink('../../ttyUSB0', join(dev, 'serial', 'by-id', 'usb-Some_Serial_42-if00'));
    const { ports, note } = await listPorts(() => Promise.reject(new Error('spawn udevadm ENOENT')), dev);
    expect(note).toMatch(/udevadm/);
    expect(ports).toEqual([
      { path: join(dev, 'ttyUSB0'), identity: 'usb-Some_Serial_42-if00', likelyAdapter: true },
    ]);
    await rm(dev, { recursive: true });
  });

  it('lists the real machine without failing', async () => {
    const { ports } = await listPorts();
    for (const p of ports) expect(p.path).not.toBe('');
  });
});

describe('a port whose device comes back', () => {
  const port = (path: string, identity = ''): PortInfo => ({ path, identity, likelyAdapter: true });
  /** Opened, then opened again with each of these lists of ports: the names that were opened. */
  async function opened(path: string, ...lists: (readonly PortInfo[])[]): Promise<string[]> {
    const clock = new ManualClock();
    const names: string[] = [];
    let plugged: readonly PortInfo[] = [];
    const factory = followedLinkFactory(path, {
      clock,
      list: async () => plugged,
      factoryOf: (name) => ({
        name,
        baudRates: [],
        open: async () => {
          names.push(name);
          return pipePair(clock, name)[0];
        },
      }),
    });
    for (plugged of lists) {
      await factory.open({});
      await clock.advance(2000);
    }
    return names;
  }
  const [usb0, usb1, usb2] = [port('/dev/ttyUSB0'), port('/dev/ttyUSB1'), port('/dev/ttyUSB2')];
  const at = (path: string, socket: string) => port(path, `USB\\VID_1234&PID_ABCD\\${socket}, USB 1234:abcd`);
  const receiver = port('COM8', 'USB\\VID_1111&PID_2222\\7, USB 1111:2222');

  it.each([
    [
      'is followed by what the system says of it',
      '/dev/ttyUSB0',
      [[port('/dev/ttyUSB0', 'A')], [usb2, port('/dev/ttyUSB1', 'A')]],
      '/dev/ttyUSB1',
    ],
    [
      'of which nothing is known is the one newcomer of its kind',
      '/dev/ttyUSB0',
      [
        [usb0, usb2],
        [usb1, usb2],
      ],
      '/dev/ttyUSB1',
    ],
    [
      'and is looked for under its own name again when the newcomer is gone',
      '/dev/ttyUSB0',
      [[usb0], [usb1], [usb0]],
      '/dev/ttyUSB0',
    ],
    [
      'is the one with the same USB ids where its name holds the socket',
      'COM3',
      [[at('COM3', '5&1')], [receiver, at('COM7', '5&2')]],
      'COM7',
    ],
    ['is no newcomer while its own port is there', '/dev/ttyUSB0', [[usb0], [usb0, usb1]], '/dev/ttyUSB0'],
    ['is not guessed among two newcomers', '/dev/ttyUSB0', [[usb0], [usb1, usb2]], '/dev/ttyUSB0'],
    ['is never a port that stood beside it', '/dev/ttyUSB0', [[usb0, usb1], [usb1]], '/dev/ttyUSB0'],
    ['is never a newcomer of another kind', 'COM3', [[at('COM3', '5&1')], [receiver]], 'COM3'],
  ] as const)('%s', async (_, path, lists, last) => {
    expect((await opened(path, ...lists)).at(-1)).toBe(last);
  });
});
