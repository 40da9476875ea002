// Speaks with the hub: sync/PROTOCOL.md, sections 3, 4, 6 and 8. Every request may arrive twice without harm.

import { chainStart, headMessage } from './event.mjs';
import { sign } from './keys.mjs';

const kLines = 'application/x-ndjson';
const kSegmentEvents = 256;
const kSegmentBytes = 256 * 1024;
const kPatienceMs = 20_000;

/** The hub answered, and the answer was no. */
export class Refused extends Error {
  constructor(status, name, message) {
    super(message);
    this.status = status;
    this.name = name;
  }
}
/** The hub is away, or the network is. */
export class Away extends Error {}

/**
 * @param {string} path @param {{method?: string, body?: BodyInit, type?: string, token?: string, signal?: AbortSignal}} [options]
 * @returns {Promise<Response>}
 */
export async function ask(path, { method = 'GET', body, type = kLines, token, signal } = {}) {
  /** @type {Record<string, string>} */
  const headers = {};
  if (body !== undefined) headers['Content-Type'] = type;
  if (token) headers.Authorization = `Bearer ${token}`;
  let answer;
  try {
    const limit = signal ?? AbortSignal.timeout(kPatienceMs);
    answer = await fetch(path, { method, body, headers, cache: 'no-store', signal: limit });
  } catch (error) {
    throw new Away(String(error));
  }
  if (answer.ok) return answer;
  const said = await answer.json().catch(() => ({}));
  throw new Refused(answer.status, said.error ?? 'unknown', said.message ?? `The hub answered ${answer.status}.`);
}

/** The lines of a counted answer, without its end line. A cut answer is one of a hub that went away. */
async function linesOf(answer) {
  let text;
  try {
    text = await answer.text();
  } catch (error) {
    throw new Away(String(error));
  }
  const lines = text.split('\n').filter((line) => line).map((line) => JSON.parse(line));
  if (!('end' in (lines.at(-1) ?? {}))) throw new Away('The answer was cut off.');
  return lines.slice(0, -1);
}

const headLine = (head) => [head.device, head.seq, head.hash.slice(0, 32)];

/**
 * Compares heads, which also lets the hub check this phone's clock.
 * @returns {Promise<{hubWall: number, mine: [number, string][]}>} the phone's own heads that the hub holds
 */
export async function compareHeads(link, head) {
  // After a succession the hub still knows this phone by the device that its token was given to.
  const first = { rackside: 1, collection: head.collection, device: link.knownAs ?? head.device, name: '', wall: Date.now(),
    newest: headLine(head) };
  const body = [first, headLine(head), { end: 1 }].map((line) => JSON.stringify(line) + '\n').join('');
  const lines = await linesOf(await ask('/v1/heads', { method: 'POST', body, token: link.token }));
  const mine = lines.slice(1).filter((line) => Array.isArray(line) && line[0] === head.device);
  return { hubWall: lines[0].wall, mine: mine.map(([, seq, hash]) => [seq, hash]) };
}

/** Entries cut into runs that one signature ends. */
function segmentsOf(entries) {
  const segments = [];
  let bytes = 0;
  for (const entry of entries) {
    const size = entry.bytes.length + (entry.sealed?.text.length ?? 0) * 2;
    const current = segments.at(-1);
    if (!current || current.length === kSegmentEvents || bytes + size > kSegmentBytes) {
      segments.push([entry]);
      bytes = size;
    } else {
      current.push(entry);
      bytes += size;
    }
  }
  return segments;
}

/** One segment as a whole stream. `previous`: the hash before its first entry, empty where that is the device's first. */
export async function streamOf(keys, head, segment, previous) {
  const decoder = new TextDecoder();
  const last = segment.at(-1);
  const start = previous || (await chainStart(head.collection, head.device));
  const lines = [
    JSON.stringify({ rackside: 1, collection: head.collection }),
    JSON.stringify({ device: head.device, after: segment[0].seq - 1, previous: start }),
  ];
  for (const entry of segment) {
    lines.push(decoder.decode(entry.bytes));
    if (entry.sealed) lines.push(JSON.stringify({ salt: entry.sealed.salt, text: entry.sealed.text }));
  }
  const signature = await sign(keys, headMessage(head.collection, head.device, last.seq, last.hash));
  lines.push(JSON.stringify({ sign: signature }), JSON.stringify({ end: 1 }));
  return lines.join('\n') + '\n';
}

/**
 * Sends entries in order, a segment a request.
 * @param {import('./journal.mjs').Entry[]} entries @param {string} before hash of what the hub holds before them
 * @param {(seq: number) => Promise<void>} acknowledged called once the hub has them on its disk
 */
export async function push(link, keys, head, entries, before, acknowledged) {
  let previous = before;
  for (const segment of segmentsOf(entries)) {
    const body = await streamOf(keys, head, segment, previous);
    const answer = await ask('/v1/push', { method: 'POST', body, token: link.token });
    await answer.json().catch(() => {
      throw new Away('The receipt was cut off.');
    });
    await acknowledged(segment.at(-1).seq);
    previous = segment.at(-1).hash;
  }
}

/** All entries as a bundle file that `rackside sync --in` takes. */
export async function bundleOf(keys, head, entries, before) {
  let previous = before;
  const out = [JSON.stringify({ rackside: 1, collection: head.collection })];
  const segments = segmentsOf(entries);
  for (const segment of segments) {
    const lines = (await streamOf(keys, head, segment, previous)).trimEnd().split('\n');
    out.push(...lines.slice(1, -1));
    previous = segment.at(-1).hash;
  }
  out.push(JSON.stringify({ end: segments.length }));
  return out.join('\n') + '\n';
}

/**
 * The aisle's copy: what changed since the one that is held. The hub is told what waits here, for the keeper.
 * @param {{count: number, oldest?: number}} unsent
 */
export async function fetchAisle(link, device, since, unsent) {
  const query = new URLSearchParams({ device, unsent: String(unsent.count) });
  if (unsent.oldest !== undefined) query.set('oldest', String(unsent.oldest));
  if (since) query.set('since', since);
  const [first, ...lines] = await linesOf(await ask(`/v1/aisle?${query}`, { token: link.token }));
  if (first.rackside !== 1 || !first.aisle) throw new Refused(200, 'protocol', 'The hub speaks another version.');
  return { first, lines };
}

/** Joins. @returns {Promise<object>} the hub's answer */
export async function join(request) {
  return (await ask('/v1/join', { method: 'POST', body: JSON.stringify(request) + '\n' })).json();
}

/** The hub's authority begins with these bytes of SHA-256, as the join code says. */
export const samePin = (pin, digest) => pin.every((byte, i) => byte === digest[i]);
