// What a phone knows of eggs by the code on their box, and of times that a person said: the page's modules against the
// program, by the copy that the hub gives.

import { check, finish } from './checks.mjs';
import { Hub, NodePhone } from './node_phone.mjs';

// The hub reads its zone where it runs. Berlin, by the IANA tz database: +60, +120 from 2026-03-29 01:00 to 2026-10-25 01:00 UTC.
process.env.TZ = 'Europe/Berlin';

const { Aisle } = await import('../../sync/page/app/aisle/aisle.mjs');
const { compose, look } = await import('../../sync/page/app/aisle/compose.mjs');
const { instantSaid } = await import('../../sync/page/app/aisle/nights.mjs');
const { dayNumber, dayOf } = await import('../../sync/page/app/aisle/nights.mjs');

const hub = new Hub(process.argv[2], { empty: true });
const daysAgo = (days) => new Date(Date.now() - days * 86_400_000).toISOString().slice(0, 10);
hub.run('rack', 'add', 'A', '--places', '6');
for (const [name, sex] of [['C-3', 'female'], ['C-4', 'male'], ['C-5', 'female']]) hub.run('animal', 'add', name, '--species', 'corn snake', '--sex', sex, '--at', `A-0${name.at(-1)}`);
hub.run('log', 'laid', 'C-3', '7+1', '--at', daysAgo(30));
hub.run('log', 'incubated', 'C-3', '28', '--at', daysAgo(29));
hub.run('log', 'laid', 'C-5', '--at', daysAgo(3));
hub.run('label', 'clutch', 'C-3', '--boxes', '3', '--out', `${hub.folder}/boxes.pdf`);
hub.run('label', 'clutch', 'C-5', '--out', `${hub.folder}/clutch.pdf`);

await hub.start();
const phone = await NodePhone.join(hub, 'helper', 'Ilka');
let version = '';

/** The hub's copy, changed lines only after the first. */
async function fetch(aisle) {
  const lines = (await phone.ask(`/v1/aisle?since=${version}`)).body.toString().trimEnd().split('\n').map((line) => JSON.parse(line));
  version = lines[0].aisle;
  aisle.take(lines.slice(1, -1));
  aisle.rebuild();
  return lines.slice(1, -1);
}
const aisle = new Aisle();
await fetch(aisle);

// ---- the boxes of a clutch

const [animal] = [...aisle.animals.values()].filter((one) => one.label === 'C-3');
const clutchOf = (dam) => hub.json('clutches', dam, '--all')[0];
const boxes = () => [...aisle.codes.values()].filter((one) => one.of === animal.id);
check('each box of a clutch has a code of its own', boxes().length === 3 && boxes().every((one) => one.id[0] === 'E'), JSON.stringify(boxes()));
check('each knows which box it is', JSON.stringify(boxes().map((one) => [one.box, one.boxes]).sort()) === '[[1,3],[2,3],[3,3]]', JSON.stringify(boxes()));
const single = [...aisle.codes.values()].find((one) => one.id[0] === 'C');
check('a clutch in one box has a clutch’s code', single?.label === 'C-5' && single.boxes === 1 && single.good === undefined, JSON.stringify(single));
function sameAsBook(what) {
  const theirs = clutchOf('C-3');
  const told = [theirs.laid, theirs.good, theirs.slugs, theirs.waiting, theirs.incubation.at(-1)?.celsius_tenths, theirs.candlings.at(-1)?.good, theirs.hatched];
  for (const { laid, good, slugs, waiting, celsius_tenths, candled_good, hatched = 0 } of boxes()) {
    const ours = [new Date(laid * 86_400_000).toISOString().slice(0, 10), good, slugs, waiting, celsius_tenths, candled_good, hatched];
    check(`a box tells what the book says ${what}`, JSON.stringify(ours) === JSON.stringify(told), JSON.stringify([ours, told]));
  }
}
sameAsBook('once laid');

// ---- an entry of a box

let seq = phone.head.seq;
/** Enters something of a code as the page does; gives the aisle as the phone shows it before the hub answers. */
async function enter(code, kind, own, said) {
  const { draft, animals, warnings } = compose(aisle, look(aisle, code, Date.now()), { kind, own }, {});
  const written = await phone.record({ ...draft, said });
  seq = written.seq;
  const shown = new Aisle();
  for (const [sort, lines] of Object.entries(aisle.base)) shown.base[sort] = new Map(lines);
  shown.mine = seq - 1;
  shown.entries = [{ seq, kind, draft, about: { animals }, wall: Date.now(), ref: `${phone.head.device}:${seq}:${phone.head.hash.slice(0, 32)}` }];
  shown.rebuild();
  const answer = await phone.push();
  check(`the hub takes “${kind}” of ${code[0]}…`, answer.status === 200, String(answer.body));
  return { draft, shown, warnings };
}
const eggFields = ({ waiting, candled_good, candled_bad, hatched = 0, pipped = 0 }) => JSON.stringify({ waiting, candled_good, candled_bad, hatched, pipped: Math.max(pipped, hatched) });

