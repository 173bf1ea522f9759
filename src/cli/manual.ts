/** The manual page (man(7)), made of what the commands say of themselves in --help. */
import { EXIT } from '../core/errors.ts';
import type { ShownCommand } from './shown.ts';

/** Backslashes and dashes as they are; a dot or quote at the beginning of a line is no request. */
const roff = (text: string): string =>
  text
    .replaceAll('\\', '\\e')
    .replaceAll('-', '\\-')
    .replace(/^(?=[.'])/gm, '\\&');

const STATUS: Readonly<Record<keyof typeof EXIT, string>> = {
  ok: 'done; of judge: no fault shown',
  internal: 'a fault of handback itself',
  badInput: 'a usage that is not known, or a file that cannot be used',
  faultShown: 'judge: a fault is shown',
  noAnswer: 'port, adapter or vehicle does not answer',
  stoppedEarly: 'ended before what was asked for was done or kept',
};

export function manualOf(commands: readonly ShownCommand[], version: string): string {
  const [program, ...others] = commands as [ShownCommand, ...ShownCommand[]];
  const options = ({ options }: ShownCommand): string[] =>
    options.flatMap((o) => ['.TP', `.B ${roff(o.usage)}`, roff(o.description || o.usage)]);
  const lines = [
    `.TH HANDBACK 1 "" "Handback ${roff(version)}" "User Commands"`,
    '.SH NAME',
    'handback \\- prove a big cooling or forced\\-induction repair on the road',
    '.SH SYNOPSIS',
    `.B ${roff(program.usage)}`,
    '.SH DESCRIPTION',
    roff(program.description),
    'Without a command the packed program starts and opens its page.',
    '.SH OPTIONS',
    ...options(program),
    '.SH COMMANDS',
    ...others.flatMap((c) => [
      `.SS ${roff(`handback ${c.path}`)}`,
      roff(c.description),
      '.PP',
      `.B ${roff(c.usage)}`,
      ...options(c),
    ]),
    '.SH EXIT STATUS',
    ...Object.entries(EXIT).flatMap(([name, status]) => [
      '.TP',
      `.B ${status}`,
      roff(STATUS[name as keyof typeof EXIT]),
    ]),
  ];
  return `${lines.join('\n')}\n`;
}
