/** Every statement that a room below the faces can make, and its args. A new room adds its interface here. */
import type { Says } from '../core/says.ts';

interface CommonSays {
  /** Several statements one after the other. */
  'in-turn': { parts: readonly Says[] };
  /** Somebody's own words, shown as they are. */
  text: { text: string };
}

export type Statements = CommonSays;

/** A language: one message in Unicode MessageFormat 2 for each statement. */
export type Messages<Room> = { readonly [Id in keyof Room]: string };

/** Names of the variables that a message uses. */
type Variables<Text extends string> = Text extends `${string}$${infer Rest}`
  ? Rest extends `${infer Before} ${infer After}`
    ? (Before extends `${infer Name}}${string}` ? Name : Before) | Variables<After>
    : Rest extends `${infer Name}}${string}`
      ? Name
      : never
  : never;

/** `never` where every message uses only args that its statement has; else the ids of those that do not. */
export type Unfounded<Room, Texts extends Messages<Room>> = {
  [Id in keyof Room & keyof Texts]: Variables<Texts[Id] & string> extends keyof Room[Id] & string
    ? never
    : Id;
}[keyof Room & keyof Texts];
