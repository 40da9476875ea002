// The plain page: compare, install, check, go on. It hands out the authority and nothing else.

import { say, speak } from '/say.mjs';
import { h } from '/dom.mjs';

const root = document.getElementById('root');
const isApple = /iPhone|iPad|iPod/.test(navigator.userAgent) || (navigator.platform === 'MacIntel' && navigator.maxTouchPoints > 1);
let system = isApple ? 'apple' : 'android';
let compared = false;
let checked = ''; // '', 'asking', 'good', 'bad'
let facts;

/** Whether a secure connection comes about: only then is the authority trusted. */
async function check() {
  checked = 'asking';
  draw();
  try {
    const answer = await fetch(`${facts.url}/trusted`, { mode: 'cors', cache: 'no-store', signal: AbortSignal.timeout(10_000) });
    checked = (await answer.json()).trusted ? 'good' : 'bad';
  } catch {
    checked = 'bad';
  }
  draw();
}

const step = (number, title, ...content) =>
  h('section', null, h('div.step', null, h('span.number', { 'aria-hidden': 'true' }, String(number)), h('div', null, h('h2', null, title), content)));

function steps() {
  const rows = system === 'apple' ? 6 : 5;
  return h('ol', null, Array.from({ length: rows }, (_, i) => h('li', null, say(`trust.${system}_${i + 1}`))));
}

function result() {
  if (checked === 'bad') return h('p.bad', { role: 'alert' }, say(`trust.bad_${system}`));
  if (checked === 'good') return h('p.fine', { role: 'status' }, say('trust.good'));
  return checked === 'asking' ? h('p.faint', { role: 'status' }, say('trust.asking')) : '';
}

function draw() {
  root.replaceChildren(
    h('h1', null, say('trust.title')),
    h('p.faint', null, say('trust.intro')),
    step(1, say('trust.compare'), h('p', null, say('trust.compare_text')), h('p.sha', { translate: 'no' }, facts.sha256),
      h('button', { type: 'button', 'aria-pressed': String(compared), className: compared ? 'quiet' : '', onclick: () => { compared = true; draw(); } }, say(compared ? 'trust.compared' : 'trust.same'))),
    step(2, say('trust.install'),
      h('div.tabs', null, ['android', 'apple'].map((one) => h('button', { type: 'button', 'aria-pressed': String(one === system), onclick: () => { system = one; checked = ''; draw(); } }, say(`trust.${one}`)))),
      compared ? h('a.button', { href: '/authority.crt' }, say('trust.download')) : h('p.faint', null, say('trust.first_compare')),
      steps(), h('p.faint', null, say('trust.monitored'))),
    step(3, say('trust.check'), h('button', { type: 'button', className: checked === 'good' ? 'quiet' : '', onclick: check }, say('trust.check_now')), result(),
      checked === 'good' ? h('p', null, say('trust.next')) : '', checked === 'good' ? h('a.button', { href: `${facts.url}/` }, say('trust.go')) : ''),
  );
}

async function start() {
  speak('auto');
  facts = await (await fetch('/facts.json')).json();
  draw();
  document.documentElement.dataset.ready = 'yes';
}

start();
