// The rest: what waits to be sent, what this phone is, how it looks and sounds; for keepers the devices.

import { phone } from '../phone.mjs';
import { ask } from '../log/exchange.mjs';
import { kLanguages } from '../words/words.mjs';
import { ago, number, say, speak } from '../words/say.mjs';
import { h, icon } from './dom.mjs';
import { enterStock } from './entering.mjs';
import { entryText, whenText } from './sentences.mjs';
import { chooseOne, confirm } from './sheets.mjs';
import { wakeSound } from './signals.mjs';
import { go } from './route.mjs';

let devices;
let stocked; // {entry} or {problem} of the last word on the freezer
let devicesTrouble; // why the last retiring came to nothing

/** The colours of the day are a style sheet of their own; the phone's setting decides unless the person did. */
const kWorn = { light: 'all', dark: 'not all' };
export function wear(theme) {
  /** @type {HTMLLinkElement} */ (document.querySelector('link[href="/light.css"]')).media = kWorn[theme] ?? '(prefers-color-scheme: light)';
}

async function shareOutbox() {
  const file = new File([await phone.bundle()], `rackside-${phone.head.device}.bundle`, { type: 'application/x-ndjson' });
  try {
    if (navigator.canShare?.({ files: [file] })) return await navigator.share({ files: [file], title: 'Rackside' });
  } catch {
    // the person closed the sharing sheet, or it cannot take a file: it is kept as a download
  }
  const link = h('a', { href: URL.createObjectURL(file), download: file.name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

function outbox() {
  const waiting = phone.unsent;
  return h('section.block', null,
    h('h2', null, say('outbox.title')),
    h('p', null, waiting.length === 0 ? say('outbox.none') : say('outbox.waiting', { count: waiting.length, since: ago(waiting[0].wall) })),
    phone.trouble && h('p.trouble', { role: 'alert' }, icon('warning'), say(phone.trouble.status === 401 ? 'outbox.removed' : 'outbox.refused', { message: phone.trouble.message })),
    phone.stuck && h('p.trouble', { role: 'alert' }, icon('warning'), say('outbox.stuck', { count: phone.rescued.length, message: phone.stuck })),
    waiting.length > 0 && h('ul.plainlist', null, waiting.slice(-6).reverse().map((entry) => h('li', null, `${whenText(entry)} ${entryText(entry)}`))),
    h('div.row', null,
      h('button.quiet', { type: 'button', onclick: () => phone.sync() }, say('outbox.now')),
      h('button.quiet', { type: 'button', onclick: shareOutbox }, icon('share'), say('outbox.share'))),
    h('small', null, say('outbox.share_hint')));
}

function toggle(name, text, fallback = true) {
  const on = phone.prefs[name] ?? fallback;
  return h('button.toggle', { type: 'button', role: 'switch', 'aria-checked': String(on), onclick: () => { wakeSound(); phone.setPref(name, !on); } }, h('span', null, text), h('i', { 'aria-hidden': 'true' }));
}

function settings() {
  const theme = phone.prefs.theme ?? 'auto';
  const language = phone.prefs.language ?? 'auto';
  const pick = async (title, options, name, then) => {
    const value = await chooseOne(title, options);
    if (value === undefined) return;
    await phone.setPref(name, value);
    then(value);
  };
  const languages = [['auto', say('more.auto')], ...kLanguages.map((one) => [one.tag, one.name])];
  const themes = ['auto', 'dark', 'light'].map((one) => [one, say(`more.${one}`)]);
  return h('section.block', null,
    h('h2', null, say('more.phone')),
    h('button.setting', { type: 'button', onclick: () => pick(say('more.language'), languages, 'language', (value) => { speak(value); document.dispatchEvent(new Event('spoken')); }) }, h('span', null, say('more.language')), h('b', null, Object.fromEntries(languages)[language])),
    h('button.setting', { type: 'button', onclick: () => pick(say('more.theme'), themes, 'theme', wear) }, h('span', null, say('more.theme')), h('b', null, Object.fromEntries(themes)[theme])),
    toggle('sound', say('more.sound')),
    toggle('shake', say('more.shake')));
}

function whoAmI() {
  const helpers = [...phone.aisle.base.helper.values()];
  return h('section.block', null,
    h('h2', null, say('more.who')),
    h('button.setting', { type: 'button', onclick: async () => { const by = await chooseOne(say('more.who'), helpers.map((one) => [one.id, one.label ?? one.id])); if (by) phone.setPref('by', by); } }, h('span', null, say('more.by')), h('b', null, phone.aisle.label(phone.by) || '–')),
    h('p', null, say(`role.${phone.link.role}`), ' · ', phone.link.hubName),
    h('p', null, say('more.device', { device: phone.head?.device ?? '' })),
    h('p', null, say(`storage.${phone.storage}`)),
    Math.abs(phone.aisle.offset) > 120_000 && h('p.trouble', null, icon('warning'), say('more.clock', { offset: phone.aisle.offset })));
}

/** What came into the freezer, or was counted there. What is left, the hub's own list says. */
const freezer = (draw) =>
  phone.mayWrite &&
  h('section.block', null,
    h('h2', null, say('stocked.title')),
    h('p.hint', null, say('stocked.hint')),
    stocked?.entry && h('p', { role: 'status' }, icon('check'), ' ', say('saved.saved'), ': ', entryText(stocked.entry)),
    stocked?.problem && h('p.trouble', { role: 'alert' }, icon('warning'), say('scan.not_saved', { why: stocked.problem })),
    h('button.quiet.wide', { type: 'button', onclick: async () => { stocked = (await enterStock()) ?? stocked; draw(); } }, say('kind.stocked')));

export async function loadDevices(draw) {
  try {
    const text = await (await ask('/v1/devices', { token: phone.link.token })).text();
    devices = text.split('\n').filter(Boolean).map((line) => JSON.parse(line)).filter((line) => line.device);
  } catch {
    devices = undefined;
  }
  draw();
}

async function retire(device, draw) {
  const name = device.person || device.name || device.device;
  const waits = device.unsent > 0 ? ` ${say('devices.retire_unsent', { count: number(device.unsent) })}` : '';
  if (!(await confirm(say('devices.retire'), say('devices.retire_text', { name }) + waits, say('devices.retire')))) return;
  devicesTrouble = undefined;
  try {
    await ask('/v1/retire', { method: 'POST', token: phone.link.token, body: JSON.stringify({ device: device.device }) + '\n' });
  } catch (error) {
    devicesTrouble = say('devices.not_retired', { name, why: error.message });
  }
  loadDevices(draw);
}

/** When it was heard, what waited on it then, and how its clock goes. */
function deviceFacts(device) {
  const out = [];
  if (!device.this_hub) out.push(device.here ? say('devices.here') : device.seen ? say('devices.seen', { when: ago(device.seen) }) : say('devices.never'));
  if (device.unsent > 0) out.push(h('b.waits', null, say('devices.unsent', { count: number(device.unsent), since: device.oldest ? ago(device.oldest) : '' })));
  else if (device.unsent === 0) out.push(say('devices.all_sent'));
  if (device.offset !== undefined && !device.this_hub) out.push(Math.abs(device.offset) > 60_000 ? say('devices.clock', { offset: device.offset }) : say('devices.clock_right'));
  out.push(say('devices.entries', { count: device.events, shown: number(device.events) }));
  return out.flatMap((fact, i) => (i === 0 ? [fact] : [' · ', fact]));
}

function deviceLine(device, draw) {
  const standing = device.this_hub ? say('devices.hub') : device.retired ? say('devices.retired') : say(`role.${device.role}`);
  const mine = device.device === phone.head.device || device.device === phone.link.knownAs;
  const retirable = !device.retired && !device.this_hub && ['helper', 'viewer', 'keeper'].includes(device.role) && !mine;
  return h(`li.device${device.retired ? '.past' : ''}`, null,
    h('b', null, device.person || device.name || device.device.slice(0, 6)),
    h('span', null, standing, mine && ` · ${say('devices.this')}`),
    device.person && device.name && h('span.aka', null, device.name),
    h('small', null, deviceFacts(device)),
    retirable && h('button.quiet', { type: 'button', 'aria-label': say('devices.retire_one', { name: device.person || device.name || device.device }), onclick: () => retire(device, draw) }, say('devices.retire')));
}

/** Who needs the keeper's eye comes first, who is no more last. */
const byStanding = (a, b) => Number(a.retired) - Number(b.retired) || (b.unsent ?? 0) - (a.unsent ?? 0) || (b.seen ?? 0) - (a.seen ?? 0);

/** For keepers: who writes into this book. */
export const devicesBlock = (draw) =>
  phone.link.role === 'keeper' &&
  h('section.block', null, h('h2', null, say('devices.title')), devicesTrouble && h('p.trouble', { role: 'alert' }, icon('warning'), devicesTrouble), devices ? h('ul.plainlist', null, [...devices].sort(byStanding).map((device) => deviceLine(device, draw))) : h('p.hint', null, say('devices.away')));

export function moreView() {
  const view = h('main.page');
  const update = () =>
    view.replaceChildren(
      ...[
        h('h1', null, say('nav.more')),
        outbox(),
        freezer(update),
        whoAmI(),
        settings(),
        devicesBlock(update),
        phone.link.role === 'keeper' && h('button.quiet.wide', { type: 'button', onclick: () => go('labels') }, say('labels.title')),
        h('button.quiet.wide', { type: 'button', onclick: () => go('help') }, say('help.title')),
      ].filter(Boolean),
    );
  update();
  if (phone.link.role === 'keeper') loadDevices(update);
  return { view, update };
}

export function helpView() {
  const rows = ['scan', 'round', 'morning', 'undo', 'offline', 'two', 'vet'];
  return { view: h('main.page', null, h('h1', null, say('help.title')), rows.map((row) => h('section.block', null, h('h2', null, say(`help.${row}`)), h('p', null, say(`help.${row}_text`))))), update: () => {} };
}
