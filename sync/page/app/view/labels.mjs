// Labels from the page, for the keeper at the desk: what, for which racks or animals, on which sheet. The hub draws them,
// reads every one back and registers the print; the page only chooses, and hands over the PDF.

import { phone } from '../phone.mjs';
import { ask } from '../log/exchange.mjs';
import { byLabel } from '../aisle/aisle.mjs';
import { number, say } from '../words/say.mjs';
import { h, icon } from './dom.mjs';
import { sexMark } from './card.mjs';

const kPatienceMs = 180_000; // a thousand labels take seconds, on a busy hub a minute
const kOfPlaces = ['place', 'strip'];

/** What was chosen stays while the page is open. */
const wish = { kind: 'place', racks: new Set(), singles: new Set(), helpers: new Set(), changed: false, sheet: undefined, first: 1 };
let offer; // {kinds, sheets} of the hub
let trouble;
let made; // {url, report}
let busy = false;

const isOfAnimals = () => !kOfPlaces.includes(wish.kind) && wish.kind !== 'helper';

async function loadOffer(draw) {
  try {
    offer = await (await ask('/v1/labels', { token: phone.link.token })).json();
    wish.sheet ??= offer.sheets[0]?.name;
    trouble = undefined;
  } catch (error) {
    trouble = offer ? undefined : error.message;
  }
  draw();
}

/** Codes of what is to be labelled. */
function chosen() {
  if (wish.kind === 'helper') return [...wish.helpers];
  return isOfAnimals() ? [...wish.racks, ...wish.singles] : [...wish.racks];
}

/** How many labels that is, by this page's copy; the hub counts anew. */
function estimate() {
  if (wish.kind === 'helper') return wish.helpers.size || phone.aisle.base.helper.size;
  const racks = wish.racks.size > 0 || (isOfAnimals() && wish.singles.size > 0) ? [...wish.racks] : phone.aisle.racks.map((rack) => rack.id);
  const places = racks.flatMap((rack) => phone.aisle.placesOf(rack));
  if (!isOfAnimals()) return places.length;
  const homes = new Set([...phone.aisle.animals.values()].map((animal) => animal.home?.[0]).filter(Boolean));
  return places.filter((place) => homes.has(place.id)).length + wish.singles.size;
}

function sheetText(sheet) {
  const mm = (tenths) => number(tenths / 10, 1);
  return say('labels.sheet_line', { name: sheet.name, count: sheet.columns * sheet.rows, width: mm(sheet.width_tenths_mm), height: mm(sheet.height_tenths_mm) });
}

async function print(draw) {
  if (made) URL.revokeObjectURL(made.url);
  made = undefined;
  trouble = undefined;
  busy = true;
  draw();
  try {
    const body = JSON.stringify({ kind: wish.kind, codes: chosen(), changed: wish.changed, sheet: wish.sheet, first: wish.first }) + '\n';
    const answer = await ask('/v1/labels', { method: 'POST', body, token: phone.link.token, signal: AbortSignal.timeout(kPatienceMs) });
    const report = JSON.parse(decodeURIComponent(answer.headers.get('Rackside-Report') ?? '%7B%7D'));
    made = { url: URL.createObjectURL(await answer.blob()), report };
  } catch (error) {
    trouble = error.message;
  }
  busy = false;
  draw();
  document.querySelector('.pdf, .labels .trouble')?.scrollIntoView({ block: 'center' });
}

// ---- the form

const chip = (text, on, onclick) => h('button.chip', { type: 'button', 'aria-pressed': String(on), onclick }, text);
const field = (title, ...parts) => h('fieldset', null, h('legend', null, title), ...parts);

function flip(set, value) {
  if (!set.delete(value)) set.add(value);
}

function kinds(draw) {
  return field(say('labels.what'), h('div.chips', null, offer.kinds.map((kind) =>
    chip(say(`labels.kind.${kind}`), kind === wish.kind, () => { wish.kind = kind; draw(); }))), h('small', null, say(`labels.hint.${wish.kind}`)));
}

function ofHelpers(draw) {
  const helpers = [...phone.aisle.base.helper.values()].sort(byLabel);
  return field(say('labels.which'), h('div.chips', null,
    chip(say('labels.all_helpers'), wish.helpers.size === 0, () => { wish.helpers.clear(); draw(); }),
    helpers.map((one) => chip(one.label ?? one.id, wish.helpers.has(one.id), () => { flip(wish.helpers, one.id); draw(); }))));
}

