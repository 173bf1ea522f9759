/**
 * What every command prints through: results on stdout (JSON Lines with --json, text without), everything for
 * people's eyes on stderr, progress on a terminal only, and text from outside made harmless first.
 */
import type { Command } from 'commander';
import type { LanguageId } from '../core/languages.ts';
import { type Says, sayer } from '../core/says.ts';
import type { During } from '../run/types.ts';
import { cli as germanCli } from '../words/de/cli.ts';
import { de } from '../words/de/de.ts';
import { cli as englishCli } from '../words/en/cli.ts';
import { en } from '../words/en/en.ts';
import { METRIC } from '../words/measures.ts';
import type { Labels } from '../words/statements.ts';
import { type Language, Words } from '../words/words.ts';

const SPOKEN: Readonly<Record<LanguageId, Language>> = {
  en: { ...en, messages: { ...en.messages, ...englishCli } },
  de: { ...de, messages: { ...de.messages, ...germanCli } },
};
/** Statements of the command line itself. */
export const say = sayer<Labels<typeof englishCli>>();

export interface Io {
  readonly json: boolean;
  /** For what is printed for people; JSON stays English. */
  readonly words: Words;
  /** One result object: a JSON line with --json, nothing otherwise. */
  result(value: unknown): void;
  /** One line of the answer for people; nothing with --json. */
  print(line: string | Says): void;
  /** What is going on, on stderr; nothing with --quiet. */
  say(line: string | Says): void;
  /** Overwrites itself on a terminal, with the time left after a second; silent elsewhere. `share` from 0 to 1. */
  progress(what: Says, share: number): void;
  /** As `progress`, for what reads files. */
  during(what: Says): During;
  progressDone(): void;
}

export function ioOf(command: Command): Io {
  const options = command.optsWithGlobals<{ json?: boolean; quiet?: boolean; lang?: LanguageId }>();
  const json = options.json === true;
  const quiet = options.quiet === true;
  const words = wordsOf(options.lang);
  const drawsProgress = !quiet && process.stderr.isTTY === true;
  let drawn = false;
  let begun: { readonly what: string; readonly atMs: number; readonly share: number } | null = null;
  const io: Io = {
    json,
    words,
    result: (value) => {
      if (json) process.stdout.write(`${JSON.stringify(value)}\n`);
    },
    print: (line) => {
      if (!json) process.stdout.write(`${harmless(typeof line === 'string' ? line : words.say(line))}\n`);
    },
    say: (line) => {
      if (!quiet) process.stderr.write(`${harmless(typeof line === 'string' ? line : words.say(line))}\n`);
    },
    progress: (doing, share) => {
      if (!drawsProgress) return;
      const nowMs = performance.now();
      const what = words.say(doing);
      // a line printed in between begins it anew, part of it done
      if (begun?.what !== what) begun = { what, atMs: nowMs, share: Math.min(share, 0.99) };
      const leftS = timeLeft((nowMs - begun.atMs) / 1000, (share - begun.share) / (1 - begun.share));
      const left = leftS === null ? '' : `, ${words.say(say('cli.left', { left: leftS }))}`;
      const percent = String(Math.round(100 * Math.min(1, share))).padStart(3);
      process.stderr.write(`\r\u001b[2K${harmless(what)} ${percent} %${left} `);
      drawn = true;
    },
    progressDone: () => {
      if (drawn) process.stderr.write('\r\u001b[2K');
      drawn = false;
      begun = null;
    },
    during: (what) => ({ signal: NEVER, progress: (share) => io.progress(what, share) }),
  };
  return io;
}

/** Ctrl-C ends a command that only reads at once: it has nothing to put right. */
const NEVER = new AbortController().signal;

/** Seconds, rounded to what a guess is worth; null before a second has passed or little is done. */
function timeLeft(goneS: number, share: number): number | null {
  if (goneS < 1 || share < 0.02 || share >= 1) return null;
  const leftS = (goneS * (1 - share)) / share;
  return leftS < 10 ? Math.max(1, Math.round(leftS)) : 5 * Math.round(leftS / 5);
}

export const wordsOf = (lang: LanguageId = 'en'): Words =>
  new Words(SPOKEN[lang], METRIC, Intl.DateTimeFormat().resolvedOptions().timeZone);

/** Control characters (from a vehicle, a file name, a note) must not steer the terminal. */
export function harmless(text: string): string {
  return text.replace(/[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/g, '\ufffd');
}
