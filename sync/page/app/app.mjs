// Wires the page: loads what the phone holds, shows the screen of the address, keeps in touch with the hub.

import { phone } from './phone.mjs';
import { listen } from './live.mjs';
import { readCode } from './base/codes.mjs';
import { ago, say, speak } from './words/say.mjs';
import { h, icon } from './view/dom.mjs';
import { findView, rackView, racksView, todayView, typeView } from './view/lists.mjs';
import { deskView } from './view/desk.mjs';
import { labelsView } from './view/labels.mjs';
import { joinView } from './view/join.mjs';
import { helpView, moreView, wear } from './view/more.mjs';
import { openQuestions, questionsView } from './view/questions.mjs';
import { photoView } from './view/photo.mjs';
import { roundView } from './view/round.mjs';
import { camera, isCameraOn, scanView } from './view/scan.mjs';
import { session } from './view/session.mjs';
import { photos } from './scan/photos.mjs';
import { keeperOfPage } from './view/keeper.mjs';
import { go, here } from './view/route.mjs';
import { wakeSound } from './view/signals.mjs';

/** The desk's tab is shown on wide screens only. */
const kTabs = [['desk', 'desk'], ['today', 'today'], ['racks', 'racks'], ['scan', 'scan'], ['questions', 'questions'], ['more', 'more']];
const kViews = {
  scan: scanView, today: todayView, racks: racksView, rack: rackView, questions: questionsView, more: moreView,
  round: roundView, find: findView, type: typeView, photo: photoView, help: helpView, join: joinView, desk: deskView, labels: labelsView,
};
/** Which tab a screen belongs to. */
const kTabOf = { rack: 'racks', round: 'scan', find: 'scan', type: 'scan', photo: 'scan', help: 'more', labels: 'more' };

const root = document.getElementById('root');
const strip = h('header.strip');
const nav = h('nav.tabs', { 'aria-label': say('nav.name') });
const banner = h('div.banners');
let current;
let shown = '';

// ---- what is always in view

function stateText() {
  const waiting = phone.unsent;
  if (phone.storage === 'lost') return ['bad', say('strip.lost')];
  if (phone.state === 'refused') return ['bad', phone.trouble?.status === 401 ? say('strip.removed') : say('strip.refused')];
  if (waiting.length > 0) return phone.state === 'away' ? ['away', say('strip.away_unsent', { count: waiting.length, since: ago(waiting[0].wall) })] : ['busy', say('strip.unsent', { count: waiting.length, since: ago(waiting[0].wall) })];
  if (phone.state === 'online') return ['online', say('strip.sent')];
  return ['away', phone.fetchedAt ? say('strip.as_of', { when: ago(phone.fetchedAt) }) : say('strip.away')];
}

function drawStrip() {
  if (!phone.joined) return strip.replaceChildren();
  const [tone, text] = stateText();
  strip.replaceChildren(
    h(`button.state.${tone}`, { type: 'button', onclick: () => go('more') }, h('i', { 'aria-hidden': 'true' }), h('span', { role: 'status' }, text)),
    h('span.by', null, phone.aisle.label(phone.by)),
  );
}

function drawTabs() {
  const tab = kTabOf[shown] ?? shown;
  const questions = openQuestions().length;
  nav.hidden = !phone.joined;
  nav.replaceChildren(
    ...kTabs.map(([screen, name]) =>
      h('a.tab', { href: `#/${screen}`, 'aria-current': screen === tab ? 'page' : undefined }, icon(name), h('span', null, say(`nav.${screen}`)),
        screen === 'questions' && questions > 0 && h('b.badge', { 'aria-label': say('questions.open', { count: questions }) }, String(questions)))),
  );
}

