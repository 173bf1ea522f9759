/**
 * The line speed of an AT-command adapter: raised where both ends really cope, taken back where they do not.
 * The conversation, by common practice without a source: the command names the speed as 4 Mbit/s divided by a byte;
 * the adapter says OK without a prompt, changes, says its name at the new speed and stays there only when an empty
 * line confirms it in time; otherwise it goes back by itself.
 */
import { saying } from '../../core/error-says.ts';
import { HandbackError } from '../../core/errors.ts';
import type { PromptChannel } from './prompt.ts';
import { command } from './setup.ts';

const DIVIDED = 4_000_000;
/** Worth trying, fastest first. More than this brings little: by then the vehicle's answers take the time. */
const FASTER = [500_000, 230_400, 115_200] as const;
/** How long the adapter waits for its confirmation, in its own unit of 5 ms: USB and a busy laptop need time. */
const HANDSHAKE_UNITS = 0x28;
const HANDSHAKE_MS = HANDSHAKE_UNITS * 5;
/** The adapter has gone back by itself after this, its time taken twice and something for the system. */
const BACK_BY_ITSELF_MS = 2 * HANDSHAKE_MS + 400;
const COMMAND_MS = 1000;
/** A hard reset brings the speed of the start back; some need this long to say so. */
const RESTART_MS = 3000;
/** Exact answers in a row before a speed counts as good. */
const PROOF = 20;
const FEW = 3;

type SetBaud = (baud: number) => Promise<boolean>;

interface Speed {
  readonly channel: PromptChannel;
  readonly setBaud: SetBaud;
  /** What it answers to ATI: said again at the new speed, to the letter. */
  readonly identity: string;
}

/**
 * Tries the faster speeds from the top. Always ends in step, at a speed that was proved.
 * @returns the speed now, and whether any try failed: then the settings are to be made anew
 * @throws HandbackError adapter.silent when it answers at neither speed any more
 */
export async function raiseSpeed(s: Speed, from: number): Promise<{ baud: number; failed: boolean }> {
  const known = await command(s.channel, `ATBRT${hexByte(HANDSHAKE_UNITS)}`);
  // Who does not know the time for it does not know the thing, or cannot be given the time that it takes.
  if (!known.ok) {
    if (known.end === 'timeout') await s.channel.resync();
    return { baud: from, failed: known.end === 'timeout' };
  }
  let failed = false;
  for (const baud of FASTER) {
    if (baud <= from) continue;
    const end = await changeSpeed(s, from, baud, PROOF);
    if (end === 'changed') return { baud, failed };
    failed ||= end === 'stayed';
  }
  return { baud: from, failed };
}

/**
 * Back to the speed that it was found at: by the same conversation, else by a hard reset.
 * @param silent it does not answer at `from` any more: it may be back already
 * @throws HandbackError adapter.silent
 */
export async function lowerSpeed(s: Speed, from: number, to: number, silent = false): Promise<void> {
  if (!silent) {
    if ((await handshake(s, to)) === 'confirmed' && (await isExact(s, FEW))) return;
    await s.channel.until('', never, BACK_BY_ITSELF_MS);
  }
  await s.setBaud(to);
  if ((await s.channel.resync()) && (await isExact(s, 1))) return;
  await s.setBaud(from);
  if (await s.channel.resync()) await s.channel.until('ATZ', never, 100);
  await s.setBaud(to);
  await s.channel.until('', promptCame, RESTART_MS);
  if ((await s.channel.resync()) && (await isExact(s, 1))) return;
  throw new HandbackError('adapter.silent', saying('error.other-speed', { baud: to }), {
    hint: saying('error.other-speed-hint'),
  });
}

/** `refused`: nothing has changed. `stayed`: it is back at the old speed, proved; its settings may be gone. */
async function changeSpeed(
  s: Speed,
  from: number,
  to: number,
  proof: number,
): Promise<'changed' | 'refused' | 'stayed'> {
  const end = await handshake(s, to);
  if (end === 'refused') return 'refused';
  if (end === 'confirmed') {
    if (await isExact(s, proof)) return 'changed';
  } else {
    // Unconfirmed it goes back by itself: wait for that, and see.
    await s.setBaud(from);
    await s.channel.until('', never, BACK_BY_ITSELF_MS);
    if ((await s.channel.resync()) && (await isExact(s, FEW))) return 'stayed';
    // It did not. One that changes without asking may be well there.
    await s.setBaud(to);
    if ((await s.channel.resync()) && (await isExact(s, proof))) return 'changed';
  }
  await lowerSpeed(s, to, from);
  return 'stayed';
}

/** Ends with our side at the new speed unless refused. */
async function handshake(s: Speed, to: number): Promise<'confirmed' | 'unconfirmed' | 'refused'> {
  const divisor = divisorOf(to);
  if (divisor === null) return 'refused';
  const ok = /OK[\r\n\0]/;
  const said = await s.channel.until(
    `ATBRD${hexByte(divisor)}`,
    (text) => ok.test(text) || promptCame(text),
    COMMAND_MS,
  );
  if (!ok.test(said)) {
    if (!promptCame(said)) await s.channel.resync();
    return 'refused';
  }
  // A prompt behind the OK: it took the words and does nothing, or has already changed. What follows tells.
  const greeting = s.channel.until('', (text) => endsWithLine(text, s.identity), HANDSHAKE_MS + 400);
  if (!(await s.setBaud(to))) {
    await greeting;
    return 'unconfirmed';
  }
  if (!endsWithLine(await greeting, s.identity)) return 'unconfirmed';
  // The only empty line that is ever sent. Were it taken for "once more", it would repeat this very command.
  const confirmed = await s.channel.until('\r', promptCame, HANDSHAKE_MS + 400);
  return ok.test(confirmed) ? 'confirmed' : 'unconfirmed';
}

/** The same name, to the letter, so many times. */
async function isExact(s: Speed, times: number): Promise<boolean> {
  const before = s.channel.quality.retyped;
  for (let i = 0; i < times; i++) {
    const { end, text } = await command(s.channel, 'ATI', 500);
    if (end === 'prompt' && text === s.identity && s.channel.quality.retyped === before) continue;
    await s.channel.resync();
    return false;
  }
  return true;
}

function divisorOf(baud: number): number | null {
  const divisor = Math.round(DIVIDED / baud);
  return divisor >= 1 && divisor <= 0xff ? divisor : null;
}

function hexByte(n: number): string {
  return n.toString(16).toUpperCase().padStart(2, '0');
}

/** A whole line; what came before it may be noise of the change. */
function endsWithLine(text: string, line: string): boolean {
  const plain = text.replaceAll(/[\0\n]/g, '');
  return /\r$/.test(plain) && plain.trimEnd().endsWith(line);
}

function promptCame(text: string): boolean {
  return text.includes('>');
}

const never = (): boolean => false;
