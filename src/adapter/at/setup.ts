/** Making an AT-command adapter ready: every setting may be refused, and each refusal has its fall-back. */

import { saying } from '../../core/error-says.ts';
import { HandbackError } from '../../core/errors.ts';
import type { Haste } from '../adapter.ts';
import { printable, splitLines, wordOf } from './lines.ts';
import { type Conversation, type PromptChannel, textOf } from './prompt.ts';

const COMMAND_MS = 1000;
const RESET_MS = 5000;
const QUICK_MS = 350;
const PATIENT_MS = 1500;
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
export interface AdapterSettings {
  readonly identity: string;
  readonly headers: boolean;
  readonly autoProtocol: boolean;
}

export async function command(channel: PromptChannel, text: string, ms = COMMAND_MS): Promise<Reply> {
  const { rx, end } = await channel.ask(text, ms);
  const lines = splitLines(rx).filter((l) => l.text !== text);
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
 * Is there a prompt at the other end? Says something that is no command first: it stops what a program before us left
 * running, spoils what it left half typed, and shows whether there is an echo. Who has no word for that is asked for
 * its name.
 * @throws HandbackError adapter.silent or adapter.nonsense
 */
export async function sayHello(channel: PromptChannel, haste: Haste): Promise<void> {
  let heard = '';
  for (const [i, ms] of (haste === 'quick' ? [QUICK_MS, COMMAND_MS] : [PATIENT_MS, COMMAND_MS]).entries()) {
    const { rx, end } = i === 0 ? await channel.findEcho(ms) : await channel.ask('ATI', ms);
    heard += textOf(rx);
    if (end === 'lost') throw new HandbackError('link.lost', saying('error.lost-first'));
    if (end === 'prompt' && isReadable(heard)) {
      // A prompt that belongs to the interrupted command is followed by the answer to ours.
      await channel.listen(60);
      return;
    }
    channel.distrustEcho();
    if (heard === '' || !isReadable(heard) || CAN_FRAME.test(heard)) break;
  }
  if (heard === '') throw new HandbackError('adapter.silent', saying('error.nothing-back'));
  throw new HandbackError('adapter.nonsense', saying('error.no-prompt', { bytes: heard.length }));
}

/** A line of a serial-line CAN adapter: it would go on for ever. */
const CAN_FRAME = /(^|[\r\x07])([tT][0-9A-F]{4,}|\x07)\r?/;

function isReadable(text: string): boolean {
  const good = text.match(/[\x20-\x7e\r\n\0]/g)?.length ?? 0;
  return good >= 0.9 * text.length;
}

/**
 * Resets softly (the line speed stays), falling back to harder ways, then sets what the driver needs.
 * @throws HandbackError adapter.silent; adapter.nonsense where it does not say back what it hears
 */
export async function setUp(channel: PromptChannel): Promise<AdapterSettings> {
  for (const reset of ['ATWS', 'ATZ', 'ATD']) {
    const r = await command(channel, reset, RESET_MS);
    if (r.end === 'lost') throw new HandbackError('link.lost', saying('error.lost-reset'));
    if (r.end !== 'prompt' && r.end !== 'unsent') await restarted(channel);
    // The echo is on after a reset, whatever was set before.
    for (let i = 0; i < TRIES && !channel.echoes; i++) {
      await channel.findEcho(COMMAND_MS);
      await channel.listen(60);
    }
    if (r.end === 'prompt' && !r.refused && channel.echoes) break;
  }
  if (!channel.echoes)
    throw new HandbackError('adapter.nonsense', saying('error.no-echo'), {
      hint: saying('error.no-echo-hint'),
    });
  return applySettings(channel);
}

/** It may be away for seconds. */
async function restarted(channel: PromptChannel): Promise<void> {
  if (channel.echoes) await channel.resync();
}

/** Also after the adapter restarted by itself. */
export async function applySettings(channel: PromptChannel): Promise<AdapterSettings> {
  await insist(channel, 'ATL0'); // no line feeds: fewer bytes
  await insist(channel, 'ATS0'); // no spaces: a third fewer bytes on slow lines
  const headers = await insist(channel, 'ATH1'); // who answered
  await insist(channel, 'ATAT1'); // adaptive timing
  const auto = await insist(channel, 'ATSP0'); // search for the bus at the first request
  const named = await command(channel, 'ATI');
  if (named.end !== 'prompt') await channel.resync();
  const identity = named.text === '' ? (await command(channel, 'ATI')).text : named.text;
  return {
    identity: identity || NO_NAME,
    headers: headers.ok,
    autoProtocol: auto.ok,
  };
}

/**
 * Neither OK nor "?" means that text was lost on the way: then once more. Always left in step.
 * @throws HandbackError adapter.silent
 */
async function insist(channel: PromptChannel, text: string): Promise<Reply> {
  for (let i = 1; ; i++) {
    const reply = await command(channel, text);
    if (reply.end === 'lost' || (reply.end !== 'prompt' && !(await channel.resync())))
      throw new HandbackError('adapter.silent', saying('error.silent-setup'));
    if (reply.ok || reply.refused || i === TRIES) return reply;
  }
}