function drawBanners() {
  const lines = [];
  if (keeperOfPage.waiting) lines.push(h('p.banner', { role: 'status' }, say('banner.newer'), h('button.quiet', { type: 'button', onclick: () => keeperOfPage.renew() }, say('banner.renew'))));
  if (phone.joined && keeperOfPage.trouble) lines.push(h('p.banner.bad', { role: 'alert' }, say('banner.not_kept')));
  if (phone.storage === 'lost') lines.push(h('p.banner.bad', { role: 'alert' }, say('banner.lost'), h('button.quiet', { type: 'button', onclick: () => location.reload() }, say('banner.reload'))));
  else if (phone.joined && phone.storage === 'temporary' && !phone.prefs.storage_read) lines.push(h('p.banner', { role: 'alert' }, say('banner.temporary'), h('button.quiet', { type: 'button', onclick: () => phone.setPref('storage_read', true) }, say('banner.understood'))));
  if (phone.joined && Math.abs(phone.aisle.offset) > 300_000) lines.push(h('p.banner', { role: 'status' }, say('more.clock', { offset: phone.aisle.offset })));
  banner.replaceChildren(...lines);
}

function drawAround() {
  drawStrip();
  drawTabs();
  drawBanners();
}

// ---- the screen

function show() {
  const { screen, id } = here();
  const mayShow = kViews[screen] && screen !== 'join' && (screen !== 'labels' || phone.link?.role === 'keeper');
  const wanted = !phone.joined ? 'join' : mayShow ? screen : 'scan';
  current?.leave?.();
  shown = wanted;
  current = kViews[wanted](wanted === 'join' ? joinCode() : id);
  root.replaceChildren(strip, banner, current.view, nav);
  drawAround();
  current.entered?.();
  window.scrollTo(0, 0);
}

/** A join link's code, where the phone's own camera app opened it. */
function joinCode() {
  return location.pathname === '/join' ? location.hash.replace(/^#\/?/, '').replace(/^join\/?.*/, '') : '';
}

function update() {
  drawAround();
  current?.update();
}

async function start() {
  speak('auto');
  try {
    await phone.load();
  } catch (error) {
    root.replaceChildren(h('main.page', null, h('h1', null, say('start.no_store')), h('p.hint', null, say('start.no_store_hint', { why: String(error) }))));
    return;
  }
  speak(phone.prefs.language ?? 'auto');
  wear(phone.prefs.theme);
  show();
  window.addEventListener('hashchange', show);
  document.addEventListener('go', (/** @type {CustomEvent} */ event) => go(event.detail));
  document.addEventListener('joined', () => {
    show();
    listen(phone);
  });
  document.addEventListener('spoken', show);
  document.addEventListener('pointerdown', wakeSound);
  document.addEventListener('signal', (/** @type {CustomEvent} */ event) => {
    document.body.dataset.signal = '';
    requestAnimationFrame(() => (document.body.dataset.signal = event.detail));
  });
  phone.addEventListener('change', update);
  photos.start(phone);
  photos.addEventListener('change', () => shown === 'scan' && current?.update());
  session.addEventListener('change', () => shown !== 'scan' && update());
  let shownTrouble = keeperOfPage.trouble;
  keeperOfPage.addEventListener('change', () => {
    drawBanners();
    // A form that is being filled in must not be drawn anew for nothing.
    if (!phone.joined && shownTrouble !== keeperOfPage.trouble) show();
    shownTrouble = keeperOfPage.trouble;
  });
  keeperOfPage.start();
  setInterval(drawStrip, 20_000);
  if (phone.joined) {
    phone.askToKeep();
    phone.sync();
    listen(phone);
  }
  for (const event of ['online', 'focus', 'pageshow']) window.addEventListener(event, () => phone.sync());
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') {
      phone.sync();
      keeperOfPage.look();
      if (isCameraOn()) camera.stayAwake(); // the browser lets go of it when the page is out of sight
    } else if (shown !== 'scan') camera.stop();
  });
  document.documentElement.dataset.ready = 'yes';
  openLabel();
}

/** A label whose link was opened by the phone's own camera app. */
function openLabel() {
  const { code, kind } = readCode(location.pathname.slice(1));
  if (!code || !phone.joined) return;
  history.replaceState(null, '', '/#/scan');
  session.take(code, kind);
  show();
}

start();
