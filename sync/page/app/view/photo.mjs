// A photo instead of the live camera: read on the phone where that suffices, else by the hub, else kept until it is near.

import { phone } from '../phone.mjs';
import { decode } from '../scan/camera.mjs';
import { NotKept, packed, photos, pictureOf } from '../scan/photos.mjs';
import { Refused } from '../log/exchange.mjs';
import { ago, number, say } from '../words/say.mjs';
import { h, icon } from './dom.mjs';
import { nameOf } from './names.mjs';
import { session } from './session.mjs';
import { go } from './route.mjs';
import { readCode } from '../base/codes.mjs';

/** Codes of a picture that this phone reads by itself, each once. */
async function readHere(picture) {
  const copy = await createImageBitmap(picture);
  const texts = await decode(copy);
  return [...new Set(texts.map((text) => readCode(text).code).filter(Boolean))];
}

async function open(code) {
  await session.read(code);
  go('scan');
}

/** "2 labels not read: blurred, hold still" */
export function unreadTexts(findings) {
  return Object.entries(findings.unread ?? {}).map(([why, count]) => say('photo.unread', { count, why: say(`unread.${why}`) }));
}

function whoIs(code) {
  const animal = phone.aisle.animals.get(code);
  if (animal) return animal.genes ?? '';
  return phone.aisle.foundAt(code).map((one) => one.label ?? one.id).join(', ');
}

const codeLine = (code) =>
  h('li', null, h('button', { type: 'button', onclick: () => open(code) }, h('b', null, nameOf(code)), h('small', null, whoIs(code))));

const found = (findings) => [
  findings.codes.length > 0 && h('ul.found', null, findings.codes.map(codeLine)),
  unreadTexts(findings).map((text) => h('p.notice', null, text)),
  findings.codes.length === 0 && Object.keys(findings.unread ?? {}).length === 0 && h('p.notice', null, say(findings.foreign > 0 ? 'photo.foreign' : 'photo.nothing')),
];

function keptLine(photo) {
  const when = ago(photo.at);
  return h('li.keptphoto', null,
    h('div.row', null,
      h('span', null, photo.bytes ? say('photo.waits', { when }) : say('photo.was_read', { when })),
      h('button.quiet', { type: 'button', 'aria-label': say('photo.drop_of', { when }), onclick: () => photos.drop(photo) }, say('photo.drop'))),
    photo.problem && h('p.notice', null, photo.problem),
    photo.findings && found(photo.findings));
}

export function photoView() {
  const status = h('p.told', { role: 'status' });
  const result = h('div.result');
  const waiting = h('section.block');
  let last; // the photo that is looked at

  const told = (text) => (status.textContent = text);
  const show = (...parts) => result.replaceChildren(...parts.flat(Infinity).filter(Boolean));

  async function keepIt() {
    await photos.keep(last);
    told(say('photo.kept'));
  }

  /** The hub's answer, or the photo kept for it. */
  async function askHub() {
    if (!photos.canAsk) return keepIt();
    told(say('photo.asking'));
    try {
      const findings = await photos.askHub(last);
      if (findings.codes.length === 1 && unreadTexts(findings).length === 0) return await open(findings.codes[0]);
      told(say('photo.found', { count: findings.codes.length }));
      show(found(findings));
    } catch (error) {
      if (error instanceof Refused && ![429, 503].includes(error.status)) return told(error.message);
      await keepIt();
    }
  }

  async function take(file) {
    show();
    told(say('photo.reading'));
    const picture = await pictureOf(file).catch(() => undefined);
    const codes = picture ? await readHere(picture).catch(() => []) : [];
    if (codes.length === 1) return open(codes[0]);
    last = await packed(file, picture);
    if (codes.length === 0) return askHub();
    told(say('photo.several', { count: codes.length }));
    show(h('ul.found', null, codes.map(codeLine)),
      phone.mayWrite && h('button.quiet.wide', { type: 'button', onclick: () => guarded(askHub) }, say('photo.more')));
  }

  /** Whatever goes wrong is said where the person looks. */
  async function guarded(work) {
    try {
      await work();
    } catch (error) {
      told(error instanceof NotKept ? say(error.key, error.args) : say('photo.failed', { why: String(error.message ?? error) }));
    }
  }

  function drawWaiting() {
    waiting.hidden = photos.kept.length === 0;
    waiting.replaceChildren(h('h2', null, say('photo.kept_title', { count: number(photos.kept.length) })), h('ul.plainlist', null, photos.kept.map(keptLine)));
  }

  const input = h('input', { type: 'file', accept: 'image/*', capture: 'environment', 'aria-label': say('photo.title'),
    onchange: async (event) => {
      const [file] = event.target.files;
      if (file) await guarded(() => take(file));
      event.target.value = ''; // the same file may be chosen again
    } });
  drawWaiting();
  photos.addEventListener('change', drawWaiting);
  return {
    view: h('main.page', null, h('h1', null, say('photo.title')), h('p.hint', null, say('photo.hint')), status, result, waiting, h('div.foot', null, h('label.primary.wide.file', null, icon('photo'), say('photo.take'), input))),
    update: () => {},
    leave: () => photos.removeEventListener('change', drawWaiting),
  };
}
