// The ten characters on a label. Says what core/codes says of the same text; written on its own.

const kSet = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ';
const kAlphabet = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';
const kKinds = { A: 'animal', C: 'clutch', E: 'egg_box', G: 'group', H: 'helper', R: 'rack', S: 'shortcut', T: 'place' };

/** ISO/IEC 7064 MOD 37,36. @param {string} text over 0-9 A-Z @returns {boolean} whether the last character checks the rest */
export function isChecked(text) {
  let product = 36;
  for (const character of text.slice(0, -1)) {
    const sum = (product + kSet.indexOf(character)) % 36 || 36;
    product = (sum * 2) % 37;
  }
  return (product + kSet.indexOf(text.at(-1))) % 36 === 1;
}

/** What a hand or an eye makes of a character. */
function corrected(character) {
  if (character === 'O') return '0';
  return character === 'I' || character === 'L' ? '1' : character;
}

function bare(text) {
  const link = /^https?:\/\/[^/]+\/(?:.*\/)?([^/?#]*)$/i.exec(text.trim());
  return (link ? link[1] : text).replace(/[\s-]/g, '').toUpperCase();
}

/**
 * @param {string} text typed or scanned: a bare code or a link that ends in one
 * @returns {{code?: string, kind?: string, problem?: 'not_a_code'|'bad_letter'|'bad_character'|'bad_check'}}
 */
export function readCode(text) {
  const plain = bare(text);
  if (plain.length !== 10 || !/^[0-9A-Z]+$/.test(plain)) return { problem: 'not_a_code' };
  const code = [...plain].map((character, i) => (i === 0 ? character : corrected(character))).join('');
  const kind = kKinds[code[0]];
  if (!kind) return { problem: 'bad_letter' };
  if ([...code.slice(1)].some((character) => !kAlphabet.includes(character))) return { problem: 'bad_character' };
  if (!isChecked(code)) return { problem: 'bad_check' };
  return { code, kind };
}

/** "T7K2 M9QX 4A" */
export const spaced = (code) => `${code.slice(0, 4)} ${code.slice(4, 8)} ${code.slice(8)}`;

/** What the check said of each character, for who wants to know why a typed code was turned down. */
export function typedProgress(text) {
  const plain = bare(text);
  const length = Math.min(plain.length, 10);
  const wrong = [...plain].findIndex((character, i) => i > 0 && !kAlphabet.includes(corrected(character)));
  return { length, wrong };
}
