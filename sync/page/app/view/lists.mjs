// Today by rack in walking order, the racks, one rack, and finding a thing by its name or its code.

import { phone } from '../phone.mjs';
import { dueAt } from '../aisle/due.mjs';
import { thawTonight } from '../aisle/thaw.mjs';
import { number, say } from '../words/say.mjs';
import { readCode, typedProgress } from '../base/codes.mjs';
import { h, icon } from './dom.mjs';
import { sexMark, whyText } from './card.mjs';
import { restButton } from './round.mjs';
import { savedBand } from './scan.mjs';
import { preyText, session } from './session.mjs';
import { counts, tubs } from './tubs.mjs';
import { go } from './route.mjs';

const page = (draw) => {
  const view = h('main.page');
  const update = () => view.replaceChildren(...draw().flat(3).filter(Boolean));
  update();
  return { view, update };
};

function open(code, kind) {
  session.take(code, kind);
  if (kind !== 'rack') go('scan'); // a rack's strip leads to the rack
}

// ---- today

const kWeight = {
  two_in_tub: 0, check_tub: 1, ill: 2, leave_alone: 2, dose: 3, stuck_shed: 3, open_offer: 3, separate: 3,
  weight_loss: 4, overdue: 4, off_feed: 4, rotate: 4, hatching: 4, eggs: 4, shed_late: 5, food: 5, look_again: 6, unseen: 6, near_ill: 6,
};

function dueLine({ animal, place, line, more }) {
  return h(`li.dueline.${line.due}`, null,
    h('button', { type: 'button', onclick: () => open(animal.id, 'animal') },
      h('span.place', null, place?.label ?? '·'),
      h('span.who', null, animal.label ?? animal.id, ' ', sexMark(animal)),
      h('b', null, say(`due.${line.due}`)),
      h('small', null, whyText(line.why)),
      more.length > 0 && h('small.more', null, more.map((one) => say(`due.${one.due}`)).join(', '))));
}

function todayOf(places, now) {
  const out = [];
  for (const place of places) {
    for (const animal of phone.aisle.foundAt(place.id)) {
      const lines = dueAt(phone.aisle, animal, now).sort((a, b) => kWeight[a.due] - kWeight[b.due]);
      if (lines.length > 0) out.push({ animal, place, line: lines[0], more: lines.slice(1) });
    }
  }
  return out;
}

/** The three numbers of the evening. */
export function dueSums(now) {
  const all = phone.aisle.racks.flatMap((rack) => todayOf(phone.aisle.placesOf(rack.id), now));
  const of = (...dues) => number(all.filter(({ line }) => dues.includes(line.due)).length);
  return h('div.sums', null,
    h('div', null, h('b', null, of('food', 'overdue')), say('today.food')),
    h('div', null, h('b', null, of('open_offer')), say('today.offers')),
    h('div', null, h('b', null, of('check_tub', 'two_in_tub', 'leave_alone', 'ill', 'dose', 'stuck_shed', 'weight_loss', 'off_feed', 'shed_late')), say('today.look')));
}

/** What to take out of the freezer, with what is spare. */
function thawBlock(now) {
  const { items, unknown } = thawTonight(phone.aisle, now);
  if (items.length === 0 && unknown === 0) return undefined;
  return h('details.block.thaw', null,
    h('summary', null, h('h2', null, say('thaw.title')), icon('back'), h('span', null, items.map((item) => `${number(item.wanted + item.margin)} ${preyText(item.prey)}`).join(', '))),
    h('ul.plainlist', null, items.map((item) => h('li', null, h('b', null, number(item.wanted + item.margin)), ' ', preyText(item.prey), ' ', h('small', null, say('thaw.spare', item))))),
    unknown > 0 && h('p', null, say('thaw.unknown', { count: unknown })),
    h('p.hint', null, say('thaw.how')));
}

export const todayView = () =>
  page(() => {
    const now = Date.now();
    const racks = phone.aisle.racks.map((rack) => ({ rack, lines: todayOf(phone.aisle.placesOf(rack.id), now) }));
    const all = racks.flatMap((one) => one.lines);
    return [
      h('h1', null, say('nav.today')),
      dueSums(now),
      thawBlock(now),
      all.length === 0 && h('p.hint', null, phone.aisle.animals.size > 0 ? say('today.nothing') : say('today.no_copy')),
      racks.filter(({ lines }) => lines.length > 0).map(({ rack, lines }) =>
        h('section.rackday', null,
          h('h2', null, h('button.link', { type: 'button', onclick: () => go(`rack/${rack.id}`) }, say('rack.name', { rack: rack.label })), rack.quarantine && h('span.tag', null, say('rack.quarantine')), h('span.of', null, number(lines.length))),
          h('ul.dues', null, lines.map(dueLine)))),
    ];
  });

// ---- racks

export function claimText(rack) {
  const claim = phone.aisle.claims.get(rack);
  if (!claim) return undefined;
  return claim.device === phone.link?.knownAs ? say('rack.you') : say('rack.by', { helper: phone.aisle.label(claim.by) || say('account.somebody') });
}

