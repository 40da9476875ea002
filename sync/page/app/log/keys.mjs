// The phone's key: P-256, made here, never leaving the browser's own store.

import { fromHex, joined, sha256, toHex, utf8 } from '../base/bytes.mjs';

const kCurve = { name: 'ECDSA', namedCurve: 'P-256' };
const kSigning = { name: 'ECDSA', hash: 'SHA-256' };

/**
 * @typedef {{pair: CryptoKeyPair, publicKey: string, device: string}} Keys
 * @returns {Promise<Keys>} the private half cannot be read by anybody, this page included
 */
export async function makeKeys() {
  const pair = /** @type {CryptoKeyPair} */ (await crypto.subtle.generateKey(kCurve, false, ['sign', 'verify']));
  const point = new Uint8Array(await crypto.subtle.exportKey('raw', pair.publicKey));
  const device = toHex((await sha256(point)).slice(0, 8));
  return { pair, publicKey: toHex(point), device };
}

/** r and s, 128 digits. @param {Keys} keys @param {Uint8Array} message */
export async function sign(keys, message) {
  const bytes = await crypto.subtle.sign(kSigning, keys.pair.privateKey, /** @type {BufferSource} */ (message));
  return toHex(new Uint8Array(bytes));
}

/** What a device signs to show that it holds its key when it joins: sync/PROTOCOL.md, section 6. */
export async function joinMessage(secret, publicKey, name) {
  return joined(utf8('rackside join 1\0'), await sha256(secret), fromHex(publicKey), utf8(name));
}
