// A phone without a browser: the page's own modules for keys, events and streams over Node's TLS, so that many of them
// fit one test. Also starts the real hub.

import { execFileSync, spawn } from 'node:child_process';
import { webcrypto } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import http from 'node:http';
import https from 'node:https';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

globalThis.crypto ??= webcrypto;
const page = join(dirname(fileURLToPath(import.meta.url)), '../../sync/page/app');
const { chainHash, chainStart, encodeEvent } = await import(join(page, 'log/event.mjs'));
const { joinMessage, makeKeys, sign } = await import(join(page, 'log/keys.mjs'));
const { bundleOf } = await import(join(page, 'log/exchange.mjs'));
const { readJoinCode } = await import(join(page, 'base/join_code.mjs'));
const { toHex } = await import(join(page, 'base/bytes.mjs'));

export class Hub {
  /** `empty`: a book without racks and animals. */
  constructor(program, { empty = false } = {}) {
    this.program = program;
    this.folder = mkdtempSync(join(tmpdir(), 'rackside-hub-'));
    this.book = join(this.folder, 'hub.book');
    this.run('init', 'Ottoline');
    if (empty) return;
    this.run('rack', 'add', 'A', '--places', '6');
    this.run('animal', 'add', 'C-1', '--species', 'corn snake', '--at', 'A-01');
  }

  run(...words) {
    return execFileSync(this.program, ['--book', this.book, ...words], { encoding: 'utf8' });
  }

  json(...words) {
    return JSON.parse(this.run('--json', ...words));
  }

  /** `hear`: gets what the hub prints for people, which else goes to the test's own. */
  async start({ hear } = {}) {
    const words = ['--book', this.book, '--json', 'serve', '--listen', '0.0.0.0', '--port', '0'];
    this.process = spawn(this.program, words, { stdio: ['ignore', 'pipe', hear ? 'pipe' : 'inherit'] });
    this.process.stderr?.on('data', (data) => hear(String(data)));
    process.once('exit', () => this.process.kill('SIGKILL')); // also after a test that threw
    const said = await new Promise((resolve, reject) => {
      let text = '';
      this.process.stdout.on('data', (data) => {
        text += data;
        if (text.includes('\n')) resolve(JSON.parse(text));
      });
      this.process.on('exit', () => reject(new Error('the hub ended')));
    });
    this.port = Number(new URL(said.url).port);
    this.sha256 = said.authority_sha256;
    this.trustPort = Number(new URL(said.trust_url).port);
    const der = (await request({ hub: this, plain: true, path: '/authority.crt' })).body;
    const lines = der.toString('base64').match(/.{1,64}/g).join('\n');
    this.ca = `-----BEGIN CERTIFICATE-----\n${lines}\n-----END CERTIFICATE-----\n`;
  }

  async stop() {
    const ended = new Promise((resolve) => this.process.once('exit', resolve));
    this.process.kill('SIGTERM');
    await ended;
    rmSync(this.folder, { recursive: true, force: true });
  }

  /** Processor time that the hub has used, in milliseconds. */
  processorMs() {
    const fields = readFileSync(`/proc/${this.process.pid}/stat`, 'utf8').split(') ')[1].split(' ');
    return (Number(fields[11]) + Number(fields[12])) * 10; // utime and stime, in hundredths of a second: proc(5)
  }

  memoryKib() {
    return Number(execFileSync('ps', ['-o', 'rss=', '-p', String(this.process.pid)], { encoding: 'utf8' }));
  }
}

/** One request. @returns {Promise<{status: number, headers: object, body: Buffer}>} */
export function request(wanted) {
  const { hub, path, method = 'GET', token, body, headers = {}, from, agent, plain = false } = wanted;
  const options = {
    host: '127.0.0.1',
    port: plain ? hub.trustPort : hub.port,
    path,
    method,
    localAddress: from,
    ca: hub.ca,
    servername: 'localhost',
    agent,
    headers: { ...headers, ...(token && { Authorization: `Bearer ${token}` }), ...(body !== undefined && { 'Content-Length': Buffer.byteLength(body) }) },
  };
  return new Promise((resolve, reject) => {
    const asked = (plain ? http : https).request(options, (answer) => {
      const parts = [];
      answer.on('data', (part) => parts.push(part));
      answer.on('end', () => resolve({ status: answer.statusCode, headers: answer.headers, body: Buffer.concat(parts) }));
      answer.on('error', reject);
    });
    // A kept connection may be closed by the hub in the moment in which it is used again: browsers ask once more, and so
    // do we (Node.js documentation, request.reusedSocket).
    asked.on('error', (error) => (asked.reusedSocket && error.code === 'ECONNRESET' ? resolve(request(wanted)) : reject(error)));
    asked.end(body);
  });
}

let run = 1;

export class NodePhone {
  static async join(hub, role, person = '', { from, name = `test ${role}` } = {}) {
    const phone = new NodePhone();
    const invitation = hub.json('invite', '--role', role, ...(person ? ['--name', person] : []));
    const { secret } = readJoinCode(invitation.code);
    phone.keys = await makeKeys();
    const message = await joinMessage(secret, phone.keys.publicKey, name);
    const body = JSON.stringify({ secret: toHex(secret), key: phone.keys.publicKey, name, sign: await sign(phone.keys, message) }) + '\n';
    const answer = await request({ hub, path: '/v1/join', method: 'POST', body, from });
    if (answer.status !== 200) throw new Error(`joining was refused: ${answer.body}`);
    const said = JSON.parse(answer.body);
    Object.assign(phone, { hub, from, token: said.token, by: said.by, role: said.role, entries: [] });
    phone.head = { device: phone.keys.device, collection: said.collection, seq: 0, hash: await chainStart(said.collection, phone.keys.device) };
    phone.run = (run++).toString(16).padStart(16, '0');
    phone.agent = new https.Agent({ keepAlive: true, maxSockets: 4, localAddress: from });
    await phone.record({ kind: 'clock_marked', own: { key: phone.keys.publicKey } });
    return phone;
  }

  async record(draft) {
    const clock = { wall: Date.now(), run: this.run, ms: Math.round(performance.now()) };
    const { bytes, sealed } = await encodeEvent(draft, clock);
    const hash = await chainHash(this.head.hash, bytes);
    const entry = { seq: this.head.seq + 1, bytes, hash, sealed };
    this.head = { ...this.head, seq: entry.seq, hash };
    this.entries.push(entry);
    return entry;
  }

  ask(path, options = {}) {
    return request({ hub: this.hub, path, token: this.token, from: this.from, agent: this.agent, ...options });
  }

  vector() {
    const newest = [this.head.device, this.head.seq, this.head.hash.slice(0, 32)];
    const first = { rackside: 1, collection: this.head.collection, device: this.head.device, name: '', wall: Date.now(), newest };
    return [first, newest, { end: 1 }].map((line) => JSON.stringify(line) + '\n').join('');
  }

  /** The whole outbox as one stream. */
  async stream() {
    return bundleOf(this.keys, this.head, this.entries, '');
  }

  async push() {
    return this.ask('/v1/push', { method: 'POST', body: await this.stream() });
  }
}
