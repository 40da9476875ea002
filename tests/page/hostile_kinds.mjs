// What the hostile clients of hostile.mjs do, in a process of its own, so that they do not slow the honest ones by more
// than the hub does. Started with what it may know: {port, ca, token, key, ends}. Prints how often each came by.

import net from 'node:net';
import tls from 'node:tls';
import { randomBytes } from 'node:crypto';
import { deflateSync, gzipSync } from 'node:zlib';
import { request } from './node_phone.mjs';

const { port, ca, token, key, ends } = JSON.parse(process.argv[2]);
const hub = { port, ca };
const end = () => Date.now() > ends;
/** A helper's device that has a token, and means harm. */
const traitor = { ask: (path, options) => request({ hub, path, token, from: '127.0.3.2', agent: false, ...options }) };

const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
let serial = 0;
/** An address that is this kind's own. */
const address = (kind) => `127.0.${10 + kind}.${2 + (serial++ % 200)}`;
const ended = (socket) => new Promise((resolve) => {
  socket.on('error', () => resolve());
  socket.on('close', () => resolve());
});

/** A connection, encrypted, given to `speak`; over when either side ends it, or at the end of all. */
async function connection(kind, speak, { plain = false, patience = 20_000 } = {}) {
  const options = { host: '127.0.0.1', port: hub.port, localAddress: address(kind), ca: hub.ca, servername: 'localhost' };
  const socket = plain ? net.connect(options) : tls.connect(options);
  const over = ended(socket);
  const stop = setTimeout(() => socket.destroy(), Math.min(patience, Math.max(0, ends - Date.now())));
  socket.on(plain ? 'connect' : 'secureConnect', () => Promise.resolve(speak(socket)).catch(() => socket.destroy()));
  socket.on('data', () => {});
  await over;
  clearTimeout(stop);
}

async function slowly(socket, text, ms) {
  for (const character of text) {
    if (socket.destroyed) return;
    socket.write(character);
    await wait(ms);
  }
}

const head = (lines) => `${lines.join('\r\n')}\r\n\r\n`;
const asTraitor = `Authorization: Bearer ${token}`;
const host = 'Host: localhost';

// Made once: the clients' own work is no part of this.
const kRubbish = randomBytes(200_000);
const kDeep = '['.repeat(500_000);
const kGzipBomb = gzipSync(Buffer.alloc(100_000_000));
const kManyHeaders = Array.from({ length: 100_000 }, (_, i) => `X-${i}: a\r\n`).join('');

/** A picture of 400 million pixels in 400 KB. */
const bomb = (() => {
  const header = Buffer.from('89504e470d0a1a0a0000000d49484452000050000000500008000000000000000000', 'hex');
  return Buffer.concat([header, deflateSync(Buffer.alloc(10_000_000))]);
})();

/** What each does, again and again. */
const kHostile = {
  'opens and says nothing': (kind) => connection(kind, () => {}, { plain: true }),
  'sends rubbish instead of a handshake': (kind) => connection(kind, (socket) => socket.write(randomBytes(4096)), { plain: true }),
  'a byte of the head a second': (kind) => connection(kind, (socket) => slowly(socket, head(['GET / HTTP/1.1', host, `X: ${'a'.repeat(4000)}`]), 500)),
  'a head without end': (kind) => connection(kind, async (socket) => {
    socket.write(`GET / HTTP/1.1\r\n${host}\r\nX: `);
    while (!socket.destroyed && !end() && socket.write('a'.repeat(4096))) await wait(1);
  }),
  'headers without end': (kind) => connection(kind, (socket) => socket.write(`GET / HTTP/1.1\r\n${host}\r\n${kManyHeaders}`)),
  'a body that never comes': (kind) => connection(kind, (socket) => socket.write(head(['POST /v1/join HTTP/1.1', host, 'Content-Length: 4000'])), { patience: 8_000 }),
  'a photo that never comes, with a token': (kind) => connection(kind, (socket) => socket.write(head(['POST /v1/photo HTTP/1.1', host, asTraitor, 'Content-Length: 8000000'])), { patience: 8_000 }),
  'two lengths, and a second request inside': (kind) => connection(kind, (socket) => socket.write(head(['POST /v1/join HTTP/1.1', host, 'Content-Length: 4', 'Content-Length: 60']) + `{}\n\nGET /v1/aisle HTTP/1.1\r\n${host}\r\n\r\n`)),
  'a chunked body': (kind) => connection(kind, (socket) => socket.write(`${head(['POST /v1/join HTTP/1.1', host, 'Transfer-Encoding: chunked'])}ffffff\r\n${'a'.repeat(100_000)}`)),
  'asks for the largest file and does not read': (kind) => connection(kind, (socket) => {
    socket.pause();
    socket.write(head(['GET /library/reader.wasm HTTP/1.1', host]).repeat(8));
  }),
  'ranges upon ranges': (kind) => connection(kind, (socket) => socket.write(head(['GET /library/reader.wasm HTTP/1.1', host, `Range: bytes=${'0-,'.repeat(1200)}0-`]))),
  'a live stream that is never read, with a token': (kind) => connection(kind, (socket) => {
    socket.pause();
    socket.write(head(['GET /v1/live HTTP/1.1', host, asTraitor]));
  }),
  'the whole copy, again and again, unread': (kind) => connection(kind, (socket) => {
    socket.pause();
    for (let i = 0; i < 50; i += 1) socket.write(head(['GET /v1/aisle HTTP/1.1', host, asTraitor]));
  }, { patience: 5_000 }),
  'guesses tokens': async () => request({ hub, path: '/v1/aisle', token: randomBytes(32).toString('hex'), from: '127.0.3.3' }),
  'guesses join codes': async () => request({ hub, path: '/v1/join', method: 'POST', from: '127.0.3.4', body: `${JSON.stringify({ secret: randomBytes(16).toString('hex'), key: key, name: 'x', sign: '00'.repeat(64) })}\n` }),
  'a foreign host, a foreign page': async () => request({ hub, path: '/v1/claim', method: 'POST', body: '{}', token, from: '127.0.3.5', headers: { Host: 'evil.example', Origin: 'https://evil.example' } }),
  'pushes rubbish': async () => traitor.ask('/v1/push', { method: 'POST', body: kRubbish }),
  'pushes what is deep': async () => traitor.ask('/v1/push', { method: 'POST', body: kDeep }),
  'pushes a bomb of gzip': async () => traitor.ask('/v1/push', { method: 'POST', body: kGzipBomb, headers: { 'Content-Encoding': 'gzip' } }),
  'photos that are none': async () => {
    await traitor.ask('/v1/photo', { method: 'POST', body: bomb });
    await wait(1000);
  },
  'asks what pairs of nobody give': async () => traitor.ask('/v1/pairing?a=x&b=%00'),
  'begins a push and breaks off': (kind) => connection(kind, async (socket) => {
    socket.write(`${head(['POST /v1/push HTTP/1.1', host, asTraitor, 'Content-Length: 100000'])}{"rackside":1`);
    await wait(200);
    socket.destroy();
  }),
};
const told = Object.fromEntries(Object.keys(kHostile).map((name) => [name, 0]));
async function torment(name, work, kind) {
  while (!end()) {
    await work(kind).catch(() => {});
    told[name] += 1;
    await wait(50);
  }
}

await Promise.all(Object.entries(kHostile).flatMap(([name, does], kind) => [torment(name, does, kind), torment(name, does, kind)]));
console.log(JSON.stringify(told));
process.exit(0);
