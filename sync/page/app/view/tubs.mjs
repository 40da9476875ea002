// A rack as it stands: a tub for each place, with what is due, done, uncertain or empty, by shape and word, not colour
// alone.

import { phone } from '../phone.mjs';
import { dueAt } from '../aisle/due.mjs';
import { nightOf, tonight } from '../aisle/nights.mjs';
import { say } from '../words/say.mjs';
import { h } from './dom.mjs';
import { go } from './route.mjs';
import { session } from './session.mjs';

const kUncertain = ['check_tub', 'two_in_tub'];
/** Whatever its food: somebody must look at it. */
const kLook = ['ill', 'dose', 'stuck_shed', 'weight_loss'];
const kSigns = { due: '●', late: '▲', done: '✓', uncertain: '?', offer: '◔', rest: '–', empty: '', calm: '' };

/** @returns {{state: keyof typeof kSigns, animal?: any, look?: boolean}} */
export function stateOf(place, now = Date.now()) {
  const found = phone.aisle.foundAt(place.id);
  if (found.length === 0) return { state: 'empty' };
  const lines = found.flatMap((one) => dueAt(phone.aisle, one, now));
  return { state: foodState(found[0], lines, now), animal: found[0], look: lines.some((line) => kLook.includes(line.due)) };
}

/** @returns {keyof typeof kSigns} */
function foodState(animal, lines, now) {
  const has = (due) => lines.some((line) => line.due === due);
  if (lines.some((line) => kUncertain.includes(line.due))) return 'uncertain';
  if (has('open_offer')) return 'offer';
  if (animal.night && animal.night.number === nightOf(phone.aisle.settings, now) && animal.night.outcome !== 'offered') return 'done';
  if (animal.last_meal === tonight(phone.aisle.settings, now)) return 'done';
  if (has('leave_alone')) return 'rest';
  if (has('overdue')) return 'late';
  if (has('food')) return 'due';
  return 'calm';
}

function tub(place, done) {
  const { state, animal, look } = stateOf(place);
  const shown = done?.has(place.id) ? 'done' : state;
  const mark = phone.aisle.marks.get(place.id) ?? (animal && phone.aisle.marks.get(animal.id));
  const live = mark && mark.device !== phone.head?.device && Date.now() - mark.heard < 3_600_000;
  const short = (place.label ?? place.id).split('-').at(-1);
  const words = [place.label ?? place.id, animal?.label, say(`tub.${shown}`), look && say('tub.look'), live && say('card.just_now', { helper: phone.aisle.label(mark.by) })].filter(Boolean).join(', ');
  return h(`button.tub.${shown}${live ? '.live' : ''}`, { type: 'button', 'aria-label': words, onclick: () => { session.take(place.id, 'place'); go('scan'); } },
    h('span.number', null, short, look && h('span.alarm', { 'aria-hidden': 'true' }, '!')), h('span.sign', { 'aria-hidden': 'true' }, kSigns[shown]), animal && h('span.animal', null, animal.label ?? ''));
}

/** @param {string} rack @param {{done?: Set<string>}} [options] */
export const tubs = (rack, { done } = {}) => h('div.tubs', null, phone.aisle.placesOf(rack).map((place) => tub(place, done)));

/** How many of a rack's tubs are in each state. */
export function counts(rack) {
  const out = { due: 0, done: 0, uncertain: 0, offer: 0, all: 0 };
  for (const place of phone.aisle.placesOf(rack)) {
    const { state } = stateOf(place);
    if (state === 'empty') continue;
    out.all += 1;
    if (state === 'late') out.due += 1;
    else if (state in out) out[state] += 1;
  }
  return out;
}
