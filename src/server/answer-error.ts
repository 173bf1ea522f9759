/** What a page is told when a request cannot be answered: a sentence and what to try, nothing of this computer's folders. */

import type { ErrorRequestHandler, Response } from 'express';
import { saying } from '../core/error-says.ts';
import { type ErrorCode, HandbackError, isFull, toldOf } from '../core/errors.ts';
import { isSays, retold } from '../core/says.ts';

const HTTP_STATUS: Partial<Record<ErrorCode, number>> = {
  'library.path': 404,
  'library.read-only': 409,
  'run.busy': 409,
  'link.busy': 409,
  'gate.refused': 403,
  'run.write': 507,
  internal: 500,
};

function statusOf(code: ErrorCode): number {
  const layer = code.split('.')[0];
  return HTTP_STATUS[code] ?? (layer === 'input' ? 400 : 502);
}

/** @param onError told of what is no fault of the request */
export function answerError(onError?: (error: unknown) => void): ErrorRequestHandler {
  return (error: unknown, _req, res, next) => {
    if (res.closed) return; // given up by the asker
    if (res.headersSent) return void next(error);
    if (error instanceof HandbackError) return answer(res, statusOf(error.code), error);
    const status = (error as { status?: unknown } | null)?.status;
    if (typeof status === 'number' && status >= 400 && status < 500) {
      const { limit } = error as { limit?: unknown };
      const text =
        status === 413 && typeof limit === 'number'
          ? saying('request.large', { most: sizeOf(limit) })
          : saying('request.unreadable');
      return answer(res, status, new HandbackError('input.usage', text));
    }
    if (isFull(error))
      return answer(
        res,
        507,
        new HandbackError('run.write', saying('error.disk-full', { why: toldOf(error) }), { cause: error }),
      );
    onError?.(error);
    res.status(500).json({
      error: 'Something went wrong inside Handback.',
      hint: 'What was recorded so far is kept. Try again; if it stays, restart Handback.',
    });
  };
}

function answer(res: Response, status: number, error: HandbackError): void {
  res.status(status).json(refusalOf(error));
}

/** What a page is told of it. */
export function refusalOf({ message, hint, told }: HandbackError): object {
  const says = {
    ...(isSays(told.message) ? { error: retold(told.message, withoutFolders) } : {}),
    ...(isSays(told.hint) ? { hint: retold(told.hint, withoutFolders) } : {}),
  };
  return {
    error: withoutFolders(message),
    hint: hint && withoutFolders(hint),
    ...(Object.keys(says).length > 0 ? { says } : {}),
  };
}

function sizeOf(bytes: number): string {
  const mb = bytes / 2 ** 20;
  return mb >= 1 ? `${Math.round(mb)} MB` : `${Math.round(bytes / 1024)} kB`;
}

/** Ports keep their name, everything else loses its folders: a page has no business with them. */
function withoutFolders(text: string): string {
  return text.replace(/(?<![\w/])(?!\/dev\/)(?:[A-Za-z]:)?(?:[\\/][^\s\\/:'"]+)+[\\/]([^\s\\/:'"]+)/g, '$1');
}
