/** Making an AT-command adapter ready: every setting may be refused, and each refusal has its fall-back. */
import { HandbackError } from '../../core/errors.ts';
import type { Haste } from '../adapter.ts';
import { printable, splitLines, wordOf } from './lines.ts';
import { type Conversation, type PromptChannel, textOf } from './prompt.ts';

const COMMAND_MS = 1000;
const RESET_MS = 5000;
const QUICK_MS = 350;
const PATIENT_MS = 1500;
const NAMELESS_MS = 500;
const TRIES = 3;

/** Shown where it gives none. */
export const NO_NAME = 'no name';

export interface Reply {
  readonly end: Conversation['end'];
  readonly ok: boolean;
  readonly refused: boolean;
  /** Lines that are neither echo nor OK, joined. */
  readonly text: string;
}

/** What the adapter accepted of the settings. */
export interface Settings {
  readonly identity: string;
  readonly headers: boolean;
  readonly autoProtocol: boolean;
}

export async function command(channel: PromptChannel, text: string, ms = COMMAND_MS): Promise<Reply> {
  const { rx, end } = await channel.ask(`${text}\r`, ms);
  const lines = splitLines(rx).filter((l) => l.text !== text.replaceAll(' ', ''));
  const words = lines.map((l) => wordOf(l.text)?.word);
  return {
    end,
    ok: words.includes('ok'),
    refused: words.includes('refused'),
    text: lines
      .filter((_, i) => words[i] !== 'ok')
      .map((l) => printable(l.raw))
      .join(' ')
      .slice(0, 200),
  };
}

/**
 * Is there a prompt at the other end? Asks for the name; again when something came without one: the first
 * character may only have interrupted what a program before us left running.
 * @throws HandbackError adapter.silent or adapter.nonsense
 */
export async function sayHello(channel: PromptChannel, haste: Haste): Promise<void> {
  let heard = '';
  for (const ms of haste === 'quick' ? [QUICK_MS, COMMAND_MS] : [PATIENT_MS, COMMAND_MS]) {
    const { rx, end } = await hello(channel, haste, ms, heard === '');
    heard += textOf(rx);
    if (end === 'lost') throw new HandbackError('link.lost', 'the link was lost at the first question');
    if (end === 'prompt' && isReadable(heard)) {
      // A prompt that belongs to the interrupted command is followed by the answer to ours.
      await channel.ask('', 60);
      return;
    }
    if (heard === '' || !isReadable(heard) || CAN_FRAME.test(heard)) break;
  }
  if (heard === '') throw new HandbackError('adapter.silent', 'nothing came back');
  throw new HandbackError(
    'adapter.nonsense',
    `${heard.length} bytes came back that are no text with a prompt`,
  );
}

/** A few have no name to give: whoever is patient tries a setting, when its name brings nothing but an echo. */
async function hello(
  channel: PromptChannel,
  haste: Haste,
  ms: number,
  first: boolean,
): Promise<Conversation> {
  channel.probe = 'ATI';
  if (haste === 'quick' || !first) return channel.ask('ATI\r', ms);
  const named = await channel.ask('ATI\r', ms - NAMELESS_MS);
  const echo = /^[\s\0]*(ATI)?[\s\0]*$/;
  if (named.end !== 'timeout' || !echo.test(textOf(named.rx))) return named;
  channel.probe = 'ATE0';
  return channel.ask('ATE0\r', NAMELESS_MS);
}

/** A line of a serial-line CAN adapter: it would go on for ever. */
const CAN_FRAME = /(^|[\r\x07])([tT][0-9A-F]{4,}|\x07)\r?/;

function isReadable(text: string): boolean {
  const good = text.match(/[\x20-\x7e\r\n\0]/g)?.length ?? 0;
  return good >= 0.9 * text.length;
}

/** Resets softly (the line speed stays), falling back to harder ways, then sets what the driver needs. */
export async function setUp(channel: PromptChannel): Promise<Settings> {
  for (const reset of ['ATWS', 'ATZ', 'ATD']) {
    const r = await command(channel, reset, RESET_MS);
    if (r.end === 'lost') throw new HandbackError('link.lost', 'the link was lost during the reset');
    if (r.end === 'prompt' && !r.refused) break;
    if (r.end !== 'prompt') await channel.resync();
  }
  return applySettings(channel);
}

/** Also after the adapter restarted by itself. */
export async function applySettings(channel: PromptChannel): Promise<Settings> {
  await insist(channel, 'ATE0'); // echo off; with echo the reader still finds its way
  await insist(channel, 'ATL0'); // no line feeds: fewer bytes
  await insist(channel, 'ATS0'); // no spaces: a third fewer bytes on slow lines
  const headers = await insist(channel, 'ATH1'); // who answered
  await insist(channel, 'ATAT1'); // adaptive timing
  const auto = await insist(channel, 'ATSP0'); // search for the bus at the first request
  const identity = await askName(channel);
  return {
    identity: identity || NO_NAME,
    headers: headers.ok,
    autoProtocol: auto.ok,
  };
}

async function askName(channel: PromptChannel): Promise<string> {
  if (channel.probe === 'ATI') return (await insist(channel, 'ATI', (r) => r.text !== '')).text;
  // It may only have been starting when it was asked first.
  const { text, end } = await command(channel, 'ATI');
  if (text !== '') channel.probe = 'ATI';
  else if (end !== 'prompt') await channel.resync();
  return text;
}

/**
 * Neither OK nor "?" means that text was lost on the way: then once more. Always left in step.
 * @throws HandbackError adapter.silent
 */
async function insist(
  channel: PromptChannel,
  text: string,
  understood: (reply: Reply) => boolean = (r) => r.ok || r.refused,
): Promise<Reply> {
  for (let i = 1; ; i++) {
    const reply = await command(channel, text);
    if (reply.end === 'lost' || (reply.end !== 'prompt' && !(await channel.resync())))
      throw new HandbackError('adapter.silent', 'the adapter fell silent while being set up');
    if (understood(reply) || i === TRIES) return reply;
  }
}
