/** Attacks on a running server, each with the answer it must get; the list is printed in docs/security.md's sister table. */
import { connect } from 'node:net';
import { PATIENCE_MS } from '../patience.ts';

export interface Attack {
  readonly what: string;
  /** Raw bytes of the request; `HOST` stands for the server's own host and port. */
  readonly raw: string;
  /** What the status line must hold; null: the connection must be closed without an answer. */
  readonly expected: RegExp;
}

const own = 'Host: HOST\r\n';
const end = 'Connection: close\r\n\r\n';
const json = (body: string, headers = 'x-handback: 1\r\n'): string =>
  `${headers}Content-Type: application/json\r\nContent-Length: ${Buffer.byteLength(body, 'latin1')}\r\n${end}${body}`;

export const ATTACKS: readonly Attack[] = [
  {
    what: 'a foreign name pointed at this computer (DNS rebinding)',
    raw: `GET /api/state HTTP/1.1\r\nHost: evil.example\r\n${end}`,
    expected: /403/,
  },
  {
    what: 'the same for the page itself',
    raw: `GET / HTTP/1.1\r\nHost: evil.example:80\r\n${end}`,
    expected: /403/,
  },
  { what: 'no Host at all', raw: `GET /api/state HTTP/1.1\r\n${end}`, expected: /400|403/ },
  { what: 'no Host at all, HTTP/1.0', raw: 'GET /api/state HTTP/1.0\r\n\r\n', expected: /400|403/ },
  {
    what: 'two Hosts',
    raw: `GET /api/state HTTP/1.1\r\n${own}Host: evil.example\r\n${end}`,
    expected: /400|403/,
  },
  {
    what: 'a whole foreign address as request target',
    raw: `GET http://evil.example/api/state HTTP/1.1\r\nHost: evil.example\r\n${end}`,
    expected: /403/,
  },
  {
    what: 'another page posts (foreign Origin)',
    raw: `POST /api/connect HTTP/1.1\r\n${own}Origin: http://evil.example\r\n${json('{"link":"sim"}')}`,
    expected: /403/,
  },
  {
    what: 'a sandboxed page posts (Origin null)',
    raw: `POST /api/connect HTTP/1.1\r\n${own}Origin: null\r\n${json('{"link":"sim"}')}`,
    expected: /403/,
  },
  {
    what: 'another server of this computer posts (other port)',
    raw: `POST /api/connect HTTP/1.1\r\n${own}Origin: http://127.0.0.1:1\r\n${json('{"link":"sim"}')}`,
    expected: /403/,
  },
  {
    what: 'a form of another page posts (no header, plain text)',
    raw: `POST /api/connect HTTP/1.1\r\n${own}Content-Type: text/plain\r\nContent-Length: 14\r\n${end}{"link":"sim"}`,
    expected: /403/,
  },
  {
    what: 'a form with the header, but no JSON type',
    raw: `POST /api/connect HTTP/1.1\r\n${own}x-handback: 1\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: 8\r\n${end}link=sim`,
    expected: /415/,
  },
  {
    what: 'another page opens the stream (cross-site fetch)',
    raw: `GET /api/stream HTTP/1.1\r\n${own}Sec-Fetch-Site: cross-site\r\n${end}`,
    expected: /403/,
  },
  {
    what: 'a preflight from another page',
    raw: `OPTIONS /api/connect HTTP/1.1\r\n${own}Origin: http://evil.example\r\nAccess-Control-Request-Method: POST\r\n${end}`,
    expected: /403/,
  },
  {
    what: 'a body of 200 kB',
    raw: `POST /api/run HTTP/1.1\r\n${own}${json(`{"purpose":"other","complaint":"${'x'.repeat(200_000)}"}`)}`,
    expected: /413/,
  },
  {
    what: 'JSON nested ten thousand deep',
    raw: `POST /api/run HTTP/1.1\r\n${own}${json('['.repeat(10_000) + ']'.repeat(10_000))}`,
    expected: /400/,
  },
  {
    what: 'keys named __proto__ and constructor',
    raw: `POST /api/run HTTP/1.1\r\n${own}${json('{"purpose":"other","__proto__":{"admin":1},"constructor":{"prototype":{}}}')}`,
    expected: /400/,
  },
  {
    what: 'a request for a service that clears or codes',
    raw: `POST /api/request HTTP/1.1\r\n${own}${json('{"payload":"04"}')}`,
    expected: /404/,
  },
  {
    what: 'a body that is not UTF-8',
    raw: `POST /api/marks HTTP/1.1\r\n${own}${json('{"key":"N","text":"\u00ff\u00fe"}')}`,
    expected: /400|409|200/,
  },
  {
    what: 'a link name with control characters',
    raw: `POST /api/connect HTTP/1.1\r\n${own}${json('{"link":"sim\\u001b[2J"}')}`,
    expected: /400/,
  },
  {
    what: 'a run outside the library (..)',
    raw: `GET /api/runs/..%2f..%2f..%2fetc%2fpasswd HTTP/1.1\r\n${own}${end}`,
    expected: /400/,
  },
  {
    what: 'a run outside, doubly encoded',
    raw: `GET /api/runs/%252e%252e%252fetc HTTP/1.1\r\n${own}${end}`,
    expected: /400/,
  },
  {
    what: 'a run outside, with other Unicode dots',
    raw: `GET /api/runs/%e2%80%a5%2fetc HTTP/1.1\r\n${own}${end}`,
    expected: /400/,
  },
  {
    what: 'a run name of 10,000 characters',
    raw: `GET /api/runs/${'a'.repeat(10_000)} HTTP/1.1\r\n${own}${end}`,
    expected: /400|414|431/,
  },
  {
    what: 'a file outside the page (..)',
    raw: `GET /../../../../etc/passwd HTTP/1.1\r\n${own}${end}`,
    expected: /40[034]/,
  },
  {
    what: 'a file outside the page, encoded',
    raw: `GET /assets/..%2f..%2f..%2fetc%2fpasswd HTTP/1.1\r\n${own}${end}`,
    expected: /40[034]/,
  },
  { what: 'a NUL in the path', raw: `GET /index.html%00.js HTTP/1.1\r\n${own}${end}`, expected: /40[04]/ },
  {
    what: 'an answer split by line ends in the query',
    raw: `GET /?token=a%0d%0aSet-Cookie:x=1 HTTP/1.1\r\n${own}${end}`,
    expected: /200|40[0134]/,
  },
  {
    what: 'the series with a million million points',
    raw: `GET /api/run/series?points=1000000000000 HTTP/1.1\r\n${own}${end}`,
    expected: /400/,
  },
  {
    what: 'a query key twice',
    raw: `GET /api/run/series?points=10&points=20 HTTP/1.1\r\n${own}${end}`,
    expected: /400/,
  },
  {
    what: 'headers of 100 kB',
    raw: `GET / HTTP/1.1\r\n${own}X: ${'y'.repeat(100_000)}\r\n${end}`,
    expected: /431|^$/,
  },
  {
    what: 'both Content-Length and chunked (request smuggling)',
    raw: `POST /api/connect HTTP/1.1\r\n${own}x-handback: 1\r\nContent-Type: application/json\r\nContent-Length: 2\r\nTransfer-Encoding: chunked\r\n${end}2\r\n{}\r\n0\r\n\r\n`,
    expected: /400/,
  },
  { what: 'no HTTP at all', raw: '\u0016\u0003\u0001 hello\r\n\r\n', expected: /400|^$/ },
  {
    what: 'CONNECT to another host through it',
    raw: `CONNECT evil.example:443 HTTP/1.1\r\nHost: evil.example:443\r\n\r\n`,
    expected: /^$|40[035]/,
  },
  {
    what: 'an upgrade to another protocol',
    raw: `GET /api/stream HTTP/1.1\r\nHost: evil.example\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n\r\n`,
    expected: /40[03]|^$/,
  },
];

