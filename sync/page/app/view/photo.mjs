// A photo instead of the live camera: decoded on the phone where that reads it; else kept for the hub, and said so.

import { phone } from '../phone.mjs';
import { decode } from '../scan/camera.mjs';
import { outcome, readAll, write } from '../log/database.mjs';
import { ago, say } from '../words/say.mjs';
import { h, icon } from './dom.mjs';
import { session } from './session.mjs';
import { go } from './route.mjs';
import { readCode } from '../base/codes.mjs';

const kMostSide = 4096;

async function read(file) {
  const picture = await createImageBitmap(file);
  const scale = Math.min(1, kMostSide / Math.max(picture.width, picture.height));
  const fitting = scale < 1 ? await createImageBitmap(picture, { resizeWidth: Math.round(picture.width * scale), resizeHeight: Math.round(picture.height * scale) }) : picture;
  return (await decode(fitting)).filter((text) => readCode(text).code);
}

export function photoView() {
  const status = h('p.told', { role: 'status' });
  const list = h('ul.found');
  const waiting = h('ul.plainlist');

  async function take(event) {
    const [file] = event.target.files;
    if (!file) return;
    status.textContent = say('photo.reading');
    list.replaceChildren();
    const texts = await read(file).catch(() => []);
    if (texts.length === 1) {
      await session.read(texts[0]);
      return go('scan');
    }
    if (texts.length > 1) {
      status.textContent = say('photo.several', { count: texts.length });
      list.replaceChildren(...texts.map((text) => {
        const { code } = readCode(text);
        return h('li', null, h('button', { type: 'button', onclick: async () => { await session.read(text); go('scan'); } }, h('b', null, phone.aisle.label(code))));
      }));
      return;
    }
    await write(['photos'], ({ photos }) => outcome(photos.add({ file, at: Date.now() })));
    status.textContent = say('photo.kept');
    drawWaiting();
  }

  async function drawWaiting() {
    const photos = await readAll('photos').catch(() => []);
    waiting.replaceChildren(...photos.map((photo) => h('li', null, say('photo.waits', { when: ago(photo.at) }), h('button.quiet', { type: 'button', onclick: async () => { await write(['photos'], ({ photos: store }) => outcome(store.delete(photo.id))); drawWaiting(); } }, say('photo.drop')))));
  }

  const input = h('input', { type: 'file', accept: 'image/*', capture: 'environment', onchange: take, 'aria-label': say('photo.title') });
  drawWaiting();
  return {
    view: h('main.page', null, h('h1', null, say('photo.title')), h('p.hint', null, say('photo.hint')), h('label.primary.wide.file', null, icon('photo'), say('photo.take'), input), status, list, waiting),
    update: () => {},
  };
}
