// What is said loudly (`warnings`) and softly (`notices`) about an entry that is saved all the same: what
// core/entry/warnings says, as keys of words/words.mjs. tests/vectors/entry_twin.mjs holds both to it.

import { limitsOf, mealState, restsAfterMeal, underTreatment } from './due.mjs';
import { dayNumber, dayOf, kDay, nightOf } from './nights.mjs';
import { seenAt } from './overlay.mjs';

const kSameSeason = 30 * kDay;
const kSameEggs = 2 * kDay;
const kSameShed = 7 * kDay;
const kNightsWatched = 3;
/** More than this is asked about: of the first two months, of the first year, of any snake (common practice, no source). */
const kMostTenths = [[60, 5_000], [365, 50_000], [Infinity, 1_500_000]];
const kFifth = 5;
const kQuarantineReaches = kDay / 2;

const kFates = ['sold', 'left', 'died', 'held', 'reserved'];
const kOfFemales = ['laid', 'ovulated', 'gravid', 'palpated'];
const kHandles = ['paired', 'weighed', 'moved', 'palpated', 'sexed'];
const kLeaves = ['sold', 'reserved', 'left'];
/** What is done at a tub: core/log/kinds, observations. */
const kAtTub = ['fed', 'refused', 'offered', 'leftover', 'ate', 'regurgitated', 'shed', 'cleared', 'opaque', 'locked', 'palpated',
  'ovulated', 'gravid', 'laid', 'weighed', 'cleaned', 'watered', 'noted', 'treated', 'candled', 'pipped', 'hatched', 'sexed',
  'incubated', 'ill', 'well'];

const newest = (animal, kinds) => (animal.seen ?? []).find(([kind]) => kinds.includes(kind));
const days = (span) => Math.max(0, Math.floor(span / kDay));
const nameOf = (animal) => animal.label ?? animal.id;

/** @typedef {[string, object]} Text a key of words/words.mjs with what belongs into it */

class Warner {
  constructor(aisle, scene, entry, out) {
    this.aisle = aisle;
    this.scene = scene;
    this.entry = entry;
    this.out = out;
    this.limits = limitsOf(aisle.settings);
    this.night = nightOf(aisle.settings, scene.at);
    this.moment = { tonight: this.night, today: dayOf(aisle.settings, scene.at), now: scene.at };
  }

  warn(key, args = {}) {
    const told = JSON.stringify([key, args]);
    // Two residents of one tub would say the same twice.
    if (!this.out.warnings.some((one) => JSON.stringify(one) === told)) this.out.warnings.push([key, args]);
  }

  note(key, args = {}) {
    this.out.notices.push([key, args]);
  }

  ofScene(told) {
    const { scene } = this;
    if (!scene.known) this.warn('warn.unknown', { code: scene.code });
    else if (scene.place && told === 0) this.warn('warn.nobody', { place: scene.place.label ?? scene.code });
    if (scene.quarantineBefore) this.warn('warn.quarantine', { place: scene.quarantineBefore });
  }

  ofAnimal(one) {
    const { kind } = this.entry;
    this.ofFate(one);
    if (kOfFemales.includes(kind) && one.sex === 'male') this.warn('warn.male', { animal: nameOf(one) });
    if (kind === 'fed' || kind === 'offered') this.ofFood(one);
    if (kind === 'fed' || kind === 'refused') this.ofNight(one);
    if (kind === 'laid') this.ofEggs(one);
    if (kind === 'treated') this.ofTreatment(one);
    if (kind === 'weighed') this.ofWeight(one);
    if (kind === 'shed') this.ofShed(one);
    this.ofRest(one);
  }

  ofFate(one) {
    const { kind } = this.entry;
    const fate = kFates.includes(kind);
    if (one.gone) this.warn('warn.gone', { animal: nameOf(one), how: one.gone[0], fate });
    else if (one.sold && !fate) this.note('notice.sold', { animal: nameOf(one) });
    const ill = one.ill !== undefined;
    if (kLeaves.includes(kind) && (ill || underTreatment(one, this.limits, this.moment.today)))
      this.warn('warn.not_fit', { animal: nameOf(one), ill });
  }

  ofFood(one) {
    const { scene } = this;
    const animal = nameOf(one);
    if (scene.found.length > 1 || this.aisle.companyOf(one)) this.warn('warn.together');
    if (one.caution === 'perhaps-fed-twice' && this.night - one.caution_night < kNightsWatched) this.warn('warn.fed_twice', { animal });
    const meal = mealState(one, this.limits, this.moment);
    if (meal.state === 'rests')
      this.warn('warn.regurgitated', { animal, nights: meal.days, rest: this.limits.regurgitation_rest_days });
    if (meal.state === 'fasts') this.warn('warn.fasts', { animal, until: one.fast[1], why: one.fast[2] });
    // A second serving of one night is asked about, not called early.
    if (meal.state === 'early' && one.last_meal !== this.night) this.note('notice.early', { animal, nights: meal.days });
  }

