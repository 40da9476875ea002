// The first screen: what the camera sees above, what it is and what can be said of it below, under the thumb.

import { phone } from '../phone.mjs';
import { Camera, decoder, warmUp } from '../scan/camera.mjs';
import { photos } from '../scan/photos.mjs';
import { clock, say } from '../words/say.mjs';
import { card } from './card.mjs';
import { h, icon } from './dom.mjs';
import { changeMeal, enterKind } from './entering.mjs';
import { isMeal, kKinds, kQuick } from './kinds.mjs';
import { forecastBlock } from './odds.mjs';
import { eggActions, eggsCard } from './eggs.mjs';
import { entryText, whenText } from './sentences.mjs';
import { itemsText, session, usualItems } from './session.mjs';
import { chooseKind } from './sheets.mjs';
import { warningList } from './warned.mjs';
import { whenButton } from './when.mjs';
import { go } from './route.mjs';
import { roundPanel } from './round.mjs';

const video = /** @type {HTMLVideoElement} */ (
  /** @type {HTMLElement} */ (h('video', { muted: true, autoplay: true, playsInline: true, 'aria-hidden': 'true' }))
);
let cameraState = 'off';
let torch = false;
let finder;
let panel;

export const camera = new Camera(
  video,
  (text) => session.read(text),
  (state) => {
    cameraState = state;
    drawFinder();
  },
);

decoder.addEventListener('change', drawFinder);

export const isCameraOn = () => cameraState === 'on';

// ---- the camera's window

const kCameraTexts = { off: 'scan.start', starting: 'scan.starting', denied: 'scan.denied', missing: 'scan.missing' };

function drawFinder() {
  if (!finder) return;
  const on = cameraState === 'on';
  finder.dataset.state = cameraState;
  finder.querySelector('.over').replaceChildren(
    ...[
      !on && h('button.start', { type: 'button', onclick: () => camera.start(), disabled: cameraState === 'starting' }, icon('scan'), h('span', null, say(kCameraTexts[cameraState]))),
      on && camera.hasTorch && h('button.torch', { type: 'button', 'aria-pressed': String(torch), 'aria-label': say('scan.torch'), onclick: () => { torch = !torch; camera.torch(torch); drawFinder(); } }, icon('torch')),
      decoder.isMissing && h('p.notice', { role: 'status' }, say('scan.no_reader')),
      session.lastRead && h('output.read', { 'aria-live': 'polite' }, session.lastRead),
    ].filter(Boolean),
  );
}

function makeFinder() {
  finder = h('section.finder', { 'aria-label': say('scan.camera'), onclick: () => camera.focus() }, video, h('div.corners', { 'aria-hidden': 'true' }), h('div.over'));
  drawFinder();
  return finder;
}

// ---- below it

const kFeeds = ['fed', 'offered'];

function kindButton(kind, animal) {
  const items = isMeal(kind) && kind !== 'refused' ? usualItems(animal) : undefined;
  const warned = kFeeds.includes(kind) && session.warningsBefore(kind).warnings.length > 0;
  return h(`button.act.${kind}${warned ? '.warned' : ''}`, { type: 'button', onclick: () => enterKind(kind) },
    h('b', null, warned && icon('warning'), say(`kind.${kind}`), warned && h('span.unseen', null, ` (${say('scan.warned')})`)), items && h('small', null, itemsText(items)));
}

function actions(scene) {
  const animal = scene.found.length === 1 ? scene.found[0] : undefined;
  const waits = scene.found.some((one) => one.night?.open);
  const first = waits ? ['leftover', ...kQuick] : kQuick;
  return h('section.acts', { 'aria-label': say('scan.acts') },
    h('div.grid', null, first.slice(0, 6).map((kind) => kindButton(kind, animal))),
    h('div.row', null,
      h('button.quiet', { type: 'button', onclick: () => changeMeal(animal) }, say('scan.prey')),
      h('button.quiet', { type: 'button', onclick: () => enterKind('weighed') }, say('kind.weighed')),
      h('button.quiet', { type: 'button', onclick: async () => { const kind = await chooseKind(); if (kind) enterKind(kind); } }, say('scan.more')),
      whenButton(session.said, (said) => session.sayWhen(said), { short: true })));
}

