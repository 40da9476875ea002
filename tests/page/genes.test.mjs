// Odds of genes at the hub: the copy's lines and the forecast of a pair, held against Mendel's ratios (Mendel 1866: of two
// carriers' young a quarter shows, half carries, so two thirds of those that look normal carry) and Wright's coefficients
// (Wright 1922: young of full sibs 1/4, of half sibs 1/8).

import { check, finish } from './checks.mjs';
import { Hub, NodePhone } from './node_phone.mjs';

const hub = new Hub(process.argv[2]);
for (const [name, species, sex] of [
  ['F-1', 'corn snake', 'female'], ['M-1', 'corn snake', 'male'], ['M-2', 'corn snake', 'male'],
  ['Y-1', 'corn snake', 'female'], ['Y-2', 'corn snake', 'male'], ['Y-3', 'corn snake', 'male'],
  ['P-1', 'ball python', 'male'], ['P-2', 'ball python', 'female'],
]) hub.run('animal', 'add', name, '--species', species, '--sex', sex);
const code = Object.fromEntries(['F-1', 'M-1', 'M-2', 'Y-1', 'Y-2', 'Y-3', 'P-1', 'P-2', 'C-1'].map((name) => [name, hub.json('show', name).code]));
for (const name of ['F-1', 'M-1']) hub.run('says', name, 'het', 'amel', '--basis', 'bought');
for (const name of ['Y-1', 'Y-2']) {
  hub.run('says', name, 'dam', 'F-1');
  hub.run('says', name, 'sire', 'M-1');
  hub.run('says', name, 'normal');
}
hub.run('says', 'Y-3', 'dam', 'F-1');
hub.run('says', 'Y-3', 'sire', 'M-2');
for (const name of ['P-1', 'P-2']) hub.run('says', name, 'visual', 'spider');
await hub.start();

const phone = await NodePhone.join(hub, 'helper', 'Sefa');
const viewer = await NodePhone.join(hub, 'viewer');
const pairing = async (a, b, by = phone) => {
  const answer = await by.ask(`/v1/pairing?a=${code[a] ?? a}&b=${code[b] ?? b}`, { agent: false });
  return { status: answer.status, ...JSON.parse(answer.body) };
};
const lines = (answer) => answer.body.toString().trimEnd().split('\n').map((line) => JSON.parse(line));

/** The copy, once it holds odds that satisfy. */
async function copyWith(satisfies) {
  for (let i = 0; i < 100; i += 1) {
    const all = lines(await phone.ask('/v1/aisle', { agent: false }));
    if (satisfies(all)) return all;
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  return [];
}
const oddsOf = (all, name) => all.find((line) => line.t === 'odds' && line.id === code[name]);
const amel = (all, name) => oddsOf(all, name)?.loci[0]?.chances?.[0]?.[0];

// ---- the line on the card

const copy = await copyWith((all) => oddsOf(all, 'Y-1'));
check('a normal-looking young of two carriers carries with two thirds', amel(copy, 'Y-1') === 666_667, JSON.stringify(oddsOf(copy, 'Y-1')));
check('what is sure is a whole million', amel(copy, 'F-1') === 1_000_000);
check('a young of which nobody said how it looks has a quarter and a half', JSON.stringify(oddsOf(copy, 'Y-3')) === JSON.stringify({ t: 'odds', id: code['Y-3'], loci: [{ locus: 'amelanism', chances: [[500_000, 'het amel']] }] }), JSON.stringify(oddsOf(copy, 'Y-3')));
check('an animal with nothing but normal genes has no line', oddsOf(copy, 'M-2') === undefined);
const [first] = lines(await phone.ask('/v1/aisle', { agent: false }));
hub.run('says', 'Y-1', 'not', 'amel');
const changed = await copyWith((all) => !oddsOf(all, 'Y-1'));
check('a new statement changes the line', changed.length > 0 && amel(changed, 'Y-2') === 666_667);
const news = lines(await phone.ask(`/v1/aisle?since=${first.aisle}`, { agent: false }));
check('and only that travels', news.some((line) => line.gone === `odds:${code['Y-1']}`) && !news.some((line) => line.id === code['Y-2'] && line.t === 'odds'), JSON.stringify(news));

// ---- what a pair may give

const carriers = await pairing('F-1', 'M-1');
const young = Object.fromEntries(carriers.young.map((one) => [one.look, one]));
check('a quarter shows', young.amel.chance === 250_000 && young.normal.chance === 750_000, JSON.stringify(carriers));
check('of the others two thirds carry', JSON.stringify(young.normal.carries) === JSON.stringify([[666_667, 'het amel']]));
check('the male is told from the female', carriers.sire === code['M-1'] && carriers.dam === code['F-1'] && (await pairing('M-1', 'F-1')).sire === code['M-1']);
check('the command line says the same', Math.abs(hub.json('odds', 'M-1', 'F-1').young.find((one) => one.look === 'amel').chance - 0.25) < 1e-9);
check('full sibs', (await pairing('Y-1', 'Y-2')).inbreeding === 250_000);
check('half sibs', (await pairing('Y-1', 'Y-3')).inbreeding === 125_000);
check('strangers', carriers.inbreeding === 0 && carriers.parents_known === false);
const harmed = await pairing('P-1', 'P-2');
check('a pair whose young may suffer or not live says so, with its source', harmed.harms.length > 0 && harmed.harms.every((one) => one.source.length > 10 && one.chance > 0), JSON.stringify(harmed.harms));
check('a viewer may ask', (await pairing('F-1', 'M-1', viewer)).status === 200);
// What was just entered counts: a forecast is never of yesterday's book.
hub.run('says', 'M-1', 'visual', 'amel', '--certainty', 'sure');
check('a forecast rests on the book as it stands', (await pairing('F-1', 'M-1')).young.find((one) => one.look === 'amel')?.chance !== 250_000);

for (const [what, a, b, status] of [
  ['one animal twice', 'F-1', 'F-1', 400], ['two females', 'F-1', 'Y-1', 400], ['two species', 'F-1', 'P-1', 400],
  ['what is no code', 'F-1', 'nobody', 404], ['nothing', '', '', 404], ['an animal that the book does not know', 'F-1', 'ABVQAPNRC3', 404],
]) {
  const answer = await pairing(a, b);
  check(`${what} has no forecast, with a reason`, answer.status === status && answer.message.length > 20, JSON.stringify(answer));
}
hub.run('check');

await hub.stop();
finish();