function singles(draw) {
  const list = h('ul.found');
  const search = h('input', { type: 'search', 'aria-label': say('labels.add'), placeholder: say('labels.add'), autocomplete: 'off', oninput: () => {
    const found = phone.aisle.find(search.value, 8).filter((one) => phone.aisle.animals.has(one.id) && !wish.singles.has(one.id));
    list.replaceChildren(...found.map((one) => h('li', null, h('button', { type: 'button', onclick: () => { wish.singles.add(one.id); draw(); } }, h('b', null, one.label ?? one.id), sexMark(one), h('small', null, one.genes ?? '')))));
  } });
  return [
    wish.singles.size > 0 && h('div.chips', null, [...wish.singles].map((id) => chip(`${phone.aisle.label(id)} ✕`, true, () => { wish.singles.delete(id); draw(); }))),
    search, list,
  ];
}

function ofRacks(draw) {
  const none = wish.racks.size === 0 && (!isOfAnimals() || wish.singles.size === 0);
  return field(say('labels.which'),
    h('div.chips', null,
      chip(say('labels.all_racks'), none, () => { wish.racks.clear(); wish.singles.clear(); draw(); }),
      phone.aisle.racks.map((rack) => chip(say('rack.name', { rack: rack.label ?? rack.id }), wish.racks.has(rack.id), () => { flip(wish.racks, rack.id); draw(); }))),
    isOfAnimals() && singles(draw));
}

function sheets(draw) {
  const select = h('select', { 'aria-label': say('labels.sheet'), onchange: () => { wish.sheet = select.value; wish.first = 1; draw(); } },
    offer.sheets.map((sheet) => h('option', { value: sheet.name, selected: sheet.name === wish.sheet }, sheetText(sheet))));
  const sheet = offer.sheets.find((one) => one.name === wish.sheet);
  const most = sheet ? sheet.columns * sheet.rows : 1;
  const step = (by) => { wish.first = Math.min(most, Math.max(1, wish.first + by)); draw(); };
  return field(say('labels.sheet'), select,
    wish.kind !== 'strip' && h('div.stepper', { role: 'group', 'aria-label': say('labels.first') },
      h('button', { type: 'button', 'aria-label': say('labels.earlier'), disabled: wish.first <= 1, onclick: () => step(-1) }, '−'),
      h('output', { 'aria-live': 'polite' }, String(wish.first)),
      h('button', { type: 'button', 'aria-label': say('labels.later'), disabled: wish.first >= most, onclick: () => step(1) }, '+')),
    wish.kind !== 'strip' && h('small', null, say('labels.first_hint')));
}

function changedOnly(draw) {
  return h('button.toggle', { type: 'button', role: 'switch', 'aria-checked': String(wish.changed), onclick: () => { wish.changed = !wish.changed; draw(); } }, h('span', null, say('labels.changed')), h('i', { 'aria-hidden': 'true' }));
}

function outcomeOf() {
  if (!made) return undefined;
  const { url, report } = made;
  return h('section.pdf', { role: 'status' },
    h('p', null, icon('check'), ' ', h('b', null, say('labels.made', { labels: report.labels ?? 0, pages: report.pages ?? 0 }))),
    report.reach_mm > 0 && h('p', null, say('labels.reach', { cm: number(Math.round(report.reach_mm / 10)) })),
    (report.warnings ?? []).map((text) => h('p.notice', null, text)),
    h('p', null, say('labels.full_size')),
    h('a.primary.wide', { href: url, download: 'rackside-labels.pdf' }, say('labels.save')),
    h('a.quiet.wide', { href: url, target: '_blank', rel: 'noopener' }, say('labels.open')));
}

export function labelsView() {
  const view = h('main.page.labels');
  const draw = () => {
    const focused = document.activeElement?.getAttribute?.('aria-label') ?? document.activeElement?.textContent;
    const within = view.contains(document.activeElement);
    view.replaceChildren(
      ...[
        h('h1', null, say('labels.title')),
        trouble && h('p.trouble', { role: 'alert' }, icon('warning'), trouble),
        !offer && h('p.hint', null, say('devices.away')),
        offer && [
          kinds(draw), wish.kind === 'helper' ? ofHelpers(draw) : ofRacks(draw), sheets(draw), changedOnly(draw),
          outcomeOf(),
          h('div.foot', null, h('button.primary.wide', { type: 'button', disabled: busy, onclick: () => print(draw) },
            busy ? say('labels.making') : say(wish.changed ? 'labels.make_changed' : 'labels.make', { count: estimate() }))),
        ],
      ].flat(3).filter(Boolean),
    );
    // A form that was drawn anew keeps the place of who works by keyboard.
    if (within && focused) /** @type {HTMLElement | undefined} */ ([...view.querySelectorAll('button, select, input')].find((one) => (one.getAttribute('aria-label') ?? one.textContent) === focused))?.focus();
  };
  draw();
  loadOffer(draw);
  return { view, update: () => {} };
}