/** What was just saved, with the way back and the likely other word for it. */
export function savedBand() {
  const { saved } = session;
  if (!saved) return undefined;
  return h('section.saved', { role: 'status' },
    h('p', null, icon('check'), h('b', null, say('saved.saved')), ' ', entryText(saved.entry), ' ', h('small', null, whenText(saved.entry))),
    warningList(saved.warnings, 'cautions'),
    warningList(saved.notices, 'notices'),
    h('div.row', null,
      h('button.undo', { type: 'button', onclick: () => session.undo() }, icon('undo'), say('saved.undo')),
      (kKinds[saved.kind]?.correct ?? []).map((kind) => h('button.quiet', { type: 'button', onclick: () => session.correct(kind) }, say('saved.instead', { kind: say(`instead.${kind}`) })))));
}

/** Something must be said before it can be saved, or may be said. */
export function askBand() {
  const { asking } = session;
  if (!asking) return undefined;
  const { ask } = asking.composed;
  const title = ask.about === 'animal' ? say('which.title', { count: ask.options.length }) : say(`again.${ask.matter}`, { animal: phone.aisle.label(ask.animal), when: clock(ask.at) });
  return h('section.ask', { role: 'alertdialog', 'aria-label': title },
    h('h3', null, title),
    h(ask.about === 'animal' ? 'div.grid' : 'div.rows', null,
      ask.about === 'animal'
        ? ask.options.map((id) => h('button.act', { type: 'button', onclick: () => session.answer({ animal: id }) }, h('b', null, phone.aisle.label(id)), h('small', null, phone.aisle.animals.get(id)?.genes ?? '')))
        : ask.options.map((relation) => h('button.act', { type: 'button', onclick: () => session.answer({ relation }) }, h('b', null, say(`relation.${relation}`)), h('small', null, say(`relation.${ask.matter}.${relation}`))))),
    h('button.quiet', { type: 'button', onclick: () => session.drop() }, say('sheet.cancel')));
}

function wantBand() {
  if (!session.wanting) return undefined;
  return h('section.ask', { role: 'status' },
    h('h3', null, say(session.wanting.sort === 'place' ? 'want.place' : 'want.partner', { kind: say(`kind.${session.wanting.entry.kind}`) })),
    warningList(session.wanting.warnings, 'cautions'),
    h('div.row', null,
      h('button.quiet', { type: 'button', onclick: () => go('find') }, icon('search'), say('find.title')),
      h('button.quiet', { type: 'button', onclick: () => session.drop() }, say('sheet.cancel'))));
}

/** Two that are to be paired: what it may give stands between the scan and the tap. */
function pairBand() {
  const { pairing } = session;
  if (!pairing) return undefined;
  const { composed, asked } = pairing;
  const [visitor, host] = composed.draft.of.map((id) => phone.aisle.label(id));
  const title = say('pair.title', { visitor, host });
  return h('section.ask.pair', { role: 'alertdialog', 'aria-label': title },
    h('h3', null, title),
    warningList(composed.warnings, 'cautions'),
    warningList(composed.notices, 'notices'),
    forecastBlock(asked),
    h('div.row', null,
      h('button.primary', { type: 'button', onclick: () => session.confirmPairing() }, say('pair.save')),
      h('button.quiet', { type: 'button', onclick: () => session.drop() }, say('sheet.cancel'))));
}

function problemBand() {
  if (!session.problem) return undefined;
  const [key, args] = session.problem;
  return h('section.problem', { role: 'alert' }, icon('warning'), h('p', null, say(key, args)));
}

