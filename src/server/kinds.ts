/** Routes of kinds of engine and the pool. Listed in docs/http-api.md. */
import { Router } from 'express';
import { z } from 'zod';
import type { KindsApi } from '../desk/kinds-api.ts';
import { QUESTION_NAMES } from '../pool/questions.ts';
import { checked, goneSignal } from './requests.ts';

const kind = z.string().min(1).max(300);
const change = z.discriminatedUnion('is', [
  z.strictObject({ is: z.literal('merge'), from: kind, into: kind }),
  z.strictObject({
    is: z.literal('split'),
    from: kind,
    descriptor: z.string().min(1).max(20),
    engine: z.string().trim().min(1).max(200),
  }),
  z.strictObject({ is: z.literal('undo') }),
  z.strictObject({ is: z.literal('redo') }),
]);
const question = z.strictObject({
  question: z.enum(QUESTION_NAMES),
  kind: z.string().max(300).default(''),
  job: z
    .string()
    .regex(/^([a-z0-9][a-z0-9-]{0,79})?$/, 'small letters, digits and - only')
    .default(''),
});

/** To be mounted on /api, behind the guards and the JSON parser. */
export function kindRoutes(kinds: KindsApi): Router {
  const routes = Router({ caseSensitive: true });
  routes.get('/kinds', async (_req, res) => void res.json(await kinds.view()));
  routes.post('/kinds', async (req, res) => {
    res.json(await kinds.change(checked(change, req.body, '')));
  });
  routes.get('/pool/ask', async (req, res) => {
    res.json(await kinds.ask(checked(question, req.query, ''), goneSignal(res)));
  });
  return routes;
}
