/**
 * Statements: what is to be said, without the words. Whoever knows a thing (a detector, the poller, an error) makes
 * `{ id, args }`; a face (page, sheet, command line, voice) chooses language and units (`src/words/`). No statement is
 * ever read back.
 *
 * Args are in the units of the signal catalogue (degC, kPa, rpm, km/h, s, V; shares as fractions of 1), never rounded
 * and never formatted; choices are ids ('baseline', 'map_kpa'); a statement may carry statements. Text that a person
 * typed is an arg like any other and is shown as it was typed.
 *
 * A room declares its statements as an interface, id to args, and makes them with a typed `say`:
 *
 *     export interface CoolantSays { 'coolant.rule.climb': { limitC: number; holdS: number } }
 *     export const say = sayer<CoolantSays>();
 *     say('coolant.rule.climb', { limitC: LIMIT_C, holdS: HOLD_S });
 *
 * `src/words/statements.ts` joins the rooms' interfaces; a language that lacks one does not compile.
 */

export type Arg = number | string | Says | readonly Says[];

export interface Says {
  readonly id: string;
  readonly args: Readonly<Record<string, Arg>>;
}

/** A maker of the statements that `Room` declares. A statement without args is `say('id')`. */
export const sayer =
  <Room>() =>
  <Id extends keyof Room & string>(
    id: Id,
    ...[args]: Record<never, never> extends Room[Id] ? [args?: Room[Id]] : [args: Room[Id]]
  ): Says => ({ id, args: (args ?? {}) as Record<string, Arg> });

export function isSays(value: unknown): value is Says {
  return (
    typeof value === 'object' &&
    value !== null &&
    typeof (value as Says).id === 'string' &&
    typeof (value as Says).args === 'object' &&
    (value as Says).args !== null &&
    Object.keys(value).length === 2
  );
}

/** Several statements one after the other. */
export const inTurn = (parts: readonly Says[]): Says =>
  parts.length === 1 ? parts[0]! : { id: 'in-turn', args: { parts } };

/** Several statements as a list: a, b, c. */
export const listed = (parts: readonly Says[]): Says =>
  parts.length === 1 ? parts[0]! : { id: 'listed', args: { parts } };

/** Text that is shown as it is: a person's, another program's, a file's own. */
export const asIs = (text: string): Says => ({ id: 'text', args: { text } });

/** The same statement with every text in it changed, however deep. */
export function retold({ id, args }: Says, change: (text: string) => string): Says {
  const of = (arg: Arg): Arg => {
    if (typeof arg === 'string') return change(arg);
    if (typeof arg === 'number') return arg;
    return isSays(arg) ? retold(arg, change) : arg.map((says) => retold(says, change));
  };
  return { id, args: Object.fromEntries(Object.entries(args).map(([name, arg]) => [name, of(arg)])) };
}
