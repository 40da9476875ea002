// What is due at a tub, from the facts that the hub gathered. Says what core/husbandry/plan and signs say of the same
// facts, for every night that this phone stays away; tests/vectors/due_twin.mjs holds both to it. Reasons are keys of
// words/words.mjs with what belongs into them.

import { dayNumber, dayOf, kMinute, tonight } from './nights.mjs';

const kHour = 60 * kMinute;

/** As core/husbandry/limits.cpp has them, for a hub that sends none. */
const kUsual = {
  meal_rest_hours: 48, regurgitation_rest_days: 10, refusals: 3, feed_gravid: 1, gravid_days: 120, opaque_days: 21,
  weight_loss_percent: 10, unseen_days: 14, treatment_days: 14, neighbour_days: 30, thaw_margin_percent: 5,
};
const kNightsWatched = 2;
const kDoseForgotten = 60;
const kDoseLate = 7;
const kWeightForgotten = 120;
const kAfterFast = 60;
const kOpaqueForgotten = 90;
const kSeenAfterMeal = 3;
/** As core/read/season_lines: so many days before its window a line appears. */
const kDaysAhead = 7;

/** @typedef {{due: string, days: number, why: [string, object]}} DueLine */
/** @typedef {{tonight: number, today: number, now: number}} Moment */

export const limitsOf = (settings) => ({ ...kUsual, ...(settings?.limits ?? {}) });

