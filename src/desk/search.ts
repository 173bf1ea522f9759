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
const PURPOSE: readonly (readonly [RegExp, Says])[] = [
  [/^Q+$/, saying('asked.anybody')],
  [/^ATI/, saying('asked.adapter')],
  [/^AT(WS|Z|D)$/, saying('asked.afresh')],
  [/^ATRV/, saying('asked.voltage')],
  [/^ATDPN/, saying('asked.bus')],
  [/^AT(SP|TP)/, saying('asked.look')],
  [/^AT/, saying('asked.settings')],
  [/^(?:01|22F4)/, saying('asked.values')],
  [/^(?:09|22F8)/, saying('asked.vin')],
  [/^C$/, saying('asked.close')],
  [/^V$/, saying('asked.version')],
  [/^S\d$/, saying('asked.rate')],
  [/^L$/, saying('asked.listen')],
  [/^O$/, saying('asked.open')],
  [/^[tT].*(?:0209|0322F8)/, saying('asked.vin')],
  [/^[tT]/, saying('asked.values')],
];
const TO_THE_CAR = /^(0[19]|22|[tT]|L$|O$)/;

export class SearchLog {
  readonly #tries: { what: string; sent: Says | null; heard: string; result: string | null }[] = [];
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
    const tries = this.#tries.map((t): SearchTry => spelled({ ...t, heard: t.heard.trim() || null }));
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
