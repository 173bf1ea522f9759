/** Routes of the program itself, for the page on this computer only. Listed in docs/http-api.md. */
import { type Request, type RequestHandler, Router } from 'express';
import { z } from 'zod';
import type { HouseApi } from '../desk/house-api.ts';
import { checked } from './requests.ts';

const quitBody = z.strictObject({ endRecording: z.boolean() });
const libraryBody = z.strictObject({
  folder: z
    .string()
    .min(1)
    .max(4096)
    .regex(/^[^\x00-\x1f\x7f]+$/, 'no control characters'),
});

/** To be mounted on /api, behind the guards and the JSON parser. Without a house, nobody is offered anything. */
export function houseRoutes(house: HouseApi | undefined): Router {
  const routes = Router({ caseSensitive: true });
  // Asked by every page: "nothing for you" is an answer, no failure.
  routes.get('/house', (req, res) => void res.json(house && isHere(req) ? house.view() : null));
  if (!house) return routes;
  routes.get('/house/licences', fromHere, async (_req, res) => {
    const text = await house.licences();
    if (text === null) return void res.status(404).json({ error: 'There is nothing here.', hint: null });
    res.type('text/plain; charset=utf-8').send(text);
  });
  routes.get('/house/report', fromHere, async (_req, res) => {
    res.type('text/plain; charset=utf-8').send(await house.report());
  });
  routes.post('/house/library', fromHere, async (req, res) => {
    res.json(await house.chooseLibrary(checked(libraryBody, req.body, '').folder));
  });
  routes.post('/house/quit', fromHere, async (req, res) => {
    const { endRecording } = checked(quitBody, req.body, '');
    await house.quit(endRecording);
    res.json({});
  });
  return routes;
}

/** A phone that was let in may watch and mark; folders and the end of the program are for who sits here. */
const isHere = (req: Request): boolean =>
  /^(::1|(::ffff:)?127(\.\d{1,3}){3})$/.test(req.socket.remoteAddress ?? '');

const fromHere: RequestHandler = (req, res, next) => {
  if (isHere(req)) return void next();
  res.status(403).json({ error: 'Only the page on the computer itself may do this.', hint: null });
};
