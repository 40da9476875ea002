// The 44 characters that let one device join: secret, the beginning of the authority's fingerprint, and a check.
// The form is sync/join/code.h.

const kAlphabet = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';
const kCharacters = 44;
const kPayloadBits = 210;

function crc10(bits) {
  let sum = 0x3ff;
  for (const bit of bits) {
    const top = ((sum >> 9) & 1) ^ bit;
    sum = ((sum << 1) & 0x3ff) ^ (top ? 0x233 : 0);
  }
  return sum;
}

function bitsOf(characters) {
  return [...characters].flatMap((character) => {
    const value = kAlphabet.indexOf(character);
    return [16, 8, 4, 2, 1].map((mask) => (value & mask ? 1 : 0));
  });
}

const valueOf = (bits) => bits.reduce((value, bit) => value * 2 + bit, 0);

function bytesOf(bits) {
  const out = new Uint8Array(bits.length / 8);
  for (let i = 0; i < out.length; i += 1) out[i] = valueOf(bits.slice(8 * i, 8 * i + 8));
  return out;
}

/**
 * @param {string} text a code with or without hyphens, or a whole link
 * @returns {{secret?: Uint8Array, pin?: Uint8Array, problem?: 'length'|'character'|'check'|'newer'}}
 */
export function readJoinCode(text) {
  const plain = text.slice(text.lastIndexOf('#') + 1).replace(/[\s-]/g, '').toUpperCase();
  const characters = plain.replace(/O/g, '0').replace(/[IL]/g, '1');
  if ([...characters].some((character) => !kAlphabet.includes(character))) return { problem: 'character' };
  if (characters.length !== kCharacters) return { problem: 'length' };
  const bits = bitsOf(characters);
  if (valueOf(bits.slice(kPayloadBits)) !== crc10(bits.slice(0, kPayloadBits))) return { problem: 'check' };
  if (valueOf(bits.slice(0, 2)) !== 0) return { problem: 'newer' };
  return { secret: bytesOf(bits.slice(2, 130)), pin: bytesOf(bits.slice(130, kPayloadBits)) };
}

/** Whether a text is meant to be a join code, so that a scan of one in the wrong place can say so. */
export const looksLikeJoinCode = (text) => /#[0-9A-Z-]{40,}$/i.test(text) || /^([0-9A-Z]{4}-){10}[0-9A-Z]{4}$/i.test(text);
