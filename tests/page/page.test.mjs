// The page's own modules without a browser: against the program, published examples, and each other.

import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { webcrypto } from 'node:crypto';

globalThis.crypto ??= webcrypto;
const page = join(dirname(fileURLToPath(import.meta.url)), '../../sync/page/app');
const load = (path) => import(join(page, path));

const { isChecked, readCode } = await load('base/codes.mjs');
const { readJoinCode } = await load('base/join_code.mjs');
const { chainHash, chainStart, encodeEvent, headMessage, mendText } = await load('log/event.mjs');
const { makeKeys, sign } = await load('log/keys.mjs');
const { toHex, fromHex, utf8, sha256 } = await load('base/bytes.mjs');
const { dayNumber, nightOf } = await load('aisle/nights.mjs');
const { dueFor, intervalOf, limitsOf } = await load('aisle/due.mjs');
const { kLanguages, kWords } = await load('words/words.mjs');

let passed = 0;
let failed = 0;
async function test(name, work) {
  try {
    await work();
    passed += 1;
  } catch (error) {
    failed += 1;
    console.log(`FAILED ${name}: ${error.stack}`);
  }
}
function same(actual, expected, what = '') {
  const [a, b] = [actual, expected].map((value) => JSON.stringify(value));
  if (a !== b) throw new Error(`${what} expected ${b}, got ${a}`);
}

const program = process.argv[2];
const folder = mkdtempSync(join(tmpdir(), 'rackside-page-'));
const book = join(folder, 'one.book');
const run = (...words) => execFileSync(program, ['--book', book, ...words], { encoding: 'utf8' });
run('init', 'Ottoline');
run('rack', 'add', 'A', '--places', '12');

await test('check characters are those of ISO/IEC 7064', () => {
  // The standard's own example for MOD 37,36: A12425GABC1234002 has the check character M (ISO/IEC 7064, also GRid's).
  same(isChecked('A12425GABC1234002M'), true);
  same(isChecked('A12425GABC1234002N'), false);
  same(isChecked('A12425GABC1234020M'), false);
});

await test('codes are read as the program reads them', () => {
  const codes = [...run('--json', 'show', 'A').matchAll(/"code":"([0-9A-Z]{10})"/g)].map((found) => found[1]);
  const places = Array.from({ length: 12 }, (_, i) => JSON.parse(run('--json', 'show', `A-${String(i + 1).padStart(2, '0')}`)).code);
  for (const code of [...codes, ...places]) {
    same(readCode(code).code, code);
    same(readCode(`HTTPS://HUB.LOCAL:8443/${code}`).code, code);
    same(readCode(` ${code.toLowerCase().replaceAll('0', 'o')} `).code, code);
    // Every single wrong character and every swap of neighbours is caught in codes of ours.
    for (let i = 1; i < 10; i += 1) {
      for (const other of '0123456789ABCDEFGHJKMNPQRSTVWXYZ') {
        if (other !== code[i]) same(readCode(code.slice(0, i) + other + code.slice(i + 1)).code, undefined, `${code} with ${other} at ${i}:`);
      }
      if (i < 9 && code[i] !== code[i + 1]) same(readCode(code.slice(0, i) + code[i + 1] + code[i] + code.slice(i + 2)).code, undefined, `${code} swapped at ${i}:`);
    }
  }
  same(readCode('C-14').problem, 'not_a_code');
  same(readCode('Z7K2M9QX4A').problem, 'bad_letter');
});

await test('join codes are those of the document', () => {
  // The pair of sync/PROTOCOL.md's secret and a pin is made by the program: its text form must be read back.
  const link = process.env.RACKSIDE_JOIN_CODE;
  same(readJoinCode('0K3F').problem, 'length');
  same(readJoinCode('!'.repeat(44)).problem, 'character');
  same(readJoinCode('0'.repeat(44)).problem, 'check');
  if (link) same(readJoinCode(link).problem, undefined);
});

await test('the document’s example of a log is made by the page byte by byte', async () => {
  // sync/PROTOCOL.md is run by the program's own tests; the page must chain the same bytes to the same heads.
  const text = readFileSync(join(page, '../../PROTOCOL.md'), 'utf8');
  const stream = /```stream\n([\s\S]*?)```/.exec(text)[1].trimEnd().split('\n').map((line) => [line, JSON.parse(line)]);
  const collection = stream[0][1].collection;
  const heads = new Map([...text.matchAll(/^\["([0-9a-f]{16})",(\d+),"([0-9a-f]{32})"\]$/gm)].map(([, device, seq, hash]) => [`${device}:${seq}`, hash]));
  let device;
  let seq;
  let hash;
  let key;
  let seal;
  let compared = 0;
  for (const [line, value] of stream) {
    if (value.device && 'after' in value) {
      [device, seq] = [value.device, value.after];
      hash = await chainStart(collection, device);
      same(hash, value.previous);
    } else if (value.v === 1) {
      hash = await chainHash(hash, utf8(line));
      seq += 1;
      key = value.key?.length === 130 ? value.key : key;
      seal = value.seal;
      // What the page would write of the same parts is the same text.
      const { v, kind, of, place, shown, by, wall, run: runId, ms, said, re, seal: _, ...own } = value;
      const written = await encodeEvent({ kind, of, place, shown, by, said, own }, { wall, run: runId, ms });
      if (!seal && !re) same(new TextDecoder().decode(written.bytes), line);
    } else if (value.salt) {
      same(toHex(await sha256(fromHex(value.salt), utf8(value.text))), seal);
    } else if (value.sign) {
      same(hash.slice(0, 32), heads.get(`${device}:${seq}`));
      const publicKey = await crypto.subtle.importKey('raw', fromHex(key), { name: 'ECDSA', namedCurve: 'P-256' }, false, ['verify']);
      const message = headMessage(collection, device, seq, hash);
      const good = await crypto.subtle.verify({ name: 'ECDSA', hash: 'SHA-256' }, publicKey, fromHex(value.sign), message);
      same(good, true, 'the program’s signature');
      compared += 1;
    }
  }
  same(compared, 2);
});

