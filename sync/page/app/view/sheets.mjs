// Sheets that rise from the bottom, where the thumb is: one question each. Closed by a choice, the cross, or Escape.

import { phone } from '../phone.mjs';
import { say, number } from '../words/say.mjs';
import { h, icon } from './dom.mjs';
import { kGroups, kKinds, kQuick } from './kinds.mjs';
import { preyText } from './session.mjs';
import { sexMark } from './card.mjs';
import { warnedOf } from './warned.mjs';

/**
 * @template T @param {string} title @param {(close: (value?: T) => void) => (HTMLElement | false | undefined)[]} content
 * @returns {Promise<T | undefined>} what was chosen
 */
export function sheet(title, content) {
  return new Promise((resolve) => {
    let value;
    const dialog = /** @type {HTMLDialogElement} */ (/** @type {HTMLElement} */ (h('dialog.sheet', { 'aria-label': title })));
    const close = (chosen) => {
      value = chosen;
      dialog.close();
    };
    dialog.append(
      h('header', null, h('h2', null, title), h('button.plain', { type: 'button', 'aria-label': say('sheet.close'), onclick: () => close() }, icon('close'))),
      h('div.body', null, content(close)),
    );
    dialog.addEventListener('click', (event) => event.target === dialog && close());
    // Whoever goes back, or elsewhere, leaves the question too.
    const leave = () => dialog.close();
    window.addEventListener('hashchange', leave);
    dialog.addEventListener('close', () => {
      window.removeEventListener('hashchange', leave);
      dialog.remove();
      resolve(value);
    });
    document.body.append(dialog);
    dialog.showModal();
  });
}

const choice = (text, onclick, ...more) => h('button.choice', { type: 'button', onclick }, h('span', null, text), ...more);

/** The kinds that are one step away. */
export const chooseKind = () =>
  sheet(say('more.title'), (close) =>
    kGroups.map((group) => {
      const kinds = Object.keys(kKinds).filter((kind) => kKinds[kind].group === group && !kQuick.includes(kind));
      return kinds.length > 0 && h('section.kinds', null, h('h3', null, say(`group.${group}`)), h('div.grid', null, kinds.map((kind) => h('button.choice', { type: 'button', 'data-kind': kind, onclick: () => close(kind) }, h('span', null, say(`kind.${kind}`))))));
    }),
  );

/** Every prey that the aisle knows, the most given first. */
function knownPrey() {
  const counts = new Map();
  for (const animal of phone.aisle.animals.values()) {
    for (const prey of [animal.prey, animal.night?.prey]) if (prey) counts.set(prey, (counts.get(prey) ?? 0) + 1);
  }
  for (const item of phone.prefs.items ?? []) counts.set(item.prey, (counts.get(item.prey) ?? 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1]).map(([prey]) => prey);
}

/** Letters, hyphens between words: what core/entry takes for a prey. */
const preyWord = (text) => text.trim().toLowerCase().replace(/[^\p{L}\s-]/gu, '').replace(/[\s-]+/g, '-');

function chips(name, values, chosen, onchoose) {
  return h('div.chips', { role: 'group', 'aria-label': name }, values.map(([value, text]) =>
    h('button.chip', { type: 'button', 'aria-pressed': String(value === chosen), onclick: () => onchoose(value) }, text)));
}

/**
 * What was fed: one prey, how many, in what state, how. @param {object[] | undefined} items
 * @param {{preyOnly?: boolean}} [options] @returns {Promise<object[] | undefined>} items
 */
export function chooseMeal(items, { preyOnly = false } = {}) {
  const item = { count: 1, ...(items?.[0] ?? {}) };
  return sheet(say('meal.title'), (close) => {
    const box = h('div.meal');
    const draw = () => {
      const prey = knownPrey().slice(0, 12);
      if (item.prey && !prey.includes(item.prey)) prey.unshift(item.prey);
      box.replaceChildren(...[
        chips(say('meal.prey'), prey.map((one) => [one, preyText(one)]), item.prey, (value) => { item.prey = value; draw(); }),
        h('form.inline', { onsubmit: (event) => { event.preventDefault(); const word = preyWord(event.target.elements.other.value); if (word) { item.prey = word; draw(); } } },
          h('input', { name: 'other', 'aria-label': say('meal.other'), placeholder: say('meal.other'), autocomplete: 'off', enterKeyHint: 'done' }),
          h('button.quiet', { type: 'submit' }, say('meal.use'))),
        !preyOnly && h('div.stepper', null,
          h('button', { type: 'button', 'aria-label': say('meal.less'), disabled: item.count <= 1, onclick: () => { item.count -= 1; draw(); } }, '−'),
          h('output', { 'aria-live': 'polite' }, `${item.count} ×`),
          h('button', { type: 'button', 'aria-label': say('meal.more'), onclick: () => { item.count += 1; draw(); } }, '+')),
        !preyOnly && chips(say('meal.state'), ['thawed', 'live', 'fresh'].map((one) => [one, say(`meal.${one}`)]), item.state, (value) => { item.state = item.state === value ? undefined : value; draw(); }),
        !preyOnly && chips(say('meal.how'), ['tongs', 'dish', 'assisted'].map((one) => [one, say(`meal.${one}`)]), item.how, (value) => { item.how = item.how === value ? undefined : value; draw(); }),
        h('button.primary', { type: 'button', disabled: !item.prey, onclick: () => close([{ prey: item.prey, count: item.count, ...(item.state && { state: item.state }), ...(item.how && { how: item.how }) }]) }, say('meal.done')),
      ].filter(Boolean));
    };
    draw();
    return [box];
  });
}

