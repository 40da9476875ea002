// Odds of genes in words: the line on a card, and what a pair may give. Chances come from the hub in millionths, and only
// what is certain is a whole million: nothing is rounded to certainty.

import { phone } from '../phone.mjs';
import { number, say } from '../words/say.mjs';
import { h, icon } from './dom.mjs';

const kAll = 1_000_000;
const kShownYoung = 8;
/** What full sibs, half sibs and first cousins have: Wright 1922. */
const kFull = 250_000;
const kHalf = 125_000;
const kCousins = 62_500;

/** "66.7 %", "under 0.01 %" @param {number} chance in millionths @param {number} digits at most, behind the point */
export function percentText(chance, digits = 1) {
  if (chance <= 0 || chance >= kAll) return say('odds.percent', { value: number(chance <= 0 ? 0 : 100) });
  const value = chance / 10_000;
  if (value < 0.01) return say('odds.under', { value: number(0.01, 2) });
  if (value > 99.99) return say('odds.over', { value: number(99.99, 2) });
  return say('odds.percent', { value: number(value, value < 1 || value > 99 ? 2 : digits) });
}

function chanceText([chance, gene], about) {
  if (chance >= kAll) return say('odds.certain', { gene });
  const value = percentText(chance);
  return `${about ? say('odds.about', { value }) : value} ${gene}`;
}

/** What the card says as certain needs no odds. */
const isSaid = (animal, [chance, gene]) => chance >= kAll && (animal.genes ?? '').toLowerCase().includes(gene.toLowerCase());

/** The odds of an animal's genes as the hub reckoned them last, one text a gene. */
export function oddsTexts(animal) {
  const odds = phone.aisle.base.odds.get(animal.id);
  if (!odds) return [];
  const out = odds.loci
    .filter((locus) => locus.chances && !locus.chances.every((one) => isSaid(animal, one)))
    .map((locus) => locus.chances.map((one) => chanceText(one, locus.about)).join(', '));
  if (odds.more) out.push(say('odds.more', { count: odds.more }));
  return out;
}

/** Genes of which the records cannot all be true. */
export const contradicted = (animal) => (phone.aisle.base.odds.get(animal.id)?.loci ?? []).filter((locus) => locus.no_answer).map((locus) => locus.locus);

// ---- what a pair may give

const caution = (what, why) => h('li', null, icon('warning'), h('b', null, what), why && h('span', null, why));

function inbreedingText(chance) {
  if (chance >= kFull) return say('pair.inbred_full');
  if (chance >= kHalf) return say('pair.inbred_half');
  return say(chance >= kCousins ? 'pair.inbred_cousins' : 'pair.inbred_far');
}

function cautionsOf(forecast) {
  const out = [];
  if (forecast.lost > 0) out.push(caution(say('pair.lost', { chance: percentText(forecast.lost) }), say('pair.lost_why')));
  for (const harm of forecast.harms) {
    const lethal = harm.as_most_say ? 'pair.lethal_as_said' : 'pair.lethal';
    const what = say(harm.lethal ? lethal : 'pair.harm', { pair: harm.pair, chance: percentText(harm.chance) });
    out.push(caution(what, [harm.what, harm.source].filter(Boolean).join('. ')));
  }
  if (forecast.inbreeding > 0) out.push(caution(say(forecast.at_least ? 'pair.inbred_at_least' : 'pair.inbred', { chance: percentText(forecast.inbreeding, 2) }), inbreedingText(forecast.inbreeding)));
  if (forecast.unanswered.length > 0) out.push(caution(say('pair.unanswered', { genes: forecast.unanswered.join(', ') })));
  return out;
}

function youngLine(young) {
  const genes = (young.carries ?? []).map(([chance, gene]) => (chance >= kAll ? gene : `${percentText(chance)} ${gene}`)).join(', ');
  return h('li', null, h('b.chance', null, percentText(young.chance)), h('span', null, young.look, young.sex && ` (${say(`sex.${young.sex}`)})`, genes && h('small', null, say('pair.carries', { genes }))));
}

function youngList(forecast) {
  const shown = forecast.young.slice(0, kShownYoung);
  const rest = forecast.rest + forecast.young.slice(kShownYoung).reduce((sum, one) => sum + one.chance, 0);
  return h('section.young', null, h('h4', null, say('pair.may_give')),
    h('ul', null, shown.map(youngLine)),
    rest > 0 && h('p.hint', null, say('pair.rest', { chance: percentText(rest) })),
    forecast.error > 0 && h('p.hint', null, say('pair.drawn', { error: percentText(forecast.error) })),
    h('small', null, say('pair.basis')));
}

/**
 * What the hub said of a pair, cautions first.
 * @param {{state: string, message?: string, told?: object}} asked
 */
export function forecastBlock(asked) {
  if (asked.state === 'asking') return [h('p.hint', { role: 'status' }, say('pair.asking'))];
  if (asked.state === 'away') return [h('p.notice', { role: 'status' }, say('pair.away'))];
  if (asked.state === 'refused') return [h('p.notice', { role: 'status' }, say('pair.none', { why: asked.message }))];
  const forecast = asked.told;
  const cautions = cautionsOf(forecast);
  return [
    cautions.length > 0 && h('div', { role: 'status' }, h('ul.cautions', null, cautions)),
    (forecast.harms.length > 0 || forecast.lost > 0) && h('p.hint', null, say('pair.whose_word')),
    forecast.inbreeding === 0 && h('p.hint', null, say('pair.not_inbred'), !forecast.parents_known && ` ${say('pair.parents_unknown')}`),
    forecast.young.length > 0 && youngList(forecast),
  ];
}
