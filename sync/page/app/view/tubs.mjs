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
const kSigns = { due: '●', late: '▲', done: '✓', uncertain: '?', offer: '◔', rest: '–', empty: '', calm: '' };

/** @returns {{state: keyof typeof kSigns, animal?: object}} */
export function stateOf(place, now = Date.now()) {
  const found = phone.aisle.foundAt(place.id);
  if (found.length === 0) return { state: 'empty' };
  const animal = found[0];
  const lines = found.flatMap((one) => dueAt(phone.aisle, one, now));
  const has = (due) => lines.some((line) => line.due === due);
  if (lines.some((line) => kUncertain.includes(line.due))) return { state: 'uncertain', animal };
  if (has('open_offer')) return { state: 'offer', animal };
  if (animal.night && animal.night.number === nightOf(phone.aisle.settings, now) && animal.night.outcome !== 'offered') return { state: 'done', animal };
  if (animal.last_meal === tonight(phone.aisle.settings, now)) return { state: 'done', animal };
  if (has('leave_alone')) return { state: 'rest', animal };
  if (has('overdue')) return { state: 'late', animal };
  if (has('food')) return { state: 'due', animal };
  return { state: 'calm', animal };
}

function tub(place, done) {
  const { state, animal } = stateOf(place);
  const shown = done?.has(place.id) ? 'done' : state;
  const mark = phone.aisle.marks.get(place.id) ?? (animal && phone.aisle.marks.get(animal.id));
  const live = mark && mark.device !== phone.head?.device && Date.now() - mark.heard < 3_600_000;
  const short = (place.label ?? place.id).split('-').at(-1);
  const words = [place.label ?? place.id, animal?.label, say(`tub.${shown}`), live && say('card.just_now', { helper: phone.aisle.label(mark.by) })].filter(Boolean).join(', ');
  return h(`button.tub.${shown}${live ? '.live' : ''}`, { type: 'button', 'aria-label': words, onclick: () => { session.take(place.id, 'place'); go('scan'); } },
    h('span.number', null, short), h('span.sign', { 'aria-hidden': 'true' }, kSigns[shown]), animal && h('span.animal', null, animal.label ?? ''));
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
