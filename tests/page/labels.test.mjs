// Labels from the page: what a keeper chooses comes back as a PDF whose every label another reader (zbarimg) reads, and the
// print is registered as one from the command line.

import { execFileSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { check, finish } from './checks.mjs';
import { Hub, NodePhone } from './node_phone.mjs';

const hub = new Hub(process.argv[2]);
hub.run('animal', 'add', 'C-2', '--species', 'corn snake', '--at', 'A-02');
await hub.start();

const keeper = await NodePhone.join(hub, 'keeper', 'Ottoline');
const ask = (wish) => keeper.ask('/v1/labels', { method: 'POST', body: JSON.stringify({ sheet: 'a4-3x8', first: 1, codes: [], changed: false, ...wish }) + '\n' });
const reportOf = (answer) => JSON.parse(decodeURIComponent(answer.headers['rackside-report']));
const codeOf = (name) => hub.json('show', name).code;

/** What another reader sees on the pages. */
function decoded(pdf) {
  const path = join(hub.folder, 'labels');
  writeFileSync(`${path}.pdf`, pdf);
  execFileSync('pdftoppm', ['-r', '150', '-png', '-singlefile', `${path}.pdf`, path]);
  return execFileSync('zbarimg', ['--raw', '-q', `${path}.png`], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] }).trim().split('\n').sort();
}

const offer = JSON.parse((await keeper.ask('/v1/labels')).body);
check('the offer is what the command line has', JSON.stringify(offer.sheets.map((one) => one.name)) === JSON.stringify(hub.json('label', 'sheets').map((one) => one.name)));
check('sizes are told', offer.sheets[0].width_tenths_mm === 700 && offer.sheets[0].columns === 3);

const places = ['A-01', 'A-02', 'A-03', 'A-04', 'A-05', 'A-06'].map(codeOf).sort();
const all = await ask({ kind: 'place', codes: [codeOf('A')] });
check('a rack’s places', all.status === 200 && all.headers['content-type'] === 'application/pdf', String(all.body).slice(0, 200));
check('each one is read by another reader', JSON.stringify(decoded(all.body)) === JSON.stringify(places));
check('the report says how many', reportOf(all).labels === 6 && reportOf(all).pages === 1 && reportOf(all).reach_mm > 100, JSON.stringify(reportOf(all)));
const prints = hub.json('label', 'prints');
check('the print is registered', prints.length === 1 && prints[0].codes.length === 6 && prints[0].on === 'a4-3x8', JSON.stringify(prints));

const nothing = await ask({ kind: 'place', codes: [codeOf('A')], changed: true });
check('nothing changed, nothing to print', nothing.status === 400 && /nothing changed/i.test(JSON.parse(nothing.body).message), String(nothing.body));
hub.run('rack', 'add', 'B', '--places', '2');
const changed = await ask({ kind: 'place', changed: true });
check('only what is new is printed', reportOf(changed).labels === 2 && JSON.stringify(decoded(changed.body)) === JSON.stringify(['B-01', 'B-02'].map(codeOf).sort()));

const cards = await ask({ kind: 'animal', codes: [codeOf('A')], sheet: 'a4-2x7', first: 5 });
check('the animals of a rack', JSON.stringify(decoded(cards.body)) === JSON.stringify(['C-1', 'C-2'].map(codeOf).sort()));
const single = await ask({ kind: 'sale', codes: [codeOf('C-2')], sheet: 'a4-2x4' });
check('a single animal', single.status === 200 && decoded(single.body).join() === codeOf('C-2'), String(single.body).slice(0, 200));
const strips = await ask({ kind: 'strip', codes: [codeOf('A')] });
check('a rack’s strip', strips.status === 200 && reportOf(strips).labels === 6);
const badges = await ask({ kind: 'helper' });
check('every helper’s badge', reportOf(badges).labels === hub.json('label', 'prints').find((one) => one.design === 'helper').codes.length);

for (const [what, wish, status] of [
  ['a sheet that there is not', { kind: 'place', sheet: '../../etc/passwd' }, 400],
  ['a kind that there is not', { kind: 'scan-line' }, 400],
  ['what is no code', { kind: 'place', codes: ['A-01'] }, 400],
  ['a code that nobody registered', { kind: 'animal', codes: ['ABVQAPNRC3'] }, 404],
  ['a place as an animal', { kind: 'animal', codes: [codeOf('A-01')] }, 400],
  ['a label outside the sheet', { kind: 'place', first: 25 }, 400],
]) {
  const answer = await ask(wish);
  check(`${what} is turned down`, answer.status === status && JSON.parse(answer.body).message.length > 20, `${answer.status} ${String(answer.body).slice(0, 200)}`);
}
const before = hub.json('label', 'prints').length;
check('what was turned down is not registered', before === 6, String(before));
hub.run('check');

await hub.stop();
finish();
