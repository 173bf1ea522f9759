/** Making an AT-command adapter ready: every setting may be refused, and each refusal has its fall-back. */
import { HandbackError } from '../../core/errors.ts';
import { printable, splitLines, wordOf } from './lines.ts';
import type { Conversation, PromptChannel } from './prompt.ts';

const COMMAND_MS = 1000;
const RESET_MS = 5000;
const HELLO_TRIES = 2;
const TRIES = 3;

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
 * Is there a prompt at the other end? Asks for the name, twice: the first character may only have interrupted
 * what a program before us left running.
 * @throws HandbackError adapter.silent or adapter.nonsense
 */
export async function sayHello(channel: PromptChannel): Promise<void> {
  let bytes = 0;
  let readable = 0;
  for (let i = 0; i < HELLO_TRIES; i++) {
    const { rx, end } = await channel.ask('ATI\r', COMMAND_MS);
    for (const { bytes: b } of rx)
      for (const c of b) {
        bytes++;
        if ((c >= 0x20 && c < 0x7f) || c === 0x0d || c === 0x0a || c === 0) readable++;
      }
    if (end === 'lost') break;
    if (end === 'prompt' && readable >= 0.9 * bytes) {
      // A prompt that belongs to the interrupted command is followed by the answer to ours.
      await channel.ask('', 60);
      return;
    }
  }
  if (bytes === 0) throw new HandbackError('adapter.silent', 'nothing came back');
  throw new HandbackError('adapter.nonsense', `${bytes} bytes came back that are no text with a prompt`);
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
  const identity = await insist(channel, 'ATI', (r) => r.text !== '');
  return { identity: identity.text || 'no name', headers: headers.ok, autoProtocol: auto.ok };
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
