// When something was seen, where that is not now: said before it is entered, and shown until another tub is scanned.

import { phone } from '../phone.mjs';
import { dayOf, instantSaid, kMinute } from '../aisle/nights.mjs';
import { ago, day, say } from '../words/say.mjs';
import { date } from '../words/parts.mjs';
import { h, icon } from './dom.mjs';
import { sheet } from './sheets.mjs';

/** @typedef {{ago_min?: number, day?: string, clock?: string}} Said as an event carries it: core/log/FORM.md */

const kHours = [1, 3];
const kEvening = '20:00';

/** "25 Nov 19:05", by the clocks of the collection; "3 h ago". @param {Said} said @param {number} at */
export function saidText(said, at) {
  if (said.ago_min !== undefined) return ago(at);
  return [day(Date.parse(`${said.day}T12:00`)), said.clock].filter(Boolean).join(' ');
}

const isToCome = (said) => {
  const now = Date.now();
  const at = instantSaid(phone.aisle.settings, said, now);
  // Of today without a clock the noon may be to come, and the day is not.
  return said.clock === undefined ? dayOf(phone.aisle.settings, at) > dayOf(phone.aisle.settings, now) : at > now + kMinute;
};

/** A day, and the time where it is known. @param {(said: Said) => void} take */
function exactly(take) {
  const today = date(dayOf(phone.aisle.settings, Date.now()));
  const problem = h('p.problem', { role: 'alert', hidden: true });
  const submit = (event) => {
    event.preventDefault();
    const { on, at } = event.target.elements;
    const said = { day: on.value, ...(at.value && { clock: at.value.slice(0, 5) }) };
    if (on.value && !isToCome(said)) return take(said);
    problem.textContent = say(on.value ? 'when.to_come' : 'when.no_day');
    problem.hidden = false;
  };
  return h('form.exactly', { onsubmit: submit, noValidate: true },
    h('label', null, say('when.day'), h('input', { type: 'date', name: 'on', max: today, value: today })),
    h('label', null, say('when.clock'), h('input', { type: 'time', name: 'at' })),
    problem,
    h('button.primary', { type: 'submit' }, say('when.use')));
}

/** @returns {Promise<Said | null | undefined>} null: now; undefined: closed */
export function chooseTime() {
  const yesterday = { day: date(dayOf(phone.aisle.settings, Date.now()) - 1), clock: kEvening };
  /** @type {[string, Said | null][]} */
  const choices = [
    [say('when.now'), null],
    ...kHours.map((hours) => /** @type {[string, Said]} */ ([say('ago.hours', { hours }), { ago_min: hours * 60 }])),
    [say('when.yesterday', { clock: kEvening }), yesterday],
  ];
  return sheet(say('when.title'), (close) => [
    ...choices.map(([text, said]) => h('button.choice', { type: 'button', onclick: () => close(said) }, h('span', null, text))),
    exactly(close),
  ]);
}

/**
 * Shows what is said of the time, and changes it. `short`: in a row of others, while nothing is said.
 * @param {Said | undefined} said @param {(said: Said | undefined) => void} take @param {{short?: boolean}} [options]
 */
export function whenButton(said, take, { short = false } = {}) {
  const isShort = short && !said;
  const text = isShort ? say('when.short') : said ? say('when.seen', { when: saidText(said, instantSaid(phone.aisle.settings, said, Date.now())) }) : say('when.now');
  return h(`button.quiet.when${said ? '.set' : ''}`, {
    type: 'button',
    'aria-label': isShort ? say('when.now') : undefined,
    onclick: async () => {
      const chosen = await chooseTime();
      if (chosen !== undefined) take(chosen ?? undefined);
    },
  }, icon('clock'), h('span', null, text));
}
