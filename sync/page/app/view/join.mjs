// Joining: checks that this phone trusts the hub and keeps the page, then takes the second code, scanned or typed.

import { phone } from '../phone.mjs';
import { Away, Refused } from '../log/exchange.mjs';
import { looksLikeJoinCode } from '../base/join_code.mjs';
import { say } from '../words/say.mjs';
import { Camera } from '../scan/camera.mjs';
import { h, icon } from './dom.mjs';
import { signal } from './signals.mjs';
import { keeperOfPage } from './keeper.mjs';

const isApple = () => /iPhone|iPad|iPod/.test(navigator.userAgent) || (navigator.platform === 'MacIntel' && navigator.maxTouchPoints > 1);
const isInstalled = () => matchMedia('(display-mode: standalone)').matches || /** @type {any} */ (navigator).standalone === true;

function usualName() {
  const system = /iPhone/.test(navigator.userAgent) ? 'iPhone' : /Android/.test(navigator.userAgent) ? 'Android' : say('join.phone');
  return system;
}

export function joinView(code = '') {
  const status = h('p.told', { role: 'alert' });
  const input = h('input.code', { value: code, 'aria-label': say('join.code'), autocomplete: 'off', autocapitalize: 'characters', spellcheck: false, placeholder: '0K3F-…' });
  const name = h('input', { value: usualName(), 'aria-label': say('join.name'), maxLength: 60, autocomplete: 'off' });
  const video = h('video', { muted: true, autoplay: true, playsInline: true, 'aria-label': say('scan.camera') });
  const submit = h('button.primary.wide', { type: 'submit' }, say('join.join'));
  const finder = h('section.finder.joining', { hidden: true }, video, h('div.corners', { 'aria-hidden': 'true' }));
  const scanButton = h('button.primary.wide', { type: 'button', onclick: () => startScan() }, icon('scan'), say('join.scan'));
  let busy = false;

  const camera = new Camera(
    /** @type {HTMLVideoElement} */ (/** @type {HTMLElement} */ (video)),
    (text) => {
      if (!looksLikeJoinCode(text)) return void (status.textContent = say('join.other_code'));
      signal('read');
      camera.stop();
      input.value = text.slice(text.lastIndexOf('#') + 1);
      join();
    },
    (state) => {
      finder.hidden = !['on', 'starting'].includes(state);
      scanButton.hidden = !finder.hidden;
      if (state === 'denied' || state === 'missing') status.textContent = say(`scan.${state}`);
    },
  );
  const startScan = () => {
    status.textContent = '';
    camera.start();
  };

  async function join() {
    if (busy) return;
    busy = true;
    submit.disabled = true;
    status.textContent = say('join.asking');
    try {
      await phone.join(input.value, name.value.trim() || usualName());
      signal('saved');
      location.hash = '#/scan';
      document.dispatchEvent(new Event('joined'));
    } catch (error) {
      signal('refused');
      status.textContent = error.problem ? say(error.problem) : error instanceof Refused ? say('join.refused', { message: error.message }) : error instanceof Away ? say('join.away') : say('join.failed', { why: String(error) });
    }
    busy = false;
    submit.disabled = false;
  }

  const trouble = keeperOfPage.trouble;
  const view = h('main.page.join', null,
    h('img.mark', { src: '/icon.svg', alt: '', width: 72, height: 72 }),
    h('h1', null, say('join.title')),
    trouble
      ? h('section.missing', { role: 'alert' }, icon('warning'), h('div', null, h('b', null, say('join.not_trusted')), h('p', null, say(isApple() ? 'join.not_trusted_apple' : 'join.not_trusted_android')), h('p', null, say('join.not_trusted_why'))))
      : [
          h('p.good', null, icon('check'), say('join.trusted')),
          phone.rescued.length > 0 && h('p.notice', { role: 'alert' }, say('join.rescued', { count: phone.rescued.length })),
          isApple() && !isInstalled() && h('p.notice', null, say('join.install_apple')),
          h('p.hint', null, say('join.hint')),
          scanButton,
          finder,
          h('form.joinform', { onsubmit: (event) => { event.preventDefault(); join(); } },
            h('label', null, say('join.code'), input),
            h('label', null, say('join.name'), name),
            submit),
        ],
    status);
  if (code && !trouble) status.textContent = say('join.ready');
  return { view, update: () => {}, leave: () => camera.stop() };
}