await test('a key signs, its device is named by its hash, and its private half stays inside', async () => {
  const keys = await makeKeys();
  same(keys.publicKey.length, 130);
  same(keys.device, toHex(await sha256(fromHex(keys.publicKey))).slice(0, 16));
  same((await sign(keys, utf8('x'))).length, 128);
  const leaked = await crypto.subtle.exportKey('pkcs8', keys.pair.privateKey).then(() => true, () => false);
  same(leaked, false);
});

await test('what a keyboard gives is mended as the form says', () => {
  same(mendText('a\u0007b\ud800c\u007f'), 'a b\ufffdc ');
  same(mendText('e\u0301'), '\u00e9');
});

await test('nights begin at noon of the collection’s zone, also where clocks change', () => {
  // Berlin: +60, summer time +120 from 2026-03-29 01:00 UTC (IANA tz database).
  const settings = { zone: [[0, 60], [Date.parse('2026-03-29T01:00:00Z'), 120]], night_start: 720 };
  same(nightOf(settings, Date.parse('2026-03-28T10:59:00Z')), dayNumber('2026-03-27'));
  same(nightOf(settings, Date.parse('2026-03-28T11:00:00Z')), dayNumber('2026-03-28'));
  same(nightOf(settings, Date.parse('2026-03-29T09:59:00Z')), dayNumber('2026-03-28'));
  same(nightOf(settings, Date.parse('2026-03-29T10:00:00Z')), dayNumber('2026-03-29'));
});

await test('what is due follows the rules of the program', () => {
  const day = dayNumber('2026-11-25');
  const due = (animal) => dueFor({ every: '7-10', ...animal }, limitsOf({}), { tonight: day, today: day, now: day * 86_400_000 }).map((line) => [line.due, line.days]);
  same(due({ last_meal: day - 6 }), []);
  same(due({ last_meal: day - 7 }), [['food', 0]]);
  same(due({ last_meal: day - 12 }), [['overdue', 2]]);
  same(due({ last_meal: day - 12, open_offer: day }), [['open_offer', 0]]);
  same(due({ last_meal: day - 12, opaque: day - 3 }), []);
  same(due({ last_meal: day - 12, opaque: day - 22 }), [['shed_late', 1], ['overdue', 2]]);
  same(due({ last_meal: day - 12, regurgitated: day - 9 }), [['leave_alone', 9]]);
  same(due({ check_tub: day }), [['check_tub', 0]]);
  same(due({ last_meal: day - 8, refusals: 3 }), [['off_feed', 3], ['food', 1]]);
  same(due({ last_meal: day - 1, caution: 'perhaps-fed-twice', caution_night: day - 2 }), [['leave_alone', 2]]);
  same(intervalOf({ hatched: '2026-08' }, day), { least: 5, most: 7, thumb: true });
});

await test('what is searched comes in the order in which people count, beginnings first', async () => {
  const { Aisle, byLabel } = await load('aisle/aisle.mjs');
  const aisle = new Aisle();
  const labels = ['B-10', 'b-2', 'Äsche', 'asche 2', 'X', 'B-2a', 'C-B-1'];
  aisle.take(labels.map((label, i) => ({ t: 'animal', id: `A${i}`, label, genes: label === 'X' ? 'b-het' : undefined })));
  aisle.rebuild();
  const found = (text, limit) => aisle.find(text, limit).map((one) => one.label);
  same(found('b-'), ['b-2', 'B-2a', 'B-10', 'C-B-1', 'X']);
  same(found('b-', 2), ['b-2', 'B-2a']);
  same(found('sche'), ['Äsche', 'asche 2']);
  // The order is that of the collator which the other lists are sorted by (Unicode Technical Standard 10).
  same(aisle.prepareSearch().map((row) => aisle.thing(row.id)), [...aisle.animals.values()].sort(byLabel));
});

await test('every text that the screens name is in the table', () => {
  const files = execFileSync('find', [page, '-name', '*.mjs'], { encoding: 'utf8' }).trim().split('\n');
  const kinds = readFileSync(join(page, 'view/kinds.mjs'), 'utf8').match(/^  \w+(?=: \{ form)/gm).map((line) => line.trim());
  for (const kind of kinds) same(`kind.${kind}` in kWords, true, `kind.${kind}:`);
  for (const file of files) {
    const text = readFileSync(file, 'utf8');
    for (const [, key] of text.matchAll(/say\('([a-z]+\.[a-z_.-]+)'/g)) same(key in kWords, true, `${file} says ${key}:`);
    for (const [, key] of text.matchAll(/\['((?:warn|notice|why)\.[a-z_]+)'/g)) same(key in kWords, true, `${file} says ${key}:`);
  }
});

await test('every text is there in every language', () => {
  for (const [key, row] of Object.entries(kWords)) same(row.length, kLanguages.length, `${key}:`);
});

rmSync(folder, { recursive: true });
console.log(`${passed} passed, ${failed} failed`);
process.exitCode = failed > 0 ? 1 : 0;
