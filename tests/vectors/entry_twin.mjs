// What is said of an entry before it is saved, twice: by the program and by the page's modules, of the same made-up scans.
// The program speaks in sentences, the page in keys of its table: a sentence's key is told by its words, and the numbers
// and names in it must be those of the page's own sentence. Also: each kind that the program lets people enter has its
// form and its words on the page.
//   node entry_twin.mjs ENTRY_CASES

import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const kCases = 20_000;
const seed = process.env.RACKSIDE_SEED ?? '7';
const page = join(dirname(fileURLToPath(import.meta.url)), '../../sync/page/app');
const { Aisle } = await import(join(page, 'aisle/aisle.mjs'));
const { celsiusTenths } = await import(join(page, 'base/celsius.mjs'));
const { warningsOf } = await import(join(page, 'aisle/warnings.mjs'));
const { kKinds, kGroups, kQuick, kindOf } = await import(join(page, 'view/kinds.mjs'));
const { kLanguages, kWords } = await import(join(page, 'words/words.mjs'));

/** How the program's sentences are told apart: core/entry/warnings.cpp. */
const kSentences = {
  'warn.unknown': /^this book does not know/,
  'warn.nobody': /^by the book nobody is at/,
  'warn.quarantine': /^your last entry was in quarantine/,
  'warn.gone': /^by the book .* is (dead|gone)/,
  'notice.sold': /is sold, and still here/,
  'warn.not_fit': /may not be sold or shipped/,
  'warn.male': /is recorded as male, and/,
  'warn.together': /^two animals are together here/,
  'warn.fed_twice': /was perhaps fed twice/,
  'warn.regurgitated': /regurgitated .* should rest about/,
  'warn.fasts': /fasts on purpose until/,
  'notice.early': /^early: .* is due in/,
  'warn.full': /handled with a full belly/,
  'notice.full': /this weight is kept/,
  'notice.after_all': /refused earlier this night/,
  'warn.was_fed': /was recorded as fed this night/,
  'warn.late_eggs': /eggs this late/,
  'warn.treated': /was treated .* already/,
  'warn.dose': /two accounts .* may be of one dose or of two/,
  'warn.heavy': /is a lot for/,
  'warn.weight': /last time: wrong animal, or the scale/,
  'notice.one_shed': /both are one shed/,
  'warn.itself': /was paired with itself/,
  'warn.one_sex': /are recorded as (male|female)/,
  'warn.was_with': /no separation was recorded/,
};

/** Numbers, dates and names of a sentence, in the order of the alphabet. */
const partsOf = (text) => (text.match(/[A-Z]-\d+|\d+(\.\d+)?/g) ?? []).sort().join(' ');

function ofProgram(sentence) {
  const keys = Object.keys(kSentences).filter((key) => kSentences[key].test(sentence));
  // What was laid, or a wrong word, stands in some sentences of the program only.
  const plain = sentence.replace(/, and (laid|ovulated|is gravid|was palpated).*:/, ':');
  return `${keys.join('/') || `no key: ${sentence}`} ${partsOf(plain)}`;
}

const textOf = (key, args, column = 0) => (typeof kWords[key]?.[column] === 'function' ? kWords[key][column](args) : kWords[key]?.[column]) ?? '';
const ofPage = ([key, args]) => `${key} ${partsOf(textOf(key, args))}`;

const lines = execFileSync(process.argv[2], [String(kCases), seed], { encoding: 'utf8', maxBuffer: 1 << 28 }).trim().split('\n');
let passed = 0;
let failed = 0;
const fail = (text) => {
  failed += 1;
  if (failed <= 5) console.log(`FAILED with seed ${seed}: ${text}`);
};

// ---- what is said of an entry

const seen = new Set();
for (const line of lines.slice(1)) {
  const { limits, scene, animals, entry, warnings, notices } = JSON.parse(line);
  const aisle = new Aisle();
  const place = { t: 'place', id: 'TAAAAAAAAA', label: 'A-01' };
  aisle.take([{ t: 'settings', id: 'book', zone: [], night_start: 720, limits }, place, ...animals]);
  aisle.rebuild();
  const found = scene.found.map((id) => aisle.animals.get(id));
  const looked = { code: scene.code, place: scene.is_place ? place : undefined, found, reserved: [], known: scene.known === 1, at: scene.at, quarantineBefore: scene.quarantine_before };
  const out = { warnings: [], notices: [] };
  warningsOf(aisle, looked, entry, found, out);
  for (const [key] of [...out.warnings, ...out.notices]) seen.add(key);
  const mine = JSON.stringify([out.warnings.map(ofPage).sort(), out.notices.map(ofPage).sort()]);
  const yours = JSON.stringify([warnings.map(ofProgram).sort(), notices.map(ofProgram).sort()]);
  const unsaid = [...out.warnings, ...out.notices].filter(([key, args]) => kLanguages.some((_, i) => !textOf(key, args, i) || /undefined|NaN/.test(textOf(key, args, i))));
  if (mine === yours && unsaid.length === 0) passed += 1;
  else fail(`\n  case    ${line}\n  page    ${mine}\n  program ${yours}\n  unsaid  ${JSON.stringify(unsaid)}`);
}
// Cases that never come to a sentence would prove nothing of it. (Nobody can scan one animal as two.)
for (const key of Object.keys(kSentences)) if (key !== 'warn.itself' && !seen.has(key)) fail(`no case says “${key}”`);

// ---- a form for each kind

const { forms, temperatures } = JSON.parse(lines[0]);
const entering = readFileSync(join(page, 'view/entering.mjs'), 'utf8');
for (const kind of forms) {
  const button = Object.keys(kKinds).find((one) => kindOf(one) === kind);
  if (!button) fail(`“${kind}” can be entered at the hub, and not on the phone`);
  else if (!kQuick.includes(button) && !kGroups.includes(kKinds[button].group)) fail(`“${kind}” is on no sheet`);
  else passed += 1;
}
for (const [button, { form }] of Object.entries(kKinds)) {
  const words = [`kind.${button}`, `did.${kindOf(button)}`].filter((key) => key !== 'did.moved').every((key) => kWords[key]?.length === kLanguages.length);
  if (!new RegExp(`^  ${form}: `, 'm').test(entering)) fail(`no form “${form}” for “${button}”`);
  else if (!words) fail(`words are missing for “${button}”`);
  else passed += 1;
}
// 32 °F is 0 °C, 212 °F is 100 °C (the scales' definition).
for (const [fahrenheit, celsius] of [...temperatures, [320, 0], [2120, 1000]]) {
  if (celsiusTenths(fahrenheit / 10, '°F') === celsius) passed += 1;
  else fail(`${fahrenheit / 10} °F is ${celsius / 10} °C to the program, ${celsiusTenths(fahrenheit / 10, '°F') / 10} °C to the page`);
}
console.log(`${passed} passed, ${failed} failed`);
process.exitCode = failed > 0 ? 1 : 0;
