// Rounds: one entry chosen once, then every scan saves it. What differs is one tap away.

import { phone } from '../phone.mjs';
import { instantSaid } from '../aisle/nights.mjs';
import { say } from '../words/say.mjs';
import { h, icon } from './dom.mjs';
import { isMeal, kRoundKinds } from './kinds.mjs';
import { card } from './card.mjs';
import { eventText } from './sentences.mjs';
import { itemsText, session } from './session.mjs';
import { chooseMeal } from './sheets.mjs';
import { tubs } from './tubs.mjs';
import { saidText, whenButton } from './when.mjs';
import { go } from './route.mjs';

let kind = 'fed';
/** @type {import('./when.mjs').Said | undefined} */
let said;

/** The screen that begins a round. */
export function roundView() {
  const view = h('main.page');
  const draw = () => {
    const items = isMeal(kind) ? phone.prefs.items : undefined;
    view.replaceChildren(
      h('h1', null, say('round.title')),
      h('p.hint', null, say('round.hint')),
      h('div.grid.kinds', { role: 'group', 'aria-label': say('round.what') }, kRoundKinds.map((one) =>
        h('button.act', { type: 'button', 'aria-pressed': String(one === kind), onclick: () => { kind = one; draw(); } }, h('b', null, say(`kind.${one}`))))),
      isMeal(kind) && kind !== 'refused' ? h('button.choice', { type: 'button', onclick: async () => { const chosen = await chooseMeal(phone.prefs.items); if (chosen) { await phone.setPref('items', chosen); draw(); } } },
        h('span', null, items ? itemsText(items) : say('meal.title')), h('small', null, say('round.change'))) : '',
      h('div.row', null, whenButton(said, (chosen) => { said = chosen; draw(); })),
      h('div.foot', null, h('button.primary.wide', { type: 'button', disabled: kind === 'fed' && !items, onclick: begin }, say('round.begin'))),
    );
  };
  draw();
  return { view, update: draw };
}

function begin() {
  const items = isMeal(kind) && kind !== 'refused' ? phone.prefs.items : undefined;
  session.startRound({ kind, own: items && { items } }, said);
  said = undefined;
  go('scan');
}

/** The rack that the newest scan of the round stands in. */
function rackOf(code) {
  const animal = phone.aisle.animals.get(code);
  const place = phone.aisle.places.get(animal ? phone.aisle.placeOf(animal) : code);
  return place?.rack;
}

/** While a round runs: the count, the newest, what may differ, and what is left of the rack. */
export function roundPanel({ ask, saved }) {
  const { round } = session;
  const animal = session.scene?.found.length === 1 ? session.scene.found[0] : undefined;
  const rack = round.codes[0] ? rackOf(round.codes[0]) : undefined;
  return [
    h('header.round', null,
      h('div', null, h('small', null, say('round.running')), h('h2', null, eventText(round.entry.kind, round.entry.own)),
        round.said && h('small', null, say('when.seen', { when: saidText(round.said, instantSaid(phone.aisle.settings, round.said, Date.now())) }))),
      h('output.count', { 'aria-live': 'polite', 'aria-label': say('round.count', { count: round.codes.length }) }, String(round.codes.length)),
      h('button.quiet', { type: 'button', onclick: () => session.endRound() }, say('round.end'))),
    ask,
    saved ?? (round.codes.length === 0 && h('p.hint', null, say('round.scan'))),
    animal && !ask && card(animal, { small: true }),
    rack && h('section.left', null, h('h3', null, say('round.left', { rack: phone.aisle.label(rack) })), tubs(rack, { done: doneOf(round) })),
    rack && round.entry.kind === 'leftover' && restButton(rack),
  ];
}

const doneOf = (round) => {
  const places = new Set(round.codes);
  for (const code of round.codes) {
    const animal = phone.aisle.animals.get(code);
    if (animal) places.add(phone.aisle.placeOf(animal));
  }
  return places;
};

/** "The rest of rack C ate", with how many that are. */
export function restButton(rack) {
  const open = phone.aisle.placesOf(rack).flatMap((place) => phone.aisle.foundAt(place.id)).filter((animal) => animal.night?.open);
  if (open.length === 0 || !phone.mayWrite) return undefined;
  return h('button.primary.wide', { type: 'button', onclick: () => session.restAte(rack) }, icon('check'), say('rack.rest_ate', { rack: phone.aisle.label(rack), count: open.length }));
}