export interface AttackAnswer {
  readonly what: string;
  /** The status line, or "closed without an answer". */
  readonly answer: string;
  readonly held: boolean;
  /** The whole answer, for looking for paths and stacks. */
  readonly whole: string;
}

export async function attack(host: string, port: number): Promise<AttackAnswer[]> {
  const answers: AttackAnswer[] = [];
  for (const a of ATTACKS) {
    const whole = await exchange(host, port, a.raw.replaceAll('HOST', `${host}:${port}`));
    const status = /^HTTP\/1\.[01] (.*)/.exec(whole)?.[1]?.trim() ?? '';
    answers.push({
      what: a.what,
      answer: status || 'closed without an answer',
      held:
        a.expected.test(status) && !/\/(home|root|usr|tmp|work)\/|node_modules|\n\s+at |root:x/.test(whole),
      whole,
    });
  }
  return answers;
}

function exchange(host: string, port: number, raw: string): Promise<string> {
  return new Promise((resolve) => {
    let text = '';
    const socket = connect(port, host, () => socket.write(Buffer.from(raw, 'latin1')));
    socket.setTimeout(PATIENCE_MS, () => socket.destroy());
    socket.on('data', (d) => {
      if (text.length < 1e6) text += d.toString('latin1');
    });
    socket.on('error', () => undefined);
    socket.on('close', () => resolve(text));
  });
}
