/**
 * What every command prints through: results on stdout (JSON Lines with --json, text without), everything for
 * people's eyes on stderr, progress on a terminal only, and text from outside made harmless first.
 */
import type { Command } from 'commander';

export interface Io {
  readonly json: boolean;
  /** One result object: a JSON line with --json, nothing otherwise. */
  result(value: unknown): void;
  /** One line of the answer for people; nothing with --json. */
  print(line: string): void;
  /** What is going on, on stderr; nothing with --quiet. */
  say(line: string): void;
  /** Overwrites itself on a terminal; silent elsewhere. `share` from 0 to 1. */
  progress(what: string, share: number): void;
  progressDone(): void;
}

export function ioOf(command: Command): Io {
  const options = command.optsWithGlobals<{ json?: boolean; quiet?: boolean }>();
  const json = options.json === true;
  const quiet = options.quiet === true;
  const drawsProgress = !quiet && process.stderr.isTTY === true;
  let drawn = false;
  return {
    json,
    result: (value) => {
      if (json) process.stdout.write(`${JSON.stringify(value)}\n`);
    },
    print: (line) => {
      if (!json) process.stdout.write(`${harmless(line)}\n`);
    },
    say: (line) => {
      if (!quiet) process.stderr.write(`${harmless(line)}\n`);
    },
    progress: (what, share) => {
      if (!drawsProgress) return;
      process.stderr.write(
        `\r${harmless(what)} ${String(Math.round(100 * Math.min(1, share))).padStart(3)} % `,
      );
      drawn = true;
    },
    progressDone: () => {
      if (drawn) process.stderr.write('\r\u001b[2K');
      drawn = false;
    },
  };
}

/** Control characters (from a vehicle, a file name, a note) must not steer the terminal. */
export function harmless(text: string): string {
  return text.replace(/[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/g, '\ufffd');
}
