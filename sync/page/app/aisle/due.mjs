// What is due at a tub, from the facts that the hub gathered. Says what core/husbandry/plan says of the same facts, for
// every night that this phone stays away. Reasons are keys of words/words.mjs with what belongs into them.

import { dayNumber, dayOf, tonight } from './nights.mjs';

/** Rest after a regurgitation (common practice, no source; ask a veterinarian). */
const kRest = 10;
/** Refusals in a row that make "off feed" (common practice, no source). */
const kOffFeed = 3;
/** A shed takes 7 to 14 days (a veterinary article); later it is overdue, not opaque. */
const kOpaqueLasts = 21;

/** @typedef {{due: string, days: number, why: [string, object]}} DueLine */

/** Days between meals. @returns {{least: number, most: number, thumb: boolean}} */
export function intervalOf(animal, today) {
  const own = /^(\d{1,3})(?:-(\d{1,3}))?$/.exec(animal.every ?? '');
  if (own) {
    const least = Number(own[1]);
    const most = Number(own[2] ?? own[1]);
    if (least > 0 && most >= least) return { least, most, thumb: false };
  }
  const hatched = dayNumber(animal.hatched);
  if (hatched !== undefined && today - hatched < 365) return { least: 5, most: 7, thumb: true };
  return { least: 10, most: 14, thumb: true };
}

function mealLines(animal, night, interval) {
  if (animal.open_offer !== undefined || animal.opaque_now !== undefined) return [];
  const rested = animal.regurgitated === undefined ? kRest : night - animal.regurgitated;
  if (rested < kRest) return [{ due: 'leave_alone', days: rested, why: ['why.regurgitated', { nights: rested }] }];
  if (animal.last_meal === undefined) {
    const days = animal.registered === undefined ? 0 : night - animal.registered;
    return [{ due: 'food', days, why: ['why.no_meal', {}] }];
  }
  const since = night - animal.last_meal;
  const why = ['why.last_ate', { nights: since, ...interval }];
  if (since > interval.most) return [{ due: 'overdue', days: since - interval.most, why }];
  if (since >= interval.least) return [{ due: 'food', days: since - interval.least, why }];
  return [];
}

/**
 * All that is due for one animal this night, the most urgent first.
 * @param {object} animal a line of the aisle @param {number} night @param {number} today @returns {DueLine[]}
 */
export function dueFor(animal, night, today) {
  const out = [];
  const opaque = animal.opaque !== undefined && today - animal.opaque <= kOpaqueLasts ? animal.opaque : undefined;
  if (animal.check_tub !== undefined)
    out.push({ due: 'check_tub', days: night - animal.check_tub, why: ['why.check_tub', {}] });
  if (animal.caution === 'perhaps-fed-twice' && night - animal.caution_night <= 2)
    out.push({ due: 'leave_alone', days: night - animal.caution_night, why: ['why.fed_twice', {}] });
  if (animal.open_offer !== undefined)
    out.push({ due: 'open_offer', days: night - animal.open_offer, why: ['why.open_offer', {}] });
  if ((animal.refusals ?? 0) >= kOffFeed)
    out.push({ due: 'off_feed', days: animal.refusals, why: ['why.off_feed', { times: animal.refusals }] });
  if (animal.check_tub === undefined)
    out.push(...mealLines({ ...animal, opaque_now: opaque }, night, intervalOf(animal, today)));
  return out;
}

/** The lines of one animal now, company included. @returns {DueLine[]} */
export function dueAt(aisle, animal, now) {
  const { settings } = aisle;
  const today = dayOf(settings, now);
  const out = dueFor(animal, tonight(settings, now), today);
  if (animal.visit) {
    const days = today - dayOf(settings, animal.visit[2]);
    out.push({ due: 'separate', days, why: ['why.separate', { days, partner: aisle.label(animal.visit[3]) }] });
  }
  const doubt = aisle.doubtful.get(animal.id);
  if (doubt) out.unshift({ due: 'check_tub', days: 0, why: doubt });
  if (aisle.isCrowded(animal)) out.unshift({ due: 'two_in_tub', days: 0, why: ['why.two_in_tub', {}] });
  return out;
}
