// A clutch as its label or its box's opens it: whose eggs these are, how they lie, and what has come of them.

import { phone } from '../phone.mjs';
import { date } from '../words/parts.mjs';
import { number, say } from '../words/say.mjs';
import { card } from './card.mjs';
import { h } from './dom.mjs';
import { enterKind } from './entering.mjs';
import { kOfEggs } from './kinds.mjs';
import { nameOf } from './names.mjs';
import { session } from './session.mjs';
import { whenButton } from './when.mjs';

const isKnown = (eggs) => eggs.laid !== undefined;

const fact = (key, text) => text && h('div.fact', null, h('dt', null, say(key)), h('dd', null, text));

/** While they are waited for: the window that the dam's line tells of this laying. */
function windowText(eggs) {
  const season = phone.aisle.seasons.get(eggs.of);
  const step = season?.expected.find(([name, since]) => name === 'laying-to-hatching' && since === eggs.laid);
  return step && say('eggs.window', { first: step[2], last: step[3], chance: step[4] });
}

function candledText({ candled, candled_good: good, candled_bad: bad }) {
  if (candled === undefined) return undefined;
  return good === undefined && bad === undefined ? date(candled) : say('eggs.candled_on', { day: date(candled), good, bad });
}

/** What is left of them, in one line. */
function stateText({ good, waiting = 0, hatched = 0 }) {
  if (good === undefined) return say('eggs.uncounted');
  if (waiting > 0) return say('eggs.waiting', { count: waiting });
  return say(hatched > 0 ? 'eggs.all_hatched' : 'eggs.none_left');
}

/** @param {import('../aisle/compose.mjs').Scene} scene of a code of eggs */
export function eggsCard({ code, eggs, found }) {
  if (!eggs.of) return card(found[0]);
  const { boxes = 1 } = eggs;
  const counted = eggs.good !== undefined && say('eggs.counted', { good: eggs.good, slugs: eggs.slugs ?? 0 });
  return h('article.card.eggs', { 'aria-label': nameOf(code) },
    h('header.who', null,
      eggs.boxes > 1 && h('span.place', null, say('eggs.box', { box: eggs.box, boxes })),
      h('h2.name', null, say('eggs.clutch_of', { dam: eggs.label ?? eggs.of }))),
    isKnown(eggs) ? h('p.genes', null, stateText(eggs)) : h('p', null, say('eggs.no_laying')),
    h('dl.facts', null,
      isKnown(eggs) && fact('eggs.laid', [date(eggs.laid), counted].filter(Boolean).join(', ')),
      eggs.celsius_tenths !== undefined && fact('eggs.warmth', `${number(eggs.celsius_tenths / 10, 1)} °C`),
      fact('eggs.candled', candledText(eggs)),
      eggs.pipped > 0 && fact('eggs.pipped', number(eggs.pipped)),
      eggs.hatched > 0 && fact('eggs.hatched', number(eggs.hatched)),
      eggs.waiting > 0 && fact('eggs.due', windowText(eggs))),
    boxes > 1 && h('p.hint', null, say('eggs.all_boxes')));
}

/** What can be said of eggs, and the way to who laid them. @param {import('../aisle/compose.mjs').Scene} scene of a code of eggs */
export function eggActions({ eggs }) {
  const button = (kind) => {
    const { warnings } = session.warningsBefore(kind);
    return h(`button.act.${kind}${warnings.length > 0 ? '.warned' : ''}`, { type: 'button', onclick: () => enterKind(kind) }, h('b', null, say(`kind.${kind}`)));
  };
  return h('section.acts', { 'aria-label': say('scan.acts') },
    h('div.grid', null, kOfEggs.map(button)),
    h('div.row', null,
      whenButton(session.said, (said) => session.sayWhen(said)),
      phone.aisle.animals.has(eggs.of) && h('button.quiet', { type: 'button', onclick: () => session.take(eggs.of, 'animal') }, say('eggs.dam', { dam: eggs.label ?? eggs.of }))));
}
