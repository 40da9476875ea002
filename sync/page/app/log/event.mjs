// An event's bytes, as core/log/FORM.md says. Written once, then hashed, stored and sent as they are.

import { fromHex, joined, sha256, toHex, utf8 } from '../base/bytes.mjs';
import { judgeEvent } from '../well_formed.mjs';

/**
 * @typedef {{kind: string, of?: string[], place?: string, shown?: string[], by?: string, said?: object,
 *   re?: [string, string][], own?: object, text?: object}} Draft
 *   `re`: [reference as "device:seq:hash", relation]; `text`: what is sealed, {note} or {name}
 * @typedef {{wall: number, run: string, ms: number}} ClockReading
 * @typedef {{bytes: Uint8Array, sealed?: {salt: string, text: string}}} Written
 */

/** Mends what a keyboard or clipboard gave. @param {string} text */
export const mendText = (text) =>
  new TextDecoder().decode(utf8(text)).normalize('NFC').replace(/[\u0000-\u001f\u007f]/g, ' ');

/** "device:seq:hash" as an event carries it. @param {string} ref @param {string} relation */
function answerOf(ref, relation) {
  const [device, seq, hash] = ref.split(':');
  return [device, Number(seq), hash, relation];
}

async function seal(text) {
  const salt = crypto.getRandomValues(new Uint8Array(16));
  const plain = JSON.stringify(text);
  return { salt: toHex(salt), text: plain, digest: toHex(await sha256(salt, utf8(plain))) };
}

/**
 * Writes an event's bytes. Parts that are absent are left out; the order is the form's.
 * @param {Draft} draft @param {ClockReading} clock @returns {Promise<Written>}
 */
export async function encodeEvent(draft, clock) {
  const event = { v: 1, kind: draft.kind };
  if (draft.of?.length) event.of = draft.of;
  if (draft.place) event.place = draft.place;
  if (draft.shown?.length) event.shown = draft.shown;
  if (draft.by) event.by = draft.by;
  Object.assign(event, { wall: clock.wall, run: clock.run, ms: clock.ms });
  if (draft.said) event.said = draft.said;
  if (draft.re?.length) event.re = draft.re.map(([ref, relation]) => answerOf(ref, relation));
  Object.assign(event, draft.own ?? {});
  const sealed = draft.text ? await seal(draft.text) : undefined;
  if (sealed) event.seal = sealed.digest;
  const bytes = utf8(JSON.stringify(event));
  const verdict = judgeEvent(bytes);
  if (verdict !== 'none') throw new Error(`An event would not be well-formed: ${verdict}`);
  return { bytes, sealed: sealed && { salt: sealed.salt, text: sealed.text } };
}

/** The hash of the event that follows `previous` (64 digits). @param {string} previous @param {Uint8Array} bytes */
export const chainHash = async (previous, bytes) => toHex(await sha256(fromHex(previous), bytes));

/** Where a device's chain starts. @param {string} collection @param {string} device */
export const chainStart = async (collection, device) => toHex(await sha256(fromHex(collection), fromHex(device)));

/** The bytes that a signature of a head covers. */
export function headMessage(collection, device, seq, hash) {
  const number = new Uint8Array(8);
  new DataView(number.buffer).setBigUint64(0, BigInt(seq));
  return joined(utf8('rackside head 1\0'), fromHex(collection), fromHex(device), number, fromHex(hash));
}

/** @param {string} device @param {number} seq @param {string} hash */
export const refText = (device, seq, hash) => `${device}:${seq}:${hash.slice(0, 32)}`;
