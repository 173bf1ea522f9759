/** `handback decode`: CAN frames as text, one a line, to what their messages say. */
import { once } from 'node:events';
import { createReadStream } from 'node:fs';
import { createInterface } from 'node:readline';
import { Command } from 'commander';
import { saying } from '../core/error-says.ts';
import { EXIT, HandbackError, toldOf } from '../core/errors.ts';
import { type DecodedMessage, FrameDecoder } from '../j1979/decode-frames.ts';
import { type Io, ioOf } from './io.ts';

export function decodeCommand(): Command {
  return new Command('decode')
    .description('CAN frames as lines ID#HEX (11-bit: 3 digits, 29-bit: 8), in order, to what they say')
    .argument('[file]', 'file to read; standard input without')
    .action(async (file: string | undefined, _options: unknown, command: Command) => {
      process.exitCode = await decode(file, ioOf(command));
    });
}

async function decode(file: string | undefined, io: Io): Promise<number> {
  const decoder = new FrameDecoder();
  let bad = 0;
  let n = 0;
  const input = file === undefined ? process.stdin : createReadStream(file);
  try {
    // readline alone does not pass on that the file cannot be opened
    if (file !== undefined) await once(input, 'readable');
    for await (const line of createInterface({ input, crlfDelay: Number.POSITIVE_INFINITY })) {
      n++;
      const result = decoder.line(line);
      if (result.ok) for (const message of result.messages) show(message, io);
      else {
        bad++;
        io.say(`line ${n}, column ${result.column}: ${result.why}`);
      }
    }
  } catch (thrown) {
    throw new HandbackError(
      'input.file',
      saying('error.not-read', { path: file ?? 'Standard input', why: toldOf(thrown) }),
    );
  }
  for (const message of decoder.finish()) show(message, io);
  return bad > 0 ? EXIT.badInput : EXIT.ok;
}

function show(message: DecodedMessage, io: Io): void {
  io.result(message);
  const values = message.values.map(
    (v) =>
      `${v.signal ?? v.pid} ${v.value ?? v.absent ?? v.raw}${v.unit && v.value !== null ? ` ${v.unit}` : ''}`,
  );
  const parts = [message.text, ...values, ...message.codes, message.problem && `problem: ${message.problem}`];
  io.print(`${message.id}  ${message.service ?? '--'}  ${parts.filter(Boolean).join('; ')}`);
}
