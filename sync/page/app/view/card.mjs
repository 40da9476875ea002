// One animal as its card shows it: place and name largest, then what warns, what is due, what it ate.

import { phone } from '../phone.mjs';
import { dueAt, isUnwell, limitsOf, restsAfterMeal } from '../aisle/due.mjs';
import { warningsOf } from '../aisle/warnings.mjs';
import { dayOf } from '../aisle/nights.mjs';
import { ago, grams, say } from '../words/say.mjs';
import { h, icon } from './dom.mjs';
import { contradicted, oddsTexts } from './odds.mjs';
import { preyText } from './session.mjs';

const kLoud = ['leave_alone', 'check_tub', 'two_in_tub', 'separate', 'ill', 'dose', 'stuck_shed', 'weight_loss', 'near_ill'];
const kTreatmentShown = 14 * 24 * 3600_000;

export const sexSign = (animal) => ({ male: '♂', female: '♀' })[animal.sex] ?? '?';
export const sexWord = (animal) => say(`sex.${animal.sex === 'male' || animal.sex === 'female' ? animal.sex : 'unknown'}`);

/** A sign and, for who does not see it, a word. */
export const sexMark = (animal) =>
  h(`span.sex.${animal.sex || 'unknown'}`, { title: sexWord(animal) }, h('span', { 'aria-hidden': 'true' }, sexSign(animal)), h('span.unseen', null, sexWord(animal)));

/** "ate small rat, 3 days ago" */
export function lastMeal(animal) {
  const { night } = animal;
  if (!night) return say('card.no_meal');
  const what = say(`outcome.${night.outcome}`);
  const prey = night.prey ? ` ${preyText(night.prey)}` : '';
  return `${what}${prey}, ${ago(night.at)}`;
}

export const whyText = ([key, args]) => say(key, args);

function place(animal) {
  const { aisle } = phone;
  if (animal.gone) return say(`card.${animal.gone[0]}`);
  if (animal.visit) return say('card.visits', { host: aisle.label(animal.visit[3]), place: aisle.label(animal.visit[0]) });
  return animal.home ? aisle.label(animal.home[0]) : say('card.nowhere');
}

function cautions(animal, lines) {
  const out = lines.filter((line) => kLoud.includes(line.due)).map((line) => [say(`due.${line.due}`), whyText(line.why)]);
  const dose = (animal.seen ?? []).find(([kind]) => kind === 'treated');
  if (dose && Date.now() - dose[1] < kTreatmentShown) out.push([say('card.treated'), ago(dose[1])]);
  if (animal.dose_in_doubt) out.push([say('card.dose'), ago(animal.dose_in_doubt)]);
  if (animal.gone) out.push([say(`card.${animal.gone[0]}`), say('card.wrong_record')]);
  for (const locus of contradicted(animal)) out.push([say('odds.no_answer', { locus }), say('odds.no_answer_hint')]);
  const company = phone.aisle.companyOf(animal);
  if (company?.visitor) out.push([say('card.together'), phone.aisle.label(company.id)]);
  const mark = phone.aisle.marks.get(animal.id);
  if (mark && mark.device !== phone.head?.device && Date.now() - mark.heard < 3_600_000)
    out.push([say('card.just_now', { helper: phone.aisle.label(mark.by) }), `${say(`kind.${mark.kind}`)}, ${ago(mark.heard)}`]);
  return out;
}

/** What speaks for or against feeding it now, beyond what is due: said before anybody taps. */
function beforeFeeding(animal, now) {
  const out = { warnings: [], notices: [] };
  const scene = { code: animal.id, found: [animal], reserved: [], known: true, at: now };
  warningsOf(phone.aisle, scene, { kind: 'fed' }, [animal], out);
  const of = (lines, wanted) => lines.find(([key]) => key === wanted);
  return { fasts: of(out.warnings, 'warn.fasts'), early: of(out.notices, 'notice.early') };
}

/** Of an animal that looks unwell or is under treatment: who is looked at too. */
function lookedAtToo(animal, now) {
  const { aisle } = phone;
  if (!isUnwell(animal, limitsOf(aisle.settings), dayOf(aisle.settings, now))) return undefined;
  const near = aisle.nearOf(animal).map(({ animal: one, beside }) => {
    const place = aisle.placeOf(one);
    return say(beside ? 'card.near' : 'card.was_with', { animal: one.label ?? one.id, place: place ? aisle.label(place) : '' });
  });
  return near.length > 0 ? near.join(', ') : undefined;
}

function fact(name, text, extra = '') {
  return h(`div.fact${extra}`, null, h('dt', null, name), h('dd', null, text));
}

/** @param {object} animal a line of the aisle @param {{small?: boolean}} [options] */
export function card(animal, { small = false } = {}) {
  if (animal.unknown) {
    return h('article.card.unknown', null, h('h2.name', null, animal.id), h('p', null, say('card.unknown')));
  }
  const now = Date.now();
  const lines = dueAt(phone.aisle, animal, now);
  const { fasts, early } = beforeFeeding(animal, now);
  const near = lookedAtToo(animal, now);
  const quiet = lines.filter((line) => !kLoud.includes(line.due));
  const warned = cautions(animal, lines);
  if (fasts) warned.push([say('card.fasts'), say('card.fasts_until', fasts[1])]);
  const odds = small ? [] : oddsTexts(animal);
  const opaque = animal.opaque !== undefined && dayOf(phone.aisle.settings, Date.now()) - animal.opaque <= 21;
  return h(
    `article.card${small ? '.small' : ''}`,
    { 'aria-label': animal.label ?? animal.id },
    h('header.who', null,
      h('span.place', null, place(animal)),
      h('h2.name', null, animal.label ?? animal.id, ' ', sexMark(animal)),
      animal.name && h('span.given', null, animal.name)),
    (animal.genes || animal.maybe) &&
      h('p.genes', null, h('bdi', null, animal.genes), animal.maybe && h('span.maybe', null, h('bdi', null, say('card.possible', { genes: animal.maybe })))),
    odds.length > 0 && h('p.odds', null, h('b', null, say('odds.title')), ' ', odds.join(' · '), ' ', h('small', null, say('odds.hint'))),
    warned.length > 0 &&
      h('ul.cautions', null, warned.map(([what, why]) => h('li', null, icon('warning'), h('b', null, what), h('span', null, why)))),
    h('dl.facts', null,
      fact(say('card.food'), lastMeal(animal)),
      quiet.map((line) => fact(say('card.due'), [h('b', null, say(`due.${line.due}`)), ' ', whyText(line.why)], line.due === 'overdue' ? '.late' : '')),
      early && fact(say('card.due'), say('card.due_in', early[1])),
      near && fact(say('card.look_too'), near, '.late'),
      restsAfterMeal(animal, limitsOf(phone.aisle.settings), Date.now()) && fact(say('card.rest'), say('card.rests', { hours: limitsOf(phone.aisle.settings).meal_rest_hours })),
      opaque && fact(say('card.skin'), say('card.opaque')),
      animal.grams_tenths > 0 && !small && fact(say('card.weight'), `${grams(animal.grams_tenths)}, ${ago(animal.weighed_at)}`)),
  );
}
