// What is said loudly about an entry that is saved all the same: core/entry/warnings, as keys of words/words.mjs.

import { kDay, nightOf } from './nights.mjs';

/** Rest after a regurgitation (common practice, no source; ask a veterinarian). */
const kRest = 10;
const kSameSeason = 30 * kDay;
const kSameEggs = 2 * kDay;

const newest = (animal, kinds) => (animal.seen ?? []).find(([kind]) => kinds.includes(kind));
const days = (span) => Math.max(0, Math.floor(span / kDay));

function ofFate(entry, one, name, out) {
  const isFate = ['sold', 'left', 'died', 'held', 'reserved'].includes(entry.kind);
  if (one.gone) out.warnings.push(['warn.gone', { animal: name, how: one.gone[0], fate: isFate }]);
  else if (one.sold && !isFate) out.notices.push(['notice.sold', { animal: name }]);
}

function ofFood(aisle, scene, one, name, out) {
  if (scene.found.length > 1 || aisle.companyOf(one)) out.warnings.push(['warn.together', {}]);
  const night = nightOf(aisle.settings, scene.at);
  if (one.caution === 'perhaps-fed-twice' && night - one.caution_night < 3) out.warnings.push(['warn.fed_twice', { animal: name }]);
  const up = newest(one, ['regurgitated']);
  const meal = newest(one, ['fed', 'ate']);
  if (up && scene.at - up[1] < kRest * kDay && (!meal || meal[1] <= up[1]))
    out.warnings.push(['warn.regurgitated', { animal: name, days: days(scene.at - up[1]), rest: kRest }]);
}

function ofNight(aisle, scene, entry, one, name, out) {
  const tonight = (seen) => seen && nightOf(aisle.settings, seen[1]) === nightOf(aisle.settings, scene.at);
  const meal = tonight(newest(one, ['fed', 'ate']));
  const refusal = tonight(newest(one, ['refused', 'leftover']));
  if (entry.kind === 'fed' && refusal && !meal) out.notices.push(['notice.after_all', { animal: name }]);
  if (entry.kind === 'refused' && meal && entry.relation !== 'replaces') out.warnings.push(['warn.was_fed', { animal: name }]);
}

function ofTreatment(scene, one, name, out) {
  const dose = newest(one, ['treated']);
  if (dose && scene.at - dose[1] < kDay) out.warnings.push(['warn.treated', { animal: name }]);
  if (one.dose_in_doubt) out.warnings.push(['warn.dose', { animal: name, days: days(scene.at - one.dose_in_doubt) }]);
}

function ofAnimal(aisle, scene, entry, one, out) {
  const name = one.label ?? one.id;
  ofFate(entry, one, name, out);
  if (['laid', 'ovulated', 'gravid', 'palpated'].includes(entry.kind) && one.sex === 'male')
    out.warnings.push(['warn.male', { animal: name }]);
  if (entry.kind === 'fed' || entry.kind === 'offered') ofFood(aisle, scene, one, name, out);
  if (entry.kind === 'fed' || entry.kind === 'refused') ofNight(aisle, scene, entry, one, name, out);
  if (entry.kind === 'treated') ofTreatment(scene, one, name, out);
  const eggs = entry.kind === 'laid' && newest(one, ['laid']);
  if (eggs && scene.at - eggs[1] >= kSameEggs && scene.at - eggs[1] < kSameSeason)
    out.warnings.push(['warn.late_eggs', { animal: name, days: days(scene.at - eggs[1]) }]);
  const before = one.grams_tenths;
  if (entry.kind === 'weighed' && before > 0 && Math.abs(entry.own.grams_tenths - before) * 5 > before)
    out.warnings.push(['warn.weight', { animal: name, tenths: before }]);
}

function ofPair(visitor, host, out) {
  if (visitor.sex && visitor.sex === host.sex && ['male', 'female'].includes(visitor.sex))
    out.warnings.push(['warn.one_sex', { a: visitor.label, b: host.label, sex: visitor.sex }]);
  if (visitor.visit && visitor.visit[0] !== host.home?.[0]) out.warnings.push(['warn.was_with', { animal: visitor.label }]);
}

/** @param {import('./compose.mjs').Scene} scene @param {import('./compose.mjs').Entry} entry @param {object[]} told */
export function warningsOf(aisle, scene, entry, told, out) {
  if (!scene.known) out.warnings.push(['warn.unknown', { code: scene.code }]);
  else if (scene.place && told.length === 0) out.warnings.push(['warn.nobody', { place: scene.place.label ?? scene.code }]);
  for (const one of told) ofAnimal(aisle, scene, entry, one, out);
  if (entry.kind === 'paired' && told.length === 2) ofPair(told[0], told[1], out);
}
