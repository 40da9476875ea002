// Judges whether bytes are a well-formed event, on the phone, before they are hashed and can never change again.
// Says exactly what core/log/value says of the same bytes; core/log/FORM.md is the contract, tests/vectors the proof.
// Written on its own, not translated, so that a misreading on either side shows as a disagreement.

export const kMaxEventBytes = 65536;
export const kMaxDepth = 32;

const kNumber = /-?[0-9]*/y;
const kKey = /[a-z_]*/y;
const kPlain = /[\x20-\x21\x23-\x5B\x5D-\x7F]*/y;
// Unicode 15, table 3-7, over a string that holds one byte per character.
const kGoodUtf8 =
  /[\xC2-\xDF][\x80-\xBF]|\xE0[\xA0-\xBF][\x80-\xBF]|[\xE1-\xEC\xEE\xEF][\x80-\xBF]{2}|\xED[\x80-\x9F][\x80-\xBF]|\xF0[\x90-\xBF][\x80-\xBF]{2}|[\xF1-\xF3][\x80-\xBF]{3}|\xF4[\x80-\x8F][\x80-\xBF]{2}/y;
const kSurrogateUtf8 = /\xED[\xA0-\xBF][\x80-\xBF]/y;
const kUnicodeEscape = /u([0-9A-Fa-f]{4})/y;
const kShortEscape = /["\\/bfnrt]/y;
const kSpace = /[ \t\n\r]/;
const kControl = /[\x00-\x1F]/;

/** Thrown inside only: judge() turns it into its word. */
class Problem {
  constructor(word) {
    this.word = word;
  }
}

class Reader {
  constructor(text) {
    this.text = text;
    this.at = 0;
  }

  /** The text that the sticky expression matches here, or null; moves behind it. */
  match(expression) {
    expression.lastIndex = this.at;
    const found = expression.exec(this.text);
    if (found) this.at = expression.lastIndex;
    return found;
  }

  take(character) {
    if (this.text[this.at] !== character) return false;
    this.at += 1;
    return true;
  }

  /** The next byte cannot stand here. */
  refuse(otherwise) {
    const next = this.text[this.at];
    if (next === undefined) throw new Problem('unterminated');
    if (kSpace.test(next)) throw new Problem('white_space');
    throw new Problem(kControl.test(next) ? 'control_character' : otherwise);
  }

  document() {
    this.value(0);
    if (this.at !== this.text.length) this.refuse('trailing');
  }

  value(depth) {
    const next = this.text[this.at];
    if (next === '{') this.nested(depth + 1, '}', () => this.members(depth + 1));
    else if (next === '[') this.nested(depth + 1, ']', () => this.items(depth + 1));
    else if (next === '"') this.string();
    else if (next === '-' || (next >= '0' && next <= '9')) this.number();
    else this.literal();
  }

  literal() {
    for (const word of ['true', 'false', 'null']) {
      if (this.text.startsWith(word, this.at)) {
        this.at += word.length;
        return;
      }
    }
    this.refuse('bad_literal');
  }

  number() {
    const digits = this.match(kNumber)[0];
    const next = this.text[this.at];
    const fraction = next === '.' || next === 'e' || next === 'E';
    // A lone minus has no digit, so a dot or an e behind it changes nothing.
    if (fraction || !/^(0|-?[1-9][0-9]*)$/.test(digits)) throw new Problem('bad_number');
    if (!Number.isSafeInteger(Number(digits))) throw new Problem('number_range');
  }

  string() {
    this.at += 1;
    for (;;) {
      this.match(kPlain);
      if (this.take('"')) return;
      if (this.take('\\')) this.escape();
      else this.highCharacter();
    }
  }

  highCharacter() {
    const next = this.text[this.at];
    if (next === undefined) throw new Problem('unterminated');
    if (next === '\0') throw new Problem('nul');
    if (kControl.test(next)) throw new Problem('control_character');
    if (this.match(kSurrogateUtf8)) throw new Problem('surrogate');
    if (!this.match(kGoodUtf8)) throw new Problem('bad_utf8');
  }

  escape() {
    if (this.at === this.text.length) throw new Problem('unterminated');
    if (this.match(kShortEscape)) return;
    const unicode = this.match(kUnicodeEscape);
    const unit = unicode ? parseInt(unicode[1], 16) : -1;
    if (unit === 0) throw new Problem('nul');
    if (unit >= 0xd800 && unit <= 0xdfff) throw new Problem('surrogate');
    if (unit < 0 || unit > 0x1f) throw new Problem('bad_escape');
  }

  nested(depth, end, content) {
    if (depth > kMaxDepth) throw new Problem('too_deep');
    this.at += 1;
    if (this.take(end)) return;
    content();
    if (!this.take(end)) this.refuse('bad_literal');
  }

  items(depth) {
    do this.value(depth);
    while (this.take(','));
  }

  members(depth) {
    const keys = new Set();
    do {
      const key = this.key();
      if (keys.has(key)) throw new Problem('duplicate_key');
      keys.add(key);
      if (!this.take(':')) this.refuse('bad_literal');
      this.value(depth);
    } while (this.take(','));
  }

  key() {
    if (!this.take('"')) this.refuse('bad_key');
    const key = this.match(kKey)[0];
    if (this.at === this.text.length) throw new Problem('unterminated');
    if (!this.take('"') || key.length < 1 || key.length > 32) throw new Problem('bad_key');
    return key;
  }
}

/** One character a byte, so that expressions can speak of bytes. */
function bytesAsText(bytes) {
  const parts = [];
  for (let i = 0; i < bytes.length; i += 8192) parts.push(String.fromCharCode(...bytes.subarray(i, i + 8192)));
  return parts.join('');
}

/**
 * @param {Uint8Array} bytes
 * @returns {string} 'none' when well-formed as a JSON value of the strict form, else the word of the first problem
 */
export function judge(bytes) {
  if (bytes.length === 0) return 'empty';
  if (bytes.length > kMaxEventBytes) return 'too_long';
  const text = bytesAsText(bytes);
  if (text.startsWith('\xEF\xBB\xBF')) return 'byte_order_mark';
  try {
    new Reader(text).document();
  } catch (problem) {
    if (!(problem instanceof Problem)) throw problem;
    return problem.word;
  }
  return 'none';
}

/**
 * @param {Uint8Array} bytes
 * @returns {string} judge(), and 'not_an_event' for a value that does not begin {"v":1,
 */
export function judgeEvent(bytes) {
  const word = judge(bytes);
  if (word !== 'none') return word;
  const opening = [...'{"v":1,'].map((character) => character.charCodeAt(0));
  return opening.every((byte, i) => bytes[i] === byte) ? 'none' : 'not_an_event';
}
