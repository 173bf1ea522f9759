/** The AT-command text adapter: its dialect, its pace, its quirks, and anything a host may throw at it. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { COMMANDS, factorySettings } from '../../src/sim/front/at-settings.ts';
import { Host } from './host.ts';

async function ready(host: Host): Promise<Host> {
  for (const line of ['ATE0', 'ATS0', '0100']) await host.ask(line);
  return host;
}

describe('dialect', () => {
  it('echoes, answers and prompts', async () => {
    const host = new Host();
    expect(await host.ask('AT I')).toBe('AT I\rPRACTICE TEXT ADAPTER 1.4\r\r>');
    expect(await host.ask('ate0')).toBe('ate0\rOK\r\r>');
    expect(await host.ask('ATL1')).toBe('OK\r\n\r\n>');
    expect(await host.ask('')).toBe('OK\r\n\r\n>'); // an empty line repeats the last
    expect(await host.ask('ATRV')).toBe('14.1V\r\n\r\n>');
    expect(await host.ask('ATXYZ')).toBe('?\r\n\r\n>');
    expect(await host.ask('01ZZ')).toBe('?\r\n\r\n>');
    expect(await host.ask('ATZ')).toBe('\r\rPRACTICE TEXT ADAPTER 1.4\r\r>'); // back to factory settings
  });

  it('searches on the first request and says what it found', async () => {
    const host = new Host({ bus: { extended: true, bitrate: 250_000 } });
    await host.ask('ATE0');
    expect(await host.ask('ATDPN')).toBe('A0\r\r>');
    expect(await host.ask('010D', 5000)).toBe('SEARCHING...\r41 0D 3E \r41 0D 3E \r\r>');
    expect(await host.ask('ATDPN')).toBe('A9\r\r>');
    expect(await host.ask('ATDP')).toBe('AUTO, ISO 15765-4 (CAN 29/250)\r\r>');
    expect(await host.ask('010D')).toBe('41 0D 3E \r41 0D 3E \r\r>');
  });

  it.each([
    ['ATSP6', '41 0D 3E \r41 0D 3E \r\r>'],
    ['ATSP7', 'NO DATA\r\r>'],
    ['ATSP8', 'CAN ERROR\r\r>'],
    ['ATSP3', 'BUS INIT: ...ERROR\r\r>'],
    ['ATSP1', 'UNABLE TO CONNECT\r\r>'],
  ])('with %s says %j', async (command, expected) => {
    const host = new Host();
    await host.ask('ATE0');
    await host.ask(command);
    expect(await host.ask('010D', 5000)).toBe(expected);
  });

  it('finds nothing while the ignition is off, and everything when it comes on', async () => {
    const host = new Host();
    await host.ask('ATE0');
    host.vehicle.ignition = false;
    expect(await host.ask('0100', 10_000)).toBe('SEARCHING...\rUNABLE TO CONNECT\r\r>');
    host.vehicle.ignition = true;
    expect(await host.ask('010D', 5000)).toBe('SEARCHING...\r41 0D 3E \r41 0D 3E \r\r>');
    host.vehicle.ignition = false;
    expect(await host.ask('010D')).toBe('CAN ERROR\r\r>');
  });

  it('prints long answers with and without headers', async () => {
    const host = await ready(new Host());
    expect(await host.ask('0902')).toBe('014\r0:490201314842\r1:30303030303030\r2:30303030303137\r\r>');
    await host.ask('ATH1');
    expect(await host.ask('0902')).toBe('7E81014490201314842\r7E82130303030303030\r7E82230303030303137\r\r>');
    await host.ask('ATS1');
    expect(await host.ask('03')).toMatch(/^7E8 02 43 00 55 55 55 55 55 \r7E9 02 43 00 /);
  });

  it('asks one control unit and filters what it hears', async () => {
    const host = await ready(new Host());
    await host.ask('ATH1');
    await host.ask('ATSH7E1');
    expect(await host.ask('010D')).toBe('7E903410D3E55555555\r\r>');
    expect(await host.ask('010C')).toBe('7E9037F011255555555\r\r>');
    await host.ask('ATSH7DF');
    await host.ask('ATCRA7E8');
    expect(await host.ask('010D')).toBe('7E803410D3E55555555\r\r>');
    await host.ask('ATAR');
    expect((await host.ask('010D')).split('\r')).toHaveLength(4);
  });

  it('comes back early when told how many answers to await', async () => {
    const host = await ready(new Host());
    const promptMs = async (line: string): Promise<number> => {
      const from = host.clock.nowUs();
      await host.ask(line, 1000);
      return ((host.heard.at(-1)?.tUs ?? 0) - from) / 1000;
    };
    await host.ask('ATAT0');
    expect(await promptMs('010D')).toBeGreaterThan(200);
    expect(await promptMs('010D2')).toBeLessThan(25);
    await host.ask('ATST10');
    const shorter = await promptMs('010D');
    expect(shorter).toBeGreaterThan(64);
    expect(shorter).toBeLessThan(64 + 25);
    await host.ask('ATST00');
    await host.ask('ATAT1');
    await promptMs('010D');
    expect(await promptMs('010D')).toBeLessThan(100); // learned
  });

  it('stops a request when a byte comes, and goes on', async () => {
    const host = await ready(new Host());
    host.send('010D\r');
    await host.clock.advance(5);
    host.send(' ');
    await host.clock.advance(5);
    expect(host.fresh()).toBe('STOPPED\r\r>');
    expect(await host.ask('010D1')).toBe('410D3E\r\r>');
  });

  it('hears the whole bus until stopped', async () => {
    const host = await ready(new Host({ traffic: 100 }));
    await host.ask('ATH1');
    host.send('ATMA\r');
    await host.clock.advance(1000);
    const lines = host.fresh().split('\r');
    expect(lines.length).toBeGreaterThan(90);
    expect(await host.ask('')).toMatch(/STOPPED\r\r>$/);
  });
});

describe('pace', () => {
  it.each([9600, 38_400, 115_200])('sends ten bits a byte at %i bit/s', async (pace) => {
    const host = new Host({ pace });
    await host.ask('ATI', 500);
    const first = host.heard[0];
    const last = host.heard.at(-1);
    if (first === undefined || last === undefined) throw new Error('nothing heard');
    const { length } = host.all;
    // All bytes but those of the echo come without a break; the echo waits for the host's own bytes.
    const perByteUs = 10e6 / pace;
    expect(last.tUs).toBeGreaterThanOrEqual((length + 1) * perByteUs - 1000);
    let soFar = 0;
    for (const { tUs, bytes } of host.heard) {
      soFar += bytes.length;
      expect(tUs).toBeGreaterThanOrEqual(soFar * perByteUs - 1);
    }
    expect(last.tUs - first.tUs).toBeLessThan(length * perByteUs + 5000);
  });
});

describe('quirks', () => {
  const unknown = async (quirk: string, command: string): Promise<string> => {
    const host = new Host({ quirks: [quirk] });
    await host.ask('ATE0');
    return host.ask(command);
  };
  it.each([
    ['no-headers', 'ATH1'],
    ['no-filters', 'ATSH7E0'],
    ['no-filters', 'ATCRA7E8'],
    ['no-auto-protocol', 'ATSP0'],
    ['no-adaptive-timing', 'ATAT1'],
    ['no-count-digit', '010D1'],
  ])('%s: %s is unknown', async (quirk, command) => {
    expect(await unknown(quirk, command)).toBe('?\r\r>');
  });

  it('accepts by word only', async () => {
    const host = new Host({ quirks: ['no-linefeed-off', 'ignores-spaces-off', 'ignores-echo-off'] });
    for (const line of ['ATE0', 'ATL0', 'ATS0', '0100']) await host.ask(line);
    expect(await host.ask('010D1')).toBe('010D1\r\n41 0D 3E \r\n\r\n>');
  });

  it('knows no groups, has a senseless name, is slow', async () => {
    const host = await ready(new Host({ quirks: ['no-multi-pid', 'wrong-identity', 'slow=300'] }));
    expect(await host.ask('010C0D')).toBe('NO DATA\r\r>');
    expect(await host.ask('ATI')).not.toContain('ADAPTER');
    host.send('010D1\r');
    await host.clock.advance(290);
    expect(host.fresh()).toBe('');
    await host.clock.advance(200);
    expect(host.fresh()).toBe('410D3E\r\r>');
  });

  it('loses prompts, bytes and its settings as told', async () => {
    const lost = await ready(new Host({ quirks: ['lost-prompt=1'] }));
    expect(await lost.ask('010D1')).toBe('410D3E\r\r');
    const zeros = new Host({ quirks: ['null-bytes=1'] });
    expect(await zeros.ask('ATI')).toMatch(/^(\0[^\0])+$/);
    const dropped = new Host({ quirks: ['drop-bytes=0.5'] });
    expect((await dropped.ask('ATI')).length).toBeLessThan(25);
    const garbled = new Host({ quirks: ['garble=0.5'] });
    const text = await garbled.ask('ATI');
    expect(text).toHaveLength('ATI\rPRACTICE TEXT ADAPTER 1.4\r\r>'.length);
    expect(text).not.toContain('PRACTICE');
    const restarts = await ready(new Host({ quirks: ['restarts-after=10'] }));
    await restarts.clock.advance(10_000);
    expect(restarts.fresh()).toContain('PRACTICE');
    expect(await restarts.ask('ATI')).toMatch(/^ATI/);
  });

  it('stalls five seconds and then does what it was told meanwhile', async () => {
    const host = new Host({ quirks: ['stall=1'] });
    host.send('ATI\rATI\r');
    await host.clock.advance(4900);
    expect(host.fresh()).toBe('ATI\r');
    await host.clock.advance(6000);
    expect(host.fresh().match(/ADAPTER/g)).toHaveLength(2);
  });

  it('refuses quirks and values that it does not know', () => {
    expect(() => new Host({ quirks: ['sings'] })).toThrow(/knows no quirk "sings"/);
    expect(() => new Host({ quirks: ['slow=-1'] })).toThrow(/quirk slow is -1 ms/);
    expect(() => new Host({ quirks: ['slow='] })).toThrow(/quirk slow is {2}ms/);
    expect(() => new Host({ quirks: ['no-headers=1'] })).toThrow(/takes no value/);
    expect(() => new Host({ speedup: 1000 })).toThrow(/speedup is 1000/);
  });
});

describe('hostile input', () => {
  it('always comes back to a prompt', async () => {
    const piece = fc.oneof(
      fc.constantFrom(
        'AT',
        '\r',
        '0100',
        '010C0D',
        'ATSP0',
        'ATSP9',
        'ATCAF0',
        'ATSH7E0',
        'ATMA',
        'ATCFC0',
        '>',
      ),
      fc.string({ unit: 'binary-ascii', maxLength: 12 }),
      fc.uint8Array({ maxLength: 12 }).map((b) => String.fromCharCode(...b)),
    );
    await fc.assert(
      fc.asyncProperty(fc.array(piece, { maxLength: 25 }), async (pieces) => {
        const host = new Host();
        for (const text of pieces) {
          host.simulation.fromHost(Uint8Array.from(text, (c) => c.charCodeAt(0) & 0xff));
          await host.clock.advance(3);
        }
        await host.ask('', 20_000);
        await host.ask('ATZ', 2000); // the first stops what may still run …
        expect(await host.ask('ATZ', 2000)).toMatch(/PRACTICE TEXT ADAPTER 1\.4\r\r>$/);
        expect(await host.ask('010D1', 5000)).toMatch(/41 0D 3E \r\r>$/);
      }),
      { seed: 3, numRuns: 60 },
    );
  });

  it('bounds what it keeps', async () => {
    const host = new Host();
    host.send('A'.repeat(100_000));
    await host.clock.advance(100);
    expect(await host.ask('')).toMatch(/\?\r\r>$/);
  });

  it('has a command for every setting it keeps', () => {
    const act = {
      identity: '',
      description: '',
      reset: () => undefined,
      monitor: () => undefined,
      changeSpeed: () => undefined,

      measuredVoltage: () => 12,
    };
    const touched = new Set<string>();
    for (const text of 'E0 L1 S0 H1 CAF0 D1 R0 AT2 ST19 SP6 SH7E0 CP19 CRA7E8 CFC0 FCSM1 FCSH7E0 FCSD300000 CV1300 BRT28 IIA10 PC'.split(
      ' ',
    )) {
      const s = { ...factorySettings(), connected: true };
      const before: Record<string, unknown> = { ...s };
      const command = COMMANDS.find((c) => c.pattern.test(text));
      const match = command?.pattern.exec(text);
      expect(match, text).toBeTruthy();
      expect(command?.run(s, match ?? [], act)).toBe('OK');
      for (const [key, value] of Object.entries(s)) if (value !== before[key]) touched.add(key);
    }
    expect([...touched].sort()).toEqual(Object.keys(factorySettings()).sort());
  });
});
