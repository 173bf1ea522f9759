/**
 * Room among the connections: one that has never asked anything makes room for a new one, the oldest first. So
 * whoever only holds connections open shuts nobody out.
 */
import type { Server } from 'node:http';
import type { Socket } from 'node:net';

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
