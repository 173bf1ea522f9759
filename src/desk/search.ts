/** The search for a car as it is seen from outside: each try in plain words, how far it got, and why it ended. */

import type { WireEvent } from '../adapter/adapter.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { spelled } from '../words/spelled.ts';
import type { SearchStage, SearchTry, SearchView } from './api.ts';

/** A search makes about twenty tries; reopening within one connection makes no more. */
const MAX_TRIES = 60;
const MAX_HEARD = 60;

/** What the commands of both dialects are for, the first that fits (docs/adapters.md lists them all). */
const PURPOSE: readonly (readonly [RegExp, string])[] = [
  [/^Q+$/, 'is anybody there, is there an echo'],
  [/^ATI/, 'who are you (ATI)'],
  [/^AT(WS|Z|D)$/, 'start afresh'],
  [/^ATRV/, 'what voltage is at the connector'],
  [/^ATDPN/, 'which bus did you find'],
  [/^AT(SP|TP)/, 'look for the bus'],
  [/^AT/, 'settings'],
  [/^01/, 'to the car: which values do you offer (01 00)'],
  [/^09/, 'to the car: who are you (service 09)'],
  [/^C$/, 'close the channel'],
  [/^V$/, 'which version are you (V)'],
  [/^S\d$/, 'set the speed of the bus'],
  [/^L$/, 'listen whether the bus is alive'],
  [/^O$/, 'open the channel'],
  [/^[tT].*0209/, 'to the car: who are you (service 09)'],
  [/^[tT]/, 'to the car: which values do you offer (01 00)'],
];
const TO_THE_CAR = /^(0[19]|[tT]|L$|O$)/;

export class SearchLog {
  readonly #tries: { what: string; sent: string | null; heard: string; result: string | null }[] = [];
  #stage: SearchStage = 'port';
  #failed: { readonly sentence: Says; readonly hint: Says | null } | null = null;

  event(event: WireEvent): void {
    const now = this.#tries.at(-1);
    if (event.kind === 'link' && event.state === 'opened') {
      if (this.#tries.length === MAX_TRIES) this.#tries.shift();
      this.#tries.push({ what: event.text, sent: null, heard: '', result: null });
      this.#stage = 'adapter';
    } else if (event.kind === 'link' && now) {
      now.result = event.text;
      if (event.state === 'identified') this.#stage = 'values';
    } else if (event.kind === 'tx' && now) {
      const text = printable(event.bytes).trim();
      const purpose = PURPOSE.find(([pattern]) => pattern.test(text))?.[1];
      if (!purpose) return;
      now.sent = purpose;
      now.heard = '';
      if (this.#stage === 'adapter' && TO_THE_CAR.test(text)) this.#stage = 'vehicle';
    } else if (event.kind === 'rx' && now)
      now.heard = (now.heard + printable(event.bytes)).slice(0, MAX_HEARD);
  }

  ended(thrown: unknown): void {
    const known = thrown instanceof HandbackError ? thrown : null;
    // What stands in the list of tries need not stand in the sentence.
    this.#failed = { sentence: short(toldOf(thrown)), hint: known?.told.hint ?? null };
    const layer = known?.code.split('.')[0];
    if (layer === 'link' && known?.code !== 'link.lost') this.#stage = 'port';
    else if (layer === 'adapter') this.#stage = 'adapter';
    else if (layer === 'vehicle') this.#stage = 'vehicle';
  }

  view(): SearchView {
    const tries = this.#tries.map((t): SearchTry => ({ ...t, heard: t.heard.trim() || null }));
    return { stage: this.#stage, failed: this.#failed && spelled(this.#failed), tries };
  }
}

function short(told: Says): Says {
  const link = String(told.args.link);
  if (told.id === 'error.no-adapter') return saying('error.no-adapter-short', { link });
  return told.id === 'error.silent' ? saying('error.silent-short', { link }) : told;
}

/** Line ends as spaces, anything else that cannot be read as a dot. */
function printable(bytes: Uint8Array): string {
  let text = '';
  for (const b of bytes.subarray(0, 200))
    text += b === 13 || b === 10 ? ' ' : b >= 32 && b < 127 ? String.fromCharCode(b) : '·';
  return text;
}
