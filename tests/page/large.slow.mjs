// The aisle's copy of ten thousand animals: compressed, with what was just recorded in it at once, and the same as the copy
// that is gathered whole later. Sizes and times are printed, not judged: they depend on the machine.

import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { checkAndTell as check, finish } from './checks.mjs';
import { Hub, NodePhone } from './node_phone.mjs';

const { Aisle } = await import('../../sync/page/app/aisle/aisle.mjs');
const kAnimals = Number(process.env.RACKSIDE_ANIMALS ?? 10_000);

const hub = new Hub(process.argv[2]);
const rows = Array.from({ length: kAnimals }, (_, i) => `S-${i + 1},corn snake,${i % 2 ? 'male' : 'female'},,${i % 3 ? 'het amelanistic' : 'anerythristic'},small-rat,`);
writeFileSync(join(hub.folder, 'animals.csv'), `short,species,sex,at,genes,prey,name\n${rows.join('\n')}\n`);
hub.run('animal', 'import', join(hub.folder, 'animals.csv'));
await hub.start();
const phone = await NodePhone.join(hub, 'helper', 'Sefa');
phone.agent = false;

/** The copy as a browser asks for it. */
async function copy(since = '') {
  const begun = performance.now();
  const answer = await phone.ask(`/v1/aisle?unsent=0${since && `&since=${since}`}`, { headers: { 'Accept-Encoding': 'gzip' } });
  const packed = answer.headers['content-encoding'] === 'gzip';
  const text = (packed ? gunzipSync(answer.body) : answer.body).toString();
  const [first, ...lines] = text.trimEnd().split('\n').map((line) => JSON.parse(line));
  return { first, lines: lines.slice(0, -1), ms: performance.now() - begun, wire: answer.body.length, size: text.length, packed };
}
const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
const lineOf = (all, id) => all.lines.find((line) => line.t === 'animal' && line.id === id);

const whole = await copy();
console.log(`       gathered and sent in ${whole.ms.toFixed(0)} ms, ${whole.size} bytes as ${whole.wire} on the wire`);
check('every animal is in it', whole.lines.filter((line) => line.t === 'animal').length === kAnimals + 1);
check('it travels compressed', whole.packed && whole.wire * 5 < whole.size);
let next = whole;
for (let i = 0; i < 60 && !next.lines.some((line) => line.t === 'odds'); i += 1) {
  await wait(500);
  next = await copy();
}
check('the odds of their genes follow', next.lines.some((line) => line.t === 'odds'));

// ---- what was just recorded

const code = hub.json('show', `S-${kAnimals}`).code;
await phone.record({ kind: 'weighed', of: [code], own: { grams_tenths: 4210 }, by: phone.by });
await phone.record({ kind: 'fed', of: [code], own: { items: [{ prey: 'small-rat', count: 1 }] }, by: phone.by });
await phone.push();
const fresh = await copy(next.first.aisle);
console.log(`       asked again after an entry: ${fresh.ms.toFixed(0)} ms, ${fresh.lines.length} lines, whole again in ${fresh.first.again_ms} ms`);
check('an entry is in the copy at once', fresh.first.mine?.[1] === phone.head.seq && lineOf(fresh, code)?.grams_tenths === 4210 && lineOf(fresh, code)?.night?.outcome === 'ate', JSON.stringify(fresh.first));
check('and nothing else travels', fresh.lines.filter((line) => line.t === 'animal').length === 1, String(fresh.lines.length));
let later = fresh;
for (let i = 0; i < 240 && (later.first.again_ms ?? 0) > 0; i += 1) {
  await wait(1000);
  later = await copy(later.first.aisle);
}
const again = await copy();
check('gathered whole it says the same', JSON.stringify(lineOf(again, code)) === JSON.stringify(lineOf(fresh, code)), `${JSON.stringify(lineOf(again, code))} ${JSON.stringify(lineOf(fresh, code))}`);

// ---- on the phone

const aisle = new Aisle();
aisle.take(again.lines);
aisle.rebuild();
for (const text of ['anery', 's-99', 'zzz']) {
  const begun = performance.now();
  const found = aisle.find(text);
  console.log(`       search for "${text}" here: ${(performance.now() - begun).toFixed(1)} ms, ${found.length} found`);
}
hub.run('check');
await hub.stop();
finish();