  ofNight(one) {
    const { kind, relation } = this.entry;
    const tonight = (seen) => seen && nightOf(this.aisle.settings, seen[1]) === this.night;
    const meal = tonight(newest(one, ['fed', 'ate']));
    const refusal = tonight(newest(one, ['refused', 'leftover']));
    if (kind === 'fed' && refusal && !meal) this.note('notice.after_all', { animal: nameOf(one) });
    if (kind === 'refused' && meal && relation !== 'replaces') this.warn('warn.was_fed', { animal: nameOf(one) });
  }

  ofEggs(one) {
    const eggs = newest(one, ['laid']);
    const apart = eggs && this.scene.at - eggs[1];
    if (eggs && apart >= kSameEggs && apart < kSameSeason) this.warn('warn.late_eggs', { animal: nameOf(one), days: days(apart) });
  }

  ofTreatment(one) {
    const dose = newest(one, ['treated']);
    if (dose && this.scene.at - dose[1] < kDay) this.warn('warn.treated', { animal: nameOf(one) });
    if (one.dose_in_doubt) this.warn('warn.dose', { animal: nameOf(one), days: days(this.scene.at - one.dose_in_doubt) });
  }

  ofWeight(one) {
    const now = this.entry.own?.grams_tenths;
    if (now === undefined) return;
    const hatched = dayNumber(one.hatched);
    const age = hatched === undefined ? Infinity : this.moment.today - hatched;
    const [, most] = kMostTenths.find(([until]) => age <= until);
    if (now > most)
      this.warn('warn.heavy', { animal: nameOf(one), tenths: now, age: hatched === undefined || age < 0 ? undefined : age });
    const before = one.grams_tenths;
    if (before > 0 && Math.abs(now - before) * kFifth > before) this.warn('warn.weight', { animal: nameOf(one), tenths: before });
  }

  ofShed(one) {
    const shed = newest(one, ['shed']);
    if (shed && this.scene.at - shed[1] < kSameShed) this.note('notice.one_shed', { days: days(this.scene.at - shed[1]) });
  }

  /** After a meal nobody should handle it. */
  ofRest(one) {
    const { kind } = this.entry;
    if (!kHandles.includes(kind) || !restsAfterMeal(one, this.limits, this.scene.at)) return;
    const args = { animal: nameOf(one), hours: this.limits.meal_rest_hours };
    if (kind === 'weighed') this.note('notice.full', args);
    else this.warn('warn.full', args);
  }

  ofPair(visitor, host) {
    if (visitor.id === host.id) this.warn('warn.itself', { animal: nameOf(host) });
    const known = ['male', 'female'].includes(visitor.sex);
    if (known && visitor.sex === host.sex && visitor.id !== host.id)
      this.warn('warn.one_sex', { a: nameOf(visitor), b: nameOf(host), sex: visitor.sex });
    if (visitor.visit && visitor.visit[0] !== host.home?.[0]) this.warn('warn.was_with', { animal: nameOf(visitor) });
  }
}

/**
 * @param {import('./aisle.mjs').Aisle} aisle @param {import('./compose.mjs').Scene} scene
 * @param {import('./compose.mjs').Entry} entry @param {object[]} told whom it tells of; of a pairing the visitor, then the host
 * @param {{warnings: Text[], notices: Text[]}} out
 */
export function warningsOf(aisle, scene, entry, told, out) {
  const warner = new Warner(aisle, scene, entry, out);
  warner.ofScene(told.length);
  for (const one of told) warner.ofAnimal(one);
  if (entry.kind === 'paired' && told.length === 2) warner.ofPair(told[0], told[1]);
}

/**
 * Where this phone's newest entry was, if that stands in quarantine and what is scanned now does not.
 * @param {import('./aisle.mjs').Aisle} aisle @param {object | undefined} last own entry @param {string} code @returns {string} a label, or nothing
 */
export function quarantineBefore(aisle, last, code, at) {
  if (!last || !kAtTub.includes(last.kind) || seenAt(last) > at || at - seenAt(last) > kQuarantineReaches) return '';
  const placeOf = (id) => (aisle.animals.has(id) ? aisle.placeOf(aisle.animals.get(id)) : aisle.places.get(id)?.id);
  const isQuarantine = (place) => aisle.base.rack.get(aisle.places.get(place)?.rack)?.quarantine === 1;
  const here = placeOf(code);
  const there = placeOf(last.draft.place ?? last.draft.of?.[0]);
  return isQuarantine(there) && here && !isQuarantine(here) ? aisle.label(there) : '';
}
