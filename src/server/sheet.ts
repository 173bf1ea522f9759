/** Routes of the hand-over sheet: HTML to look at and print, or PDF. Listed in docs/http-api.md. */

import { randomBytes } from 'node:crypto';
import { type Request, type Response, Router } from 'express';
import { LRUCache } from 'lru-cache';
import { z } from 'zod';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { LANGUAGE_IDS } from '../core/languages.ts';
import type { SheetRequest } from '../desk/stored-runs.ts';
import { type SheetChoice, unitsIn } from '../sheet/choices.ts';
import { printPdf } from '../sheet/pdf.ts';
import { SHEET_POLICY } from '../sheet/policy.ts';
import { HIDDEN, SHOWN } from '../sheet/types.ts';
import { checked, goneSignal } from './requests.ts';

/** What the routes need; rejects with a HandbackError that carries a sentence. */
export interface SheetsApi {
  /** As HTML, UTF-8. */
  sheet(asked: SheetRequest, signal?: AbortSignal): Promise<Uint8Array>;
  /** Another one when what it is made from has changed since. */
  sheetStamp(of: SheetRequest['of']): Promise<string>;
}

/** Each print starts a browser: one at a time, and no long line of them. */
const MOST_WAITING = 4;
/** A sheet that was made waits so long to be fetched; then, or when the job has changed, it is made again. Chosen by hand. */
const KEPT_MS = 120_000;
const MOST_SHEETS = 4;

const id = z.string().regex(/^[A-Za-z0-9][A-Za-z0-9_-]{0,127}$/, 'letters, digits, _ and - only');
const query = z.object({
  as: z.enum(['html', 'pdf']).default('html'),
  lang: z.enum(LANGUAGE_IDS).optional(),
  units: z.string().max(60).optional(),
  hide: z.string().max(60).optional(),
  show: z.enum(SHOWN).optional(),
  paper: z.enum(['A4', 'Letter']).optional(),
  /** What the making of it answered. */
  made: z.string().max(40).optional(),
});
type Query = z.output<typeof query>;

/** To be mounted on /api. @param print for tests: prints without a browser */
export function sheetRoutes(sheets: SheetsApi, print: typeof printPdf = printPdf): Router {
  const routes = Router({ caseSensitive: true });
  const press = new Press(print);
  const kept = new LRUCache<string, Made>({ max: MOST_SHEETS, ttl: KEPT_MS });
  for (const [path, of] of [
    ['/jobs/:id/sheet', (job: string) => ({ job })],
    ['/runs/:id/sheet', (run: string) => ({ run })],
  ] as const) {
    routes.post(path, async (req, res) => {
      const made = randomBytes(16).toString('hex');
      kept.set(made, await make(req, res, of));
      res.json({ made });
    });
    routes.get(path, async (req, res) => {
      const before = kept.get(String(req.query.made));
      const isStill =
        before?.url === urlOf(req) && before.stamp === (await sheets.sheetStamp(of(before.name)));
      send(res, isStill ? before : await make(req, res, of));
    });
  }
  return routes;

  async function make(req: Request, res: Response, of: (name: string) => SheetRequest['of']): Promise<Made> {
    const name = checked(id, req.params.id, 'id');
    const asked = checked(query, req.query, '');
    const pdf = asked.as === 'pdf';
    const gone = goneSignal(res);
    // Before it is made: what changes meanwhile may be missing in it.
    const stamp = await sheets.sheetStamp(of(name));
    const sheet = await sheets.sheet({ of: of(name), choice: choiceOf(asked), pdf }, gone);
    gone.throwIfAborted();
    return { url: urlOf(req), stamp, name, pdf, bytes: pdf ? await press.print(sheet) : sheet };
  }
}

interface Made {
  readonly url: string;
  readonly stamp: string;
  readonly name: string;
  readonly pdf: boolean;
  readonly bytes: Uint8Array;
}

/** Of the same sheet, made by POST or asked for by GET. */
const urlOf = ({ originalUrl }: Request): string => originalUrl.replace(/[?&]made=\w*$/, '');

function send(res: Response, { name, pdf, bytes }: Made): void {
  const body = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length);
  if (pdf) {
    res.set('content-disposition', `inline; filename="hand-over-${name}.pdf"`);
    res.type('application/pdf').send(body);
    return;
  }
  // The sheet brings its own style, which the page's policy would refuse; it brings no script.
  res.set(
    'content-security-policy',
    `${SHEET_POLICY}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'`,
  );
  res.type('html').send(body);
}

function choiceOf(asked: Query): SheetChoice {
  const hide = asked.hide === undefined || asked.hide === '' ? [] : asked.hide.split(',');
  return {
    ...(asked.lang === undefined ? {} : { lang: asked.lang }),
    ...(asked.units === undefined ? {} : { units: unitsIn(asked.units) }),
    ...(asked.paper === undefined ? {} : { paper: asked.paper }),
    show: asked.show === undefined ? [] : [asked.show],
    hide: hide.map((h) => checked(z.enum(HIDDEN), h.trim(), 'hide')),
  };
}

class Press {
  readonly #print: typeof printPdf;
  #waiting = 0;
  #last: Promise<unknown> = Promise.resolve();

  constructor(print: typeof printPdf) {
    this.#print = print;
  }

  /** @throws HandbackError run.busy when too many wait already, and as printPdf */
  async print(sheet: Uint8Array): Promise<Uint8Array> {
    if (this.#waiting >= MOST_WAITING)
      throw new HandbackError('run.busy', saying('error.printing'), {
        hint: saying('error.printing-hint'),
      });
    this.#waiting++;
    const mine = this.#last.catch(() => undefined).then(() => this.#print(sheet));
    this.#last = mine;
    try {
      return await mine;
    } finally {
      this.#waiting--;
    }
  }
}