const box = boxes().find((one) => one.box === 2).id;
const { eggs, found, place } = look(aisle, box, Date.now());
check('a box opens its clutch, and its dam', eggs?.laid === dayNumber(daysAgo(30)) && found[0]?.id === animal.id && !place, JSON.stringify(eggs));
for (const [kind, own] of [['candled', { good: 6, bad: 1 }], ['hatched', { count: 4 }], ['hatched', { count: 2 }]]) {
  const { draft, shown, warnings } = await enter(box, kind, own);
  check('the entry names the code that was read', JSON.stringify(draft.of) === JSON.stringify([box]) && warnings.length === 0, JSON.stringify([draft, warnings]));
  const mine = eggFields(shown.codes.get(box));
  await fetch(aisle);
  sameAsBook(`after “${kind}”`);
  check(`the phone shows “${kind}” before the hub does`, mine === eggFields(aisle.codes.get(box)), `${mine} and then ${eggFields(aisle.codes.get(box))}`);
}
check('what is empty says so', boxes().every((one) => one.waiting === 0 && one.hatched === 6), JSON.stringify(boxes()));

const unknown = look(aisle, 'E000000000', Date.now());
check('a box that the copy does not know is of eggs all the same', unknown.eggs && !unknown.eggs.of && unknown.found[0].unknown);

// ---- times that a person said, at the edges of summer time too

const weighed = [...aisle.animals.values()].find((one) => one.label === 'C-4');
/** @type {[object, string | undefined][]} what is said, and the instant that it is by the tz database */
const kSaid = [
  [{ day: '2026-03-29', clock: '02:30' }, '2026-03-29T01:00:00Z'], // clocks went from 02:00 to 03:00: the end of the gap
  [{ day: '2026-03-29', clock: '03:00' }, '2026-03-29T01:00:00Z'],
  [{ day: '2026-07-01' }, '2026-07-01T10:00:00Z'],
  [{ day: '2026-07-01', clock: '23:59' }, '2026-07-01T21:59:00Z'],
  [{ day: '2026-10-25', clock: '02:30' }, '2026-10-25T00:30:00Z'], // there were two such: the first
  [{ day: '2026-10-25', clock: '03:00' }, '2026-10-25T02:00:00Z'],
  [{ ago_min: 180 }, undefined],
];
let tenths = 4000;
for (const [said, known] of kSaid) {
  const now = Date.now();
  const mine = instantSaid(aisle.settings, said, now);
  await enter(weighed.id, 'weighed', { grams_tenths: (tenths += 10) }, said);
  await fetch(aisle);
  const theirs = aisle.animals.get(weighed.id).weighed_at;
  check(`the phone and the program understand ${JSON.stringify(said)} alike`, known ? mine === theirs && theirs === Date.parse(known) : Math.abs(mine - theirs) < 2_000,
    `${new Date(mine).toISOString()}, ${new Date(theirs).toISOString()}, ${known}`);
}

// What was told later of an earlier day takes nothing from what is known of a later one.
const { shown } = await enter(weighed.id, 'fed', { items: [{ prey: 'fuzzy', count: 1 }] }, { ago_min: 0 });
await fetch(aisle);
const before = aisle.animals.get(weighed.id);
const late = { kind: 'fed', draft: { kind: 'fed', own: {} }, about: { animals: [weighed.id], at: Date.now() - 9 * 86_400_000 }, wall: Date.now(), seq: 999, ref: 'x:1:y' };
aisle.add([late]);
const after = aisle.animals.get(weighed.id);
check('a meal of last week is not tonight’s', after.last_meal === before.last_meal && after.night.number === before.night.number && after.last_seen === before.last_seen, JSON.stringify([before, after]));
check('and of tonight’s the newest stays first', shown.animals.get(weighed.id).night.number === before.night.number && after.seen[0][0] === 'fed' && after.seen[0][1] > late.about.at, JSON.stringify(after.seen));
check('days are the collection’s', dayOf(aisle.settings, Date.parse('2026-07-01T22:30:00Z')) === dayNumber('2026-07-02'));

await hub.stop();
finish();
