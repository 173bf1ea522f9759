/** Every statement that a room below the faces can make, and its args. A new room adds its interface here. */
import type { BoostSays } from '../analysis/boost/says.ts';
import type { CoolantSays } from '../analysis/coolant/says.ts';
import type { VehicleSays } from '../analysis/detectors.ts';
import type { LegSays } from '../analysis/leg-says.ts';
import type { CompareSays } from '../compare/says.ts';
import type { CheckSays } from '../core/check-says.ts';
import type { ErrorSays } from '../core/error-says.ts';
import type { Arg, Says } from '../core/says.ts';
import type { VisitSays } from '../core/visit-says.ts';
import type { WireSays } from '../core/wire-says.ts';
import type { names } from './en/names.ts';
import type { namesMore } from './en/names-more.ts';

interface CommonSays {
  /** Several statements one after the other. */
  'in-turn': { parts: readonly Says[] };
  /** Several statements as a list. */
  listed: { parts: readonly Says[] };
  /** Somebody's own words, shown as they are. */
  text: { text: string };
}

export type Statements = CommonSays &
  Labels<typeof names & typeof namesMore> &
  BoostSays &
  CheckSays &
  CompareSays &
  CoolantSays &
  ErrorSays &
  LegSays &
  VehicleSays &
  VisitSays &
  WireSays;

/** A language: one message in Unicode MessageFormat 2 for each statement. */
export type Messages<Room> = { readonly [Id in keyof Room]: string };

/** The text up to what ends a name. */
type Name<Text extends string> = Text extends `${infer Before} ${string}`
  ? Name<Before>
  : Text extends `${infer Before}}${string}`
    ? Name<Before>
    : Text extends `${infer Before}\n${string}`
      ? Name<Before>
      : Text;

/** Names of the variables that a message uses. */
export type Variables<Text extends string> = Text extends `${string}$${infer Rest}`
  ? Name<Rest> | Variables<Rest>
  : never;

/** Words of a face itself, headings and labels: each asks for the args that its English message uses. */
export type Labels<Texts extends Readonly<Record<string, string>>> = {
  readonly [Id in keyof Texts]: { readonly [Name in Variables<Texts[Id]>]: Arg };
};

/** `never` where every message uses only args that its statement has; else the ids of those that do not. */
export type Unfounded<Room, Texts extends Messages<Room>> = {
  [Id in keyof Room & keyof Texts]: Variables<Texts[Id] & string> extends keyof Room[Id] & string
    ? never
    : Id;
}[keyof Room & keyof Texts];

/** The same for labels against another language's: ids that use variables which the other's message has not. */
export type Foreign<Own, Texts> = {
  [Id in keyof Own & keyof Texts]: Variables<Texts[Id] & string> extends Variables<Own[Id] & string>
    ? never
    : Id;
}[keyof Own & keyof Texts];