function empty(scene) {
  if (scene.found.length > 0) return undefined;
  const reserved = scene.reserved[0];
  return h('article.card', null, h('header.who', null, h('h2.name', null, phone.aisle.label(scene.code))),
    h('p', null, reserved ? say('card.reserved', { animal: reserved.label, place: phone.aisle.label(reserved.visit?.[0]) }) : say('card.nobody')));
}

function inView() {
  const scene = session.scene;
  return [
    scene.quarantineBefore && !session.saved && warningList([['warn.quarantine', { place: scene.quarantineBefore }]], 'cautions'),
    !session.saved && warningList(session.cameLater, 'cautions'),
    scene.found.length > 1 && !session.saved && h('p.which', null, icon('warning'), say('which.here', { count: scene.found.length })),
    scene.eggs ? eggsCard(scene) : scene.found.map((animal) => card(animal, { small: scene.found.length > 1 })),
    empty(scene),
    savedBand(),
    askBand() ?? wantBand() ?? pairBand() ?? (phone.mayWrite && !session.saved ? (scene.eggs ? eggActions(scene) : actions(scene)) : undefined),
    session.saved && phone.mayWrite && h('button.quiet.another', { type: 'button', onclick: () => { session.saved = undefined; session.changed(); } }, say('scan.another')),
  ];
}

function nothingInView() {
  const last = phone.newest();
  return h('section.idle', null,
    h('p.hint', null, say('scan.hint')),
    h('div.ways', null,
      h('button.way', { type: 'button', onclick: () => go('type') }, icon('keys'), say('type.title')),
      h('button.way', { type: 'button', onclick: () => go('find') }, icon('search'), say('find.title')),
      h('button.way', { type: 'button', onclick: () => go('photo') }, icon('photo'), photos.read > 0 ? say('photo.title_read', { count: photos.read }) : say('photo.title'))),
    phone.mayWrite && h('button.primary.wide', { type: 'button', onclick: () => go('round') }, icon('round'), say('round.title')),
    last && h('div.last', null, h('span', null, say('saved.last'), ' ', entryText(last), h('small', null, ` ${whenText(last)}`)),
      h('button.undo', { type: 'button', onclick: () => session.undo() }, icon('undo'), say('saved.undo'))));
}

/** On a small screen what is asked, and the way back, must not lie below the tabs. Once: then the person scrolls. */
let brought;
function bringIntoView() {
  const shown = session.asking ?? session.saved?.entry;
  const band = shown && panel.querySelector('.ask, .saved');
  if (band && brought !== shown) requestAnimationFrame(() => band.scrollIntoView({ block: 'nearest' }));
  brought = shown;
}

function draw() {
  if (!panel) return;
  drawFinder();
  const undone = session.undone && Date.now() - session.undone.wall < 12 * 3_600_000 && !session.saved && !session.problem;
  panel.replaceChildren(
    ...[
      problemBand(),
      undone && h('p.notice', { role: 'status' }, say('saved.undone', { what: entryText(session.undone) })),
      session.round ? roundPanel({ ask: askBand(), saved: savedBand() }) : session.code ? inView() : nothingInView(),
    ].flat(Infinity).filter(Boolean),
  );
  bringIntoView();
  finder.classList.toggle('slim', Boolean(session.code) && !session.round);
  finder.classList.toggle('midway', Boolean(session.round));
}

session.addEventListener('change', () => {
  if (session.saved || session.code) session.undone = session.saved ? undefined : session.undone;
  draw();
});

export function scanView() {
  warmUp();
  panel = h('div.panel');
  const view = h('main.scan', null, h('h1.unseen', null, say('nav.scan')), makeFinder(), panel);
  // A moved video stops by itself.
  if (cameraState === 'on') queueMicrotask(() => video.play().catch(() => {}));
  draw();
  return { view, update: draw, leave: () => { panel = undefined; finder = undefined; } };
}