/** Days between meals: as the hub found it in the plans, else by the record and by age. @returns {{least: number, most: number, thumb: boolean}} */
export function intervalOf(animal, today) {
  if (animal.interval) return { least: animal.interval[0], most: animal.interval[1], thumb: animal.interval[2] === 1 };
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

const isGravid = (animal, limits, day) => animal.gravid !== undefined && day - animal.gravid <= limits.gravid_days;
const isFasting = (animal, day) => animal.fast !== undefined && animal.fast[0] <= day && day <= animal.fast[1];

/** Within the hours after a meal in which nobody is asked to handle it. */
export const restsAfterMeal = (animal, limits, now) =>
  animal.meal_minute !== undefined && now - animal.meal_minute * kMinute < limits.meal_rest_hours * kHour;

export function underTreatment(animal, limits, today) {
  return (animal.courses ?? []).some(([, day, repeat]) => today - day <= (repeat > 0 ? repeat + kDoseLate : limits.treatment_days));
}

/** How it stands with the next meal. @param {Moment} at @returns {{state: string, days: number}} */
export function mealState(animal, limits, at) {
  if (animal.check_tub !== undefined) return { state: 'contradicted', days: at.tonight - animal.check_tub };
  if (animal.open_offer !== undefined) return { state: 'waits', days: at.tonight - animal.open_offer };
  if (animal.opaque !== undefined && at.today - animal.opaque <= limits.opaque_days) return { state: 'opaque', days: at.today - animal.opaque };
  if (animal.regurgitated !== undefined && at.tonight - animal.regurgitated < limits.regurgitation_rest_days)
    return { state: 'rests', days: at.tonight - animal.regurgitated };
  if (isFasting(animal, at.tonight)) return { state: 'fasts', days: at.tonight - animal.fast[0] };
  if (limits.feed_gravid === 0 && isGravid(animal, limits, at.today)) return { state: 'gravid', days: at.today - animal.gravid };
  if (animal.last_meal === undefined)
    return { state: 'none_yet', days: animal.registered === undefined ? 0 : at.tonight - animal.registered };
  const { least, most } = intervalOf(animal, at.today);
  const since = at.tonight - animal.last_meal;
  if (since > most) return { state: 'overdue', days: since - most };
  if (since >= least) return { state: 'due', days: since - least };
  return { state: 'early', days: least - since };
}

export const isToBeFed = (state) => state === 'due' || state === 'overdue' || state === 'none_yet';

/** @returns {DueLine[]} */
function mealLines(animal, limits, at) {
  const { state, days } = mealState(animal, limits, at);
  if (state === 'rests') return [{ due: 'leave_alone', days, why: ['why.regurgitated', { nights: days }] }];
  if (state === 'none_yet') return [{ due: 'food', days, why: ['why.no_meal', {}] }];
  if (state !== 'due' && state !== 'overdue') return [];
  const gravid = isGravid(animal, limits, at.today);
  /** @type {[string, object]} */
  const why = [gravid ? 'why.last_ate_gravid' : 'why.last_ate', { nights: at.tonight - animal.last_meal, ...intervalOf(animal, at.today) }];
  return [{ due: state === 'overdue' && !gravid ? 'overdue' : 'food', days, why }];
}

/** @returns {DueLine[]} */
function healthLines(animal, at) {
  /** @type {DueLine[]} */
  const out = [];
  if (animal.ill !== undefined)
    out.push({ due: 'ill', days: at.today - animal.ill, why: ['why.ill', { days: at.today - animal.ill, signs: animal.signs ?? '' }] });
  for (const [remedy, day, repeat] of animal.courses ?? []) {
    const late = at.today - day - repeat;
    if (repeat === 0 || late < 0 || late > kDoseForgotten) continue;
    out.push({ due: 'dose', days: late, why: ['why.dose', { remedy, days: at.today - day, repeat }] });
  }
  if (animal.stuck !== undefined)
    out.push({ due: 'stuck_shed', days: at.today - animal.stuck, why: ['why.stuck_shed', { days: at.today - animal.stuck }] });
  return out;
}

/** Refusals in a row that make it off feed, by its own habit where the hub knows one. */
export function refusalsOffFeed(animal, limits) {
  if (animal.usual_refusals !== undefined) return Math.max(limits.refusals, animal.usual_refusals + 1);
  return animal.never_refuses ? Math.min(limits.refusals, 2) : limits.refusals;
}

/** @returns {DueLine[]} */
function offFeedLines(animal, limits, at) {
  const times = animal.refusals ?? 0;
  if (times < refusalsOffFeed(animal, limits) || isGravid(animal, limits, at.today) || isFasting(animal, at.tonight)) return [];
  return [{ due: 'off_feed', days: times, why: ['why.off_feed', { times, usual: animal.usual_refusals, never: animal.never_refuses === 1 }] }];
}

/** @returns {DueLine[]} */
function weightLines(animal, limits, at) {
  const { weighed, grams_peak: peak = 0, grams_now: now = 0, grams_week: week = 0 } = animal;
  if (weighed === undefined || peak <= 0 || week >= 0 || at.today - weighed > kWeightForgotten) return [];
  const lost = peak - now;
  if (lost * 100 < peak * limits.weight_loss_percent) return [];
  const days = animal.peak_day === undefined ? 0 : at.today - animal.peak_day;
  return [{ due: 'weight_loss', days, why: ['why.weight_loss', { percent: Math.trunc((lost * 100) / peak), days, peak, now }] }];
}

/** @returns {DueLine[]} */
function shedLines(animal, limits, at) {
  if (animal.opaque !== undefined) {
    const since = at.today - animal.opaque;
    if (since <= limits.opaque_days || since > kOpaqueForgotten) return [];
    return [{ due: 'shed_late', days: since - limits.opaque_days, why: ['why.opaque_long', { days: since }] }];
  }
  if (animal.shed === undefined || animal.shed_latest === undefined || animal.shed_usual === undefined) return [];
  const since = at.today - animal.shed;
  const fasted = animal.fast !== undefined && animal.fast[0] <= at.today && at.today - animal.fast[1] <= kAfterFast;
  if (since <= animal.shed_latest || fasted || isGravid(animal, limits, at.today)) return [];
  return [{ due: 'shed_late', days: since - animal.shed_latest, why: ['why.shed_late', { days: since, usual: animal.shed_usual }] }];
}

/** @returns {DueLine[]} */
function unseenLines(animal, limits, at) {
  if (animal.last_seen === undefined) return [];
  const days = at.today - animal.last_seen;
  if (days <= Math.max(limits.unseen_days, intervalOf(animal, at.today).most + kSeenAfterMeal)) return [];
  return [{ due: 'unseen', days, why: ['why.unseen', { days }] }];
}

/** A hatchling that shed since nobody could tell its look. @returns {DueLine[]} */
function lookLines(animal, at) {
  if (animal.unsure_look === undefined || animal.shed === undefined || animal.shed < animal.unsure_look) return [];
  const days = at.today - animal.shed;
  return [{ due: 'look_again', days, why: ['why.look_again', { days }] }];
}

/**
 * All that is due for one animal, the most urgent first.
 * @param {object} animal a line of the aisle @param {object} limits @param {Moment} at @returns {DueLine[]}
 */
export function dueFor(animal, limits, at) {
  /** @type {DueLine[]} */
  const out = [];
  if (animal.check_tub !== undefined)
    out.push({ due: 'check_tub', days: at.tonight - animal.check_tub, why: ['why.check_tub', {}] });
  if (animal.caution === 'perhaps-fed-twice' && at.tonight - animal.caution_night <= kNightsWatched)
    out.push({ due: 'leave_alone', days: at.tonight - animal.caution_night, why: ['why.fed_twice', {}] });
  out.push(...healthLines(animal, at));
  if (animal.open_offer !== undefined)
    out.push({ due: 'open_offer', days: at.tonight - animal.open_offer, why: ['why.open_offer', {}] });
  out.push(...offFeedLines(animal, limits, at), ...weightLines(animal, limits, at), ...shedLines(animal, limits, at),
    ...unseenLines(animal, limits, at), ...lookLines(animal, at), ...mealLines(animal, limits, at));
  return out;
}

export const isUnwell = (animal, limits, today) => animal.ill !== undefined || underTreatment(animal, limits, today);

/** Neighbours and partners of an animal that looks unwell or is under treatment are looked at too. @returns {DueLine[]} */
function nearIllLines(aisle, animal, at, limits) {
  if (isUnwell(animal, limits, at.today)) return [];
  const near = aisle.nearOf(animal).find((one) => isUnwell(one.animal, limits, at.today));
  if (!near) return [];
  const { animal: ill, beside } = near;
  const since = ill.ill ?? Math.min(...ill.courses.map(([, day]) => day));
  return [{ due: 'near_ill', days: at.today - since, why: [beside ? 'why.near_ill' : 'why.was_with_ill', { animal: ill.label ?? ill.id, ill: ill.ill !== undefined }] }];
}

/** What a male's rotation asks for today, unless he rests after a meal or was moved since. @returns {DueLine[]} */
function errandLines(aisle, animal, at, limits) {
  const errand = aisle.errands.get(animal.id);
  if (errand?.day !== at.today || restsAfterMeal(animal, limits, at.now)) return [];
  const label = (id) => (id ? aisle.label(id) : '');
  const args = { out: label(errand.out_place ?? errand.out_of), into: label(errand.into_place ?? errand.into), female: label(errand.into) };
  return [{ due: 'rotate', days: 0, why: ['why.rotate', args] }];
}

/** Eggs and hatchlings that are waited for, from some days before their window on. @returns {DueLine[]} */
function seasonLines(aisle, animal, at) {
  const near = (aisle.seasons.get(animal.id)?.expected ?? []).filter(([, , first]) => first - kDaysAhead <= at.today);
  return near.map(([step, since, first, last, chance]) => {
    const hatching = step === 'laying-to-hatching';
    const key = hatching ? 'why.hatches' : step === 'ovulation-to-shed' ? 'why.sheds_before' : 'why.lays';
    return { due: hatching ? 'hatching' : 'eggs', days: Math.max(0, at.today - first), why: [key, { since, first, last, chance, late: Math.max(0, at.today - last) }] };
  });
}

/** The lines of one animal now, company included. @returns {DueLine[]} */
export function dueAt(aisle, animal, now) {
  const { settings } = aisle;
  const limits = limitsOf(settings);
  const at = { tonight: tonight(settings, now), today: dayOf(settings, now), now };
  const out = dueFor(animal, limits, at);
  if (animal.visit) {
    const days = at.today - dayOf(settings, animal.visit[2]);
    out.push({ due: 'separate', days, why: ['why.separate', { days, partner: aisle.label(animal.visit[3]) }] });
  }
  out.push(...nearIllLines(aisle, animal, at, limits), ...errandLines(aisle, animal, at, limits), ...seasonLines(aisle, animal, at));
  const doubt = aisle.doubtful.get(animal.id);
  if (doubt) out.unshift({ due: 'check_tub', days: 0, why: doubt });
  if (aisle.isCrowded(animal)) out.unshift({ due: 'two_in_tub', days: 0, why: ['why.two_in_tub', {}] });
  return out;
}

