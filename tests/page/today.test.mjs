// The day's list, told twice: by the program, and by the page's modules from the copy that the hub gives a phone. An invented
// year's book, with what comes of more than one animal added: neighbours and partners of ill ones, errands of rotations,
// what to thaw.

import { check, finish } from './checks.mjs';
import { Hub, NodePhone } from './node_phone.mjs';

const { Aisle } = await import('../../sync/page/app/aisle/aisle.mjs');
const { dueAt } = await import('../../sync/page/app/aisle/due.mjs');
const { thawTonight } = await import('../../sync/page/app/aisle/thaw.mjs');
const { kWords } = await import('../../sync/page/app/words/words.mjs');

const hub = new Hub(process.argv[2], { empty: true });
hub.run('demo', 'season');

// ---- what comes of several animals

const all = hub.json('list', 'animals').filter((one) => one.short.startsWith('C-'));
const females = all.filter((one) => one.fields.sex === 'female' && one.place);
const males = all.filter((one) => one.fields.sex === 'male' && one.place);
hub.run('log', 'ill', females[3].code, 'mites');
hub.run('log', 'paired', males[1].code, females[3].code);
hub.run('log', 'separated', males[1].code);
hub.run('log', 'treated', females[9].code, 'fenbendazole', 'repeat', '10');
hub.run('log', 'died', females[12].code);
for (const male of males.slice(4, 9)) hub.run('rotation', 'set', male.code, ...females.slice(14, 24).map((one) => one.code));
hub.run('fast', 'set', females[5].code, new Date(Date.now() - 5 * 86_400_000).toISOString().slice(0, 10), new Date(Date.now() + 20 * 86_400_000).toISOString().slice(0, 10));

await hub.start();
const phone = await NodePhone.join(hub, 'helper', 'Ilka');
const lines = (await phone.ask('/v1/aisle')).body.toString().trimEnd().split('\n').map((line) => JSON.parse(line));
const aisle = new Aisle();
aisle.take(lines.slice(1, -1));
aisle.rebuild();

// ---- the list

const kOtherWords = { two_in_one_tub: 'two_in_tub', not_seen: 'unseen', near_an_ill_one: 'near_ill' };
const word = (text) => kOtherWords[text.replaceAll(' ', '_')] ?? text.replaceAll(' ', '_');
const now = Date.now();
const theirs = hub.json('today').racks.flatMap((rack) => rack.lines).map((line) => `${line.short} ${word(line.due)} ${line.days}`).sort();
const ours = [...aisle.animals.values()].filter((animal) => aisle.placeOf(animal))
  .flatMap((animal) => dueAt(aisle, animal, now).map((line) => `${animal.label} ${line.due} ${line.days}`)).sort();
const only = (a, b) => a.filter((line) => !b.includes(line));
check('the phone says what the hub says, and no more', only(theirs, ours).length + only(ours, theirs).length === 0, `hub only: ${only(theirs, ours).slice(0, 8)}; phone only: ${only(ours, theirs).slice(0, 8)}`);
check('of many lines', ours.length > 40, String(ours.length));
for (const due of ['food', 'overdue', 'near_ill', 'rotate', 'ill', 'open_offer']) check(`a line “${due}” is among them`, ours.some((line) => line.includes(` ${due} `)));
const partner = [...aisle.animals.values()].find((animal) => animal.id === males[1].code);
check('whoever was with an ill one is looked at', dueAt(aisle, partner, now).some((line) => line.due === 'near_ill'));
const rotated = [...aisle.animals.values()].flatMap((animal) => dueAt(aisle, animal, now)).filter((line) => line.due === 'rotate');
const errands = hub.json('today').racks.flatMap((rack) => rack.lines).filter((line) => line.due === 'rotate' || line.due === 'pairing');
check('a rotation names the same tubs', rotated.length === errands.length && rotated.every(({ why: [key, args] }) => errands.some((line) => line.why.startsWith(kWords[key][0](args)))), JSON.stringify([rotated.map(({ why: [key, args] }) => kWords[key][0](args)), errands.map((line) => line.why)]));

// ---- what to thaw

const thaw = hub.json('thaw', '--for', 'tonight');
const mine = thawTonight(aisle, now);
check('the phone thaws what the hub thaws', JSON.stringify(mine.items.map((one) => [one.prey, one.wanted, one.margin])) === JSON.stringify(thaw.items.map((one) => [one.prey, one.wanted, one.margin])), JSON.stringify([mine, thaw]));
check('for as many', mine.toFeed === thaw.to_feed && mine.unknown === thaw.unknown_prey, JSON.stringify([mine, thaw]));

// ---- an animal that died has a line of its own, which removes nothing

const dead = [...aisle.animals.values()].find((animal) => animal.id === females[12].code);
check('who died is still known', dead?.gone?.[0] === 'died', JSON.stringify(dead));
aisle.take([{ gone: `animal:${dead.id}` }]);
aisle.rebuild();
check('and goes when the hub says so', !aisle.animals.has(dead.id));

await hub.stop();
finish();