/** A rack with how far it is, and who is there. */
export function rackButton(rack, claim) {
  const sums = counts(rack.id);
  return h('button.rack', { type: 'button', onclick: () => go(`rack/${rack.id}`) },
    h(`b${(rack.label ?? rack.id).length > 4 ? '.long' : ''}`, null, rack.label ?? rack.id),
    h('span', null, say('rack.sums', sums), rack.quarantine && [' ', h('span.tag', null, say('rack.quarantine'))]),
    h('meter', { min: 0, max: Math.max(1, sums.done + sums.due), value: sums.done, 'aria-label': say('rack.done', sums) }),
    claim && h('small.claim', null, icon('flag'), claim));
}

export const racksView = () =>
  page(() => [
    h('h1', null, say('nav.racks')),
    phone.aisle.racks.length === 0 && h('p.hint', null, say('today.no_copy')),
    h('ul.racks', null, phone.aisle.racks.map((rack) => h('li', null, rackButton(rack, claimText(rack.id))))),
  ]);

const kLegend = ['due', 'late', 'done', 'offer', 'rest', 'uncertain', 'look'];
const kSigns = { due: '●', late: '▲', done: '✓', uncertain: '?', offer: '◔', rest: '–', look: '!' };

export const rackView = (id) =>
  page(() => {
    const rack = phone.aisle.base.rack.get(id);
    if (!rack) return [h('h1', null, say('rack.unknown')), h('p.hint', null, say('rack.unknown_hint'))];
    const claim = claimText(id);
    const mine = phone.aisle.claims.get(id)?.device === phone.link?.knownAs;
    return [
      h('header.rackhead', null, h('button.plain', { type: 'button', 'aria-label': say('sheet.back'), onclick: () => go('racks') }, icon('back')),
        h('h1', null, say('rack.name', { rack: rack.label })), rack.quarantine && h('span.tag', null, say('rack.quarantine'))),
      h('p.claim', { role: 'status' }, icon('flag'), claim ?? say('rack.free'),
        phone.mayWrite && h('button.quiet', { type: 'button', onclick: () => phone.claim(id, mine).catch(() => session.turnDown('rack.claim_later')) }, say(mine ? 'rack.leave' : 'rack.take'))),
      session.problem?.[0] === 'rack.claim_later' && h('p.notice', { role: 'alert' }, say('rack.claim_later')),
      session.saved?.kind === 'ate' && savedBand(),
      tubs(id),
      h('ul.legend', null, kLegend.map((state) => h('li', null, h(`span.key.${state}`, { 'aria-hidden': 'true' }, kSigns[state]), say(`tub.${state}`)))),
      h('div.foot', null, restButton(id)),
    ];
  });

// ---- finding

export function findView() {
  const list = h('ul.found', { 'aria-live': 'polite' });
  const input = h('input.search', { type: 'search', 'aria-label': say('find.title'), placeholder: say('find.hint'), autocomplete: 'off', enterKeyHint: 'search',
    oninput: () => draw() });
  const draw = () => {
    const found = phone.aisle.find(input.value);
    list.replaceChildren(...found.map((thing) => h('li', null, h('button', { type: 'button', onclick: () => open(thing.id, thing.id[0] === 'T' ? 'place' : 'animal') },
      h('b', null, thing.label ?? thing.id), thing.id[0] !== 'T' && sexMark(thing), h('small', null, thing.genes ?? (thing.id[0] === 'T' ? phone.aisle.foundAt(thing.id).map((one) => one.label).join(', ') || say('tub.empty') : ''))))));
    if (input.value && found.length === 0) list.replaceChildren(h('li.hint', null, say('find.none')));
  };
  const view = h('main.page.low', null, h('h1', null, say('find.title')), list, input);
  // The list is made while the first letter is typed.
  const entered = () => {
    input.focus();
    setTimeout(() => phone.aisle.prepareSearch());
  };
  return { view, update: () => {}, entered };
}

export function typeView() {
  const told = h('p.told', { 'aria-live': 'polite' }, say('type.hint'));
  const input = h('input.code', { 'aria-label': say('type.title'), autocomplete: 'off', autocapitalize: 'characters', spellcheck: false, maxLength: 60, placeholder: 'T7K2 M9QX 4A', oninput: () => judge() });
  const judge = () => {
    const { length, wrong } = typedProgress(input.value);
    const reading = readCode(input.value);
    if (reading.code) {
      told.textContent = say('type.good');
      return reading;
    }
    if (length < 10) told.textContent = wrong >= 0 ? say('type.character', { character: input.value.trim()[wrong] ?? '' }) : say('type.left', { left: 10 - length });
    else told.textContent = say(`type.${reading.problem}`);
    return undefined;
  };
  const submit = (event) => {
    event.preventDefault();
    const reading = judge();
    if (reading) {
      open(reading.code, reading.kind);
    } else {
      const named = phone.aisle.find(input.value, 2).filter((thing) => (thing.label ?? '').toLowerCase() === input.value.trim().toLowerCase());
      if (named.length === 1) open(named[0].id, named[0].id[0] === 'T' ? 'place' : 'animal');
      else {
        if (typedProgress(input.value).length < 10) told.textContent = say('type.nobody', { text: input.value.trim() });
        session.turnDown(`scan.${readCode(input.value).problem}`);
      }
    }
  };
  const view = h('main.page.low', null, h('h1', null, say('type.title')), told, h('form.typed', { onsubmit: submit }, input, h('button.primary', { type: 'submit' }, say('type.open'))));
  return { view, update: () => {}, entered: () => input.focus() };
}
