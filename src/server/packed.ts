/**
 * What is large goes to other devices as gzip (RFC 9110 §8.4.1.3), because it goes over whatever radio there is: script
 * and words are then a third, curves a third, what was found a quarter. The computer itself needs none of it.
 */
import { readFile } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { gzip } from 'node:zlib';
import type { RequestHandler } from 'express';

/** Less goes in one packet anyway (RFC 894: 1500 bytes, with what stands before). */
const WORTH_BYTES = 1500;
const TEXT = /json|javascript|text|svg/;

/** Packs what `res.send` and `res.json` are given. */
export const packed: RequestHandler = (req, res, next) => {
  res.vary('accept-encoding');
  if (req.method === 'HEAD' || !req.acceptsEncodings('gzip')) return void next();
  const plain = res.send.bind(res);
  res.send = (body: unknown) => {
    const bytes = typeof body === 'string' ? Buffer.from(body) : body;
    if (!Buffer.isBuffer(bytes) || bytes.length < WORTH_BYTES || !TEXT.test(res.get('content-type') ?? ''))
      return plain(body);
    gzip(bytes, (error, small) => {
      if (error) return void plain(bytes);
      res.set('content-encoding', 'gzip');
      plain(small);
    });
    return res;
  };
  next();
};

/** Built files are sent whole, so that they are packed; what is not there goes on to the next. */
export function wholeFiles(folder: string, cacheControl: string): RequestHandler {
  return async (req, res, next) => {
    const file = basename(req.path);
    const bytes = await readFile(join(folder, file)).catch(() => null);
    if (bytes === null) return void next();
    res
      .set('cache-control', cacheControl)
      .type(file.slice(file.lastIndexOf('.')))
      .send(bytes);
  };
}
