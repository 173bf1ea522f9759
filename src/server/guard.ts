/** Who may talk to the server: the page it served itself, on the names it listens on, with the token if there is one. */
import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';
import { isIP } from 'node:net';
import { hostname } from 'node:os';
import type { Request, RequestHandler } from 'express';
import type { Clock } from '../core/clock.ts';

const COOKIE = 'handback';
const INVITE_S = 600;
const MAX_INVITES = 20;

export function isLoopback(host: string): boolean {
  return host === 'localhost' || host === '::1' || /^127(\.\d{1,3}){3}$/.test(host);
}

/**
 * Refuses a foreign Host (a name that someone else may point here, RFC 9110 §7.2) and a foreign Origin (RFC 6454).
 * Away from loopback the token is what protects; names are still limited to addresses and this machine's own name.
 */
export function sameHost(listenHost: string): RequestHandler {
  const loopback = isLoopback(listenHost);
  const machine = hostname().toLowerCase();
  const own = [listenHost.toLowerCase(), machine, `${machine}.local`, 'localhost'];
  return (req, res, next) => {
    // two Host lines: which of them counts is anybody's guess
    const hosts = req.rawHeaders.filter((h, i) => i % 2 === 0 && h.toLowerCase() === 'host');
    const name = hosts.length === 1 ? hostName(req.headers.host ?? '') : null;
    const known = loopback
      ? name !== null && isLoopback(name)
      : name !== null && (isIP(name) > 0 || own.includes(name));
    if (!known) return void refuse(res, 403, 'This address is not one that Handback answers to.');
    const { origin } = req.headers;
    if (origin !== undefined && origin !== `http://${req.headers.host}`)
      return void refuse(res, 403, 'Another web page tried to use Handback; refused.');
    if (req.headers['sec-fetch-site'] === 'cross-site' && /^\/api(\/|$)/i.test(req.path))
      return void refuse(res, 403, 'Another web page tried to use Handback; refused.');
    next();
  };
}

/**
 * The page that was served here, as the browser says. It says so on the loopback only (W3C Fetch Metadata: on
 * trustworthy addresses); elsewhere whoever has the token counts.
 */
export function isOwnPage(req: Request, listenHost: string): boolean {
  return !isLoopback(listenHost) || req.headers['sec-fetch-site'] === 'same-origin';
}

/** JSON everywhere; photos and archives where a route takes them. */
const BODIES = ['application/json', 'image/jpeg', 'image/png', 'image/webp', 'application/zip'];

/** State-changing calls carry a header that a foreign page cannot set without asking, and a body of a known kind. */
export const deliberate: RequestHandler = (req, res, next) => {
  if (req.method === 'GET' || req.method === 'HEAD') return void next();
  if (req.headers['x-handback'] !== '1') return void refuse(res, 403, 'The header x-handback: 1 is missing.');
  if (!req.is(BODIES))
    return void refuse(res, 415, 'The request must carry JSON (content type application/json).');
  next();
};

/**
 * One-time codes that let one more device in: shown as a QR code on a page that is in already, used up by the first
 * who opens it, void after ten minutes. So a photograph of the screen is worth nothing later.
 */
export class Invites {
  readonly #clock: Clock;
  #open: { readonly code: string; readonly untilUs: number }[] = [];

  constructor(clock: Clock) {
    this.#clock = clock;
  }

  make(): { readonly code: string; readonly validS: number } {
    const code = randomBytes(16).toString('hex');
    this.#open.push({ code, untilUs: this.#clock.nowUs() + INVITE_S * 1e6 });
    if (this.#open.length > MAX_INVITES) this.#open.shift();
    return { code, validS: INVITE_S };
  }

  take(given: string): boolean {
    const nowUs = this.#clock.nowUs();
    const before = this.#open.filter((i) => i.untilUs > nowUs);
    this.#open = before.filter((i) => !same(i.code, given));
    return this.#open.length < before.length;
  }
}

/** Token or invitation in the query of a page that is opened, from then on a cookie; or in the header x-handback-token. */
export function tokenNeeded(token: string, invites: Invites): RequestHandler {
  return (req, res, next) => {
    const asked = req.query.token;
    if (req.method === 'GET' && typeof asked === 'string' && (same(asked, token) || invites.take(asked))) {
      res.cookie(COOKIE, token, { httpOnly: true, sameSite: 'strict', path: '/' });
      return void res.redirect(303, '/');
    }
    const given = req.headers['x-handback-token'] ?? cookieOf(req);
    if (typeof given === 'string' && same(given, token)) return void next();
    refuse(res, 401, 'This needs the token.', 'Open the address exactly as Handback printed it.');
  };
}

function refuse(
  res: Parameters<RequestHandler>[1],
  status: number,
  error: string,
  hint: string | null = null,
) {
  res.status(status).json({ error, hint });
}

/** The name in a Host header without the port; null when it is not one. */
function hostName(header: string): string | null {
  const m = /^(?:\[([0-9a-fA-F:.]+)\]|([A-Za-z0-9.-]+))(?::\d{1,5})?$/.exec(header);
  return (m?.[1] ?? m?.[2])?.toLowerCase() ?? null;
}

function cookieOf(req: Request): string | null {
  for (const part of (req.headers.cookie ?? '').split(';')) {
    const [name, value] = part.trim().split('=', 2);
    if (name === COOKIE && value !== undefined) return decodeSafely(value);
  }
  return null;
}

function decodeSafely(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

/** Compares in constant time, whatever the lengths. */
function same(a: string, b: string): boolean {
  const digest = (text: string) => createHash('sha256').update(text).digest();
  return timingSafeEqual(digest(a), digest(b));
}
