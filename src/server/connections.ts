/**
 * Room among the connections: one that has never asked anything makes room for a new one, the oldest first, and one
 * that sends too slowly is closed. So whoever only holds connections open shuts nobody out.
 */
import type { IncomingMessage, Server, ServerResponse } from 'node:http';
import type { Socket } from 'node:net';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { refusalOf } from './answer-error.ts';

/** Twice as many as the pages that may be open, with room for their requests. */
const MAX_CONNECTIONS = 256;
/** Beyond it the system closes them at once. */
const HARD_LIMIT = 2 * MAX_CONNECTIONS;

export function makeRoom(server: Server): void {
  server.maxConnections = HARD_LIMIT;
  const open = new Set<Socket>();
  const silent = new Set<Socket>();
  server.on('connection', (socket: Socket) => {
    open.add(socket);
    silent.add(socket);
    socket.once('close', () => {
      open.delete(socket);
      silent.delete(socket);
    });
    if (open.size <= MAX_CONNECTIONS) return;
    const [oldest] = silent;
    (oldest ?? socket).destroy();
  });
  server.on('request', (req) => silent.delete(req.socket));
}

/** A body may take so long at whatever pace, and longer while it keeps the pace of a phone's poor line. Chosen by hand. */
const BODY_MS = 20_000;
const LEAST_BYTES_A_SECOND = 16_000;
const LOOK_MS = 5000;

/** A large photo over a weak network comes in; one that dribbles, or is sent on after it was refused, is cut. */
export function cutSlowBodies(server: Server, clock: Clock): void {
  server.on('request', (req, res) => {
    if (req.headers['content-length'] === undefined && req.headers['transfer-encoding'] === undefined) return;
    const fromUs = clock.nowUs();
    const before = req.socket.bytesRead;
    const look = (): void => {
      if (req.complete) return;
      const seconds = (clock.nowUs() - fromUs) / 1e6;
      const dribbles = req.socket.bytesRead - before < seconds * LEAST_BYTES_A_SECOND;
      if (seconds * 1000 >= BODY_MS && (dribbles || res.writableEnded)) tooSlow(req, res);
      else timer = clock.after(LOOK_MS, look);
    };
    let timer = clock.after(LOOK_MS, look);
    req.once('close', () => timer.cancel());
  });
}

function tooSlow({ socket }: IncomingMessage, res: ServerResponse): void {
  if (res.headersSent) return void socket.destroy();
  const error = new HandbackError('input.usage', saying('request.slow'), {
    hint: saying('request.slow-hint'),
  });
  res.writeHead(408, { 'content-type': 'application/json; charset=utf-8', connection: 'close' });
  res.end(JSON.stringify(refusalOf(error)), () => socket.destroy());
}
