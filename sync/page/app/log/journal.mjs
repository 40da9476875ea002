// What this phone wrote: numbered, chained, kept until and after the hub has it. The one way by which events are made.

import { chainHash, chainStart, encodeEvent, refText } from './event.mjs';
import { outcome, read, readAll, write } from './database.mjs';
import { drift, readClock } from './clock.mjs';

/**
 * @typedef {{seq: number, bytes: Uint8Array, hash: string, kind: string, wall: number, run: string, ms: number,
 *   sealed?: {salt: string, text: string}, draft: import('./event.mjs').Draft, about?: any, ref?: string}} Entry
 *   `about`: what the screen needs to show it again and to take it back; never sent
 * @typedef {{device: string, collection: string, seq: number, hash: string, sent: number}} Head
 *   `sent`: the newest number that the hub has acknowledged
 */

const kClockDrift = 10_000;
/** Two tabs of one phone write one chain: the one that was overtaken begins again. */
const kMostTries = 50;

class Overtaken extends Error {}

/** @returns {Promise<Head | undefined>} */
export const head = () => read('own', 'head');

/** Begins the chain of a device that has just joined: its first event carries its key. */
export async function beginChain(device, collection, publicKey, others) {
  const start = await chainStart(collection, device);
  const clock = readClock();
  const draft = { kind: 'clock_marked', own: { key: publicKey } };
  const written = await encodeEvent(draft, clock);
  const hash = await chainHash(start, written.bytes);
  await write(['own', 'events'], async ({ own, events }) => {
    events.clear();
    events.put({ seq: 1, bytes: written.bytes, hash, kind: draft.kind, ...clock, draft });
    own.put({ device, collection, seq: 1, hash, sent: 0 }, 'head');
    for (const [key, value] of Object.entries(others)) own.put(value, key);
  });
}

/**
 * Writes events, all or none, durably: when the promise is kept they are on the flash.
 * @param {{draft: import('./event.mjs').Draft, about?: object}[]} wanted
 * @returns {Promise<Entry[]>}
 */
export async function record(wanted) {
  for (let attempt = 0; ; attempt += 1) {
    try {
      return await tryToRecord(wanted);
    } catch (error) {
      if (!(error instanceof Overtaken) || attempt >= kMostTries) throw error;
    }
  }
}

async function tryToRecord(wanted) {
  const before = await head();
  if (!before) throw new Error('This phone has not joined a hub yet.');
  // Hashing is outside the transaction, which a promise of anything but the store would end.
  const entries = [];
  let { seq, hash } = before;
  for (const { draft, about } of wanted) {
    const clock = readClock();
    const written = await encodeEvent(draft, clock);
    hash = await chainHash(hash, written.bytes);
    seq += 1;
    entries.push({ seq, bytes: written.bytes, hash, kind: draft.kind, ...clock, sealed: written.sealed, draft, about });
  }
  await write(['own', 'events'], async ({ own, events }) => {
    const now = await outcome(own.get('head'));
    if (now.seq !== before.seq || now.hash !== before.hash || now.device !== before.device) throw new Overtaken();
    for (const entry of entries) events.add(entry);
    own.put({ ...now, seq, hash }, 'head');
  });
  return entries;
}

/** Entries from a number on. @param {number} from @returns {Promise<Entry[]>} */
export const entriesFrom = (from) => readAll('events', IDBKeyRange.lowerBound(from));

/** The hub has everything up to this number. @param {number} seq */
export const markSent = (seq) =>
  write(['own'], async ({ own }) => {
    const now = await outcome(own.get('head'));
    if (now.sent < seq) own.put({ ...now, sent: Math.min(seq, now.seq) }, 'head');
  });

/**
 * Before heads are compared: marks the clock where the newest event does not tell it, or is of another day.
 * @param {(wall: number) => number} dayOf the collection's local day
 */
export async function markClock(dayOf) {
  const { seq } = await head();
  const [last] = await entriesFrom(seq);
  const now = readClock();
  const told = last.run === now.run && Math.abs(drift(last, now)) <= kClockDrift && dayOf(last.wall) === dayOf(now.wall);
  if (!told) await record([{ draft: { kind: 'clock_marked' } }]);
}

/** An entry's name in other events. @param {Head} chain @param {Entry} entry */
export const refOf = (chain, entry) => refText(chain.device, entry.seq, entry.hash);