/**
 * A number pad. `told`: what to say of a number before it is saved (of none yet: of undefined). `skip`: the words of a
 * button that goes on without a number. `units`: units to choose from, told to `onunit`.
 * @param {string} title
 * @param {{unit: string, decimals?: boolean, hint?: string, least?: number, most?: number, skip?: string, units?: string[],
 *   onunit?: (unit: string) => void, told?: Told}} options
 * @returns {Promise<number | null | undefined>} null: skipped; undefined: closed
 */
export function chooseNumber(title, { unit, decimals = false, hint = '', least = 0, most = 999_999, skip, units, onunit, told }) {
  let text = '';
  return sheet(title, (close) => {
    const box = h('div.pad');
    const valid = () => text !== '' && text !== '.' && Number(text) >= least && Number(text) <= most;
    const press = (key) => {
      if (key === '⌫') text = text.slice(0, -1);
      else if (key === '.') text = text.includes('.') ? text : `${text || '0'}.`;
      else if (text.length < 7 && !/\.\d$/.test(text)) text += key;
      draw();
    };
    const draw = () => {
      const focused = /** @type {HTMLElement | null} */ (document.activeElement)?.dataset.key;
      box.replaceChildren(...[
        h('output.reading', { 'aria-live': 'polite' }, text || '0', h('small', null, unit)),
        units && chips(say('pad.unit'), units.map((one) => [one, one]), unit, (one) => { unit = one; onunit?.(one); draw(); }),
        hint && h('p.hint', null, hint),
        warnedOf(told?.(valid() ? Number(text) : undefined)),
        h('div.keys', null, ['1', '2', '3', '4', '5', '6', '7', '8', '9', decimals ? '.' : '', '0', '⌫'].map((key) =>
          key === '' ? h('span') : h('button', { type: 'button', 'data-key': key, 'aria-label': key === '⌫' ? say('pad.back') : undefined, onclick: () => press(key) }, key))),
        h('button.primary', { type: 'button', disabled: !valid(), onclick: () => close(Number(text)) }, say('pad.save')),
        skip && h('button.quiet', { type: 'button', onclick: () => close(null) }, skip),
      ].flat().filter(Boolean));
      if (focused) /** @type {HTMLElement | null} */ (box.querySelector(`[data-key="${focused}"]`))?.focus();
    };
    box.addEventListener('keydown', (event) => {
      if (/^[0-9.]$/.test(event.key)) press(event.key);
      else if (event.key === 'Backspace') press('⌫');
      else return;
      event.preventDefault();
    });
    draw();
    return [box];
  });
}

/**
 * What was said of an entry before it is saved.
 * @typedef {(value?: any) => {warnings: [string, object][], notices: [string, object][]}} Told
 */

/**
 * One of several. @template T @param {string} title @param {[T, string, string?][]} options what it stands for, its words, a hint
 * @param {{told?: Told}} [more] @returns {Promise<T | undefined>}
 */
export const chooseOne = (title, options, { told } = {}) =>
  sheet(title, (close) => [...warnedOf(told?.()), ...options.map(([value, text, note]) => choice(text, () => close(value), note && h('small', null, note)))]);

export const chooseAnimal = (animals) =>
  sheet(say('which.title', { count: number(animals.length) }), (close) =>
    animals.map((animal) => choice(animal.label ?? animal.id, () => close(animal.id), sexMark(animal), animal.genes && h('small', null, animal.genes))));

/**
 * Words of one's own. `optional`: saved without any, which gives an empty text.
 * @param {string} title @param {{hint?: string, rows?: number, told?: Told, optional?: boolean}} [more] @returns {Promise<string | undefined>}
 */
export const writeText = (title, { hint = '', rows = 3, told, optional = false } = {}) =>
  sheet(title, (close) => [
    h('form.text', { onsubmit: (event) => { event.preventDefault(); const text = event.target.elements.text.value.trim(); if (text || optional) close(text); } },
      hint && h('p.hint', null, hint),
      warnedOf(told?.()),
      rows > 1 ? h('textarea', { name: 'text', rows, 'aria-label': title, maxLength: 4000 }) : h('input', { name: 'text', 'aria-label': title, autocomplete: 'off', maxLength: 120 }),
      h('button.primary', { type: 'submit' }, say('pad.save'))),
  ]);

/**
 * Yes or no. @param {string} title @param {string} text @param {string} yes @param {{told?: Told}} [more]
 * @returns {Promise<boolean | undefined>}
 */
export const confirm = (title, text, yes, { told } = {}) =>
  sheet(title, (close) => [text && h('p.hint', null, text), ...warnedOf(told?.()), h('button.primary', { type: 'button', onclick: () => close(true) }, yes), h('button.quiet', { type: 'button', onclick: () => close(false) }, say('sheet.cancel'))]);
