/** Completion scripts for three shells, made of what the commands take; they call nothing while one types. */
import type { ShownCommand, ShownOption } from './shown.ts';

export const SHELLS = ['bash', 'zsh', 'powershell'] as const;
export type Shell = (typeof SHELLS)[number];

export function completionOf(shell: Shell, commands: readonly ShownCommand[]): string {
  if (shell === 'bash') return bash(commands);
  return shell === 'zsh' ? zsh(commands) : powershell(commands);
}

/** Nothing that is completed needs more than this; a word that did would be a mistake of ours. */
function word(text: string): string {
  if (!/^[\w./:-]+$/.test(text)) throw new Error(`no word for a shell: ${text}`);
  return text;
}
const words = (list: readonly string[]): string => list.map(word).join(' ');

const flagsOf = (command: ShownCommand): string => words(command.options.flatMap((o) => o.flags));
const freeOf = (command: ShownCommand): string => words([...command.commands, ...command.choices]);

type Valued = ShownOption & { readonly value: Exclude<ShownOption['value'], null> };
const valued = (command: ShownCommand): Valued[] =>
  command.options.filter((o): o is Valued => o.value !== null);

/** The lines of a `case` on command and word before the cursor. */
function valueCases(commands: readonly ShownCommand[], act: (value: Valued['value']) => string): string {
  return commands
    .flatMap((c) =>
      valued(c).map((o) => {
        const names = o.flags.map((f) => `'${c.path}:${word(f)}'`).join('|');
        return `    ${names}) ${act(o.value)}; return ;;`;
      }),
    )
    .join('\n');
}

const wordCases = (commands: readonly ShownCommand[]): string =>
  commands.map((c) => `    '${c.path}') flags='${flagsOf(c)}'; free='${freeOf(c)}' ;;`).join('\n');

const pathsOf = (commands: readonly ShownCommand[]): string =>
  commands
    .filter((c) => c.path !== '')
    .map((c) => `'${c.path}'`)
    .join('|');

/** What stands before the cursor, in bash and zsh alike. @param first index of the first word behind the program's name */
const scan = (
  commands: readonly ShownCommand[],
  act: (value: Valued['value']) => string,
  { words, current, first }: { readonly words: string; readonly current: string; readonly first: number },
): string => `  local cur=\${${words}[${current}]} prev=\${${words}[${current}-1]} at='' flags='' free='' i
  for ((i = ${first}; i < ${current}; i++)); do
    case "\${at:+$at }\${${words}[i]}" in
      ${pathsOf(commands)}) at="\${at:+$at }\${${words}[i]}" ;;
    esac
  done
  case "$at:$prev" in
${valueCases(commands, act)}
  esac
  case "$at" in
${wordCases(commands)}
  esac`;

function bash(commands: readonly ShownCommand[]): string {
  const value = (v: Valued['value']): string =>
    v === 'file' ? '_handback_files' : v === 'any' ? ':' : `_handback_of '${words(v)}'`;
  return `# bash completion for handback; made by "handback completion bash"
_handback_of() {
  local IFS=$' \\n'
  COMPREPLY=($(compgen -W "$1" -- "$cur"))
}
_handback_files() {
  local IFS=$'\\n'
  compopt -o filenames 2>/dev/null
  COMPREPLY=($(compgen -f -- "$cur"))
}
_handback() {
  COMPREPLY=()
${scan(commands, value, { words: 'COMP_WORDS', current: 'COMP_CWORD', first: 1 })}
  case "$cur" in
    -*) _handback_of "$flags" ;;
    *) if [ -n "$free" ]; then _handback_of "$free"; else _handback_files; fi ;;
  esac
}
complete -F _handback handback
`;
}

function zsh(commands: readonly ShownCommand[]): string {
  const value = (v: Valued['value']): string =>
    v === 'file' ? '_files' : v === 'any' ? ':' : `compadd -- ${words(v)}`;
  return `#compdef handback
# zsh completion for handback; made by "handback completion zsh"
_handback() {
${scan(commands, value, { words: 'words', current: 'CURRENT', first: 2 })}
  case "$cur" in
    -*) compadd -- \${=flags} ;;
    *) if [[ -n $free ]]; then compadd -- \${=free}; else _files; fi ;;
  esac
}
if [[ $funcstack[1] == _handback ]]; then _handback "$@"; else compdef _handback handback; fi
`;
}

function powershell(commands: readonly ShownCommand[]): string {
  const list = (text: string): string => `@(${text === '' ? '' : `'${text.split(' ').join("', '")}'`})`;
  const free = commands.map((c) => `    '${c.path}' = ${list(freeOf(c))}`);
  const flags = commands.map((c) => `    '${c.path}' = ${list(flagsOf(c))}`);
  const values = commands.flatMap((c) =>
    valued(c)
      .filter((o) => o.value !== 'file')
      .flatMap((o) =>
        o.flags.map(
          (f) => `    '${c.path}:${f}' = ${list(typeof o.value === 'string' ? '' : words(o.value))}`,
        ),
      ),
  );
  return `# PowerShell completion for handback; made by "handback completion powershell"
Register-ArgumentCompleter -Native -CommandName handback, handback.cmd -ScriptBlock {
  param($wordToComplete, $commandAst, $cursorPosition)
  $free = @{
${free.join('\n')}
  }
  $flags = @{
${flags.join('\n')}
  }
  $values = @{
${values.join('\n')}
  }
  $at = ''
  $before = ''
  foreach ($element in $commandAst.CommandElements | Select-Object -Skip 1) {
    if ($element.Extent.EndOffset -ge $cursorPosition) { break }
    $before = $element.Extent.Text
    $next = if ($at) { "$at $before" } else { $before }
    if ($free.ContainsKey($next)) { $at = $next }
  }
  # No offer leaves file names to the shell itself.
  $offer = if ($values.ContainsKey("\${at}:$before")) { $values["\${at}:$before"] }
    elseif ($wordToComplete.StartsWith('-')) { $flags[$at] }
    else { $free[$at] }
  $offer | Where-Object { $_ -like "$wordToComplete*" } |
    ForEach-Object { [System.Management.Automation.CompletionResult]::new($_, $_, 'ParameterValue', $_) }
}
`;
}
