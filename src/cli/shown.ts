/** What the commands take, as plain data read from the commands themselves: completions and the manual are made of it. */
import type { Command, Option } from 'commander';

export interface ShownOption {
  /** As typed: `--out`; the short form, where there is one, first. */
  readonly flags: readonly string[];
  /** As --help writes it: `--out <file>`. */
  readonly usage: string;
  readonly description: string;
  /** What may stand behind it: one of these, a file, anything, or nothing. */
  readonly value: readonly string[] | 'file' | 'any' | null;
}

export interface ShownCommand {
  /** With those that it stands behind: `kinds list`; empty for the program itself. */
  readonly path: string;
  readonly usage: string;
  readonly description: string;
  readonly options: readonly ShownOption[];
  /** What may stand as an argument, where there is a list. */
  readonly choices: readonly string[];
  readonly commands: readonly string[];
}

/** The program itself first, then each command with its own commands behind it. */
export function shownOf(program: Command, above = ''): ShownCommand[] {
  const help = program.createHelp();
  const commands = help.visibleCommands(program).filter((c) => c.name() !== 'help');
  const own: ShownCommand = {
    path: above,
    usage: help.commandUsage(program),
    description: help.commandDescription(program),
    options: help.visibleOptions(program).map(optionOf),
    choices: program.registeredArguments.flatMap((a) => a.argChoices ?? []),
    commands: commands.map((c) => c.name()),
  };
  return [own, ...commands.flatMap((c) => shownOf(c, above === '' ? c.name() : `${above} ${c.name()}`))];
}

function optionOf(option: Option): ShownOption {
  const { short, long, flags, description, argChoices } = option;
  const takes = option.required || option.optional;
  const kind = /<(file|dir|profile|pool|path)>/.test(flags) ? 'file' : 'any';
  return {
    flags: [short, long].filter((f) => f !== undefined),
    usage: flags,
    description,
    value: takes ? (argChoices ?? kind) : null,
  };
}
