// Bytes, hexadecimal and hashes.

const encoder = new TextEncoder();

/** @param {string} text @returns {Uint8Array} */
export const utf8 = (text) => encoder.encode(text);

/** @param {Uint8Array} bytes */
export const toHex = (bytes) => Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');

/** @param {string} text an even number of hexadecimal digits */
export const fromHex = (text) => Uint8Array.from(text.match(/../g) ?? [], (pair) => parseInt(pair, 16));

/** @param {Uint8Array[]} parts */
export function joined(...parts) {
  const out = new Uint8Array(parts.reduce((size, part) => size + part.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

/** SHA-256 of the parts in order, as if they were one. @param {Uint8Array[]} parts @returns {Promise<Uint8Array>} */
export async function sha256(...parts) {
  return new Uint8Array(await crypto.subtle.digest('SHA-256', /** @type {BufferSource} */ (joined(...parts))));
}

/** @param {number} size */
export const randomHex = (size) => toHex(crypto.getRandomValues(new Uint8Array(size)));
