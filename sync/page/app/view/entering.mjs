// From a tap on a kind to an entry: asks by a sheet what the kind needs, nothing where it needs nothing. What speaks
// against the entry stands in that sheet, before it is saved; it never keeps anybody from saving.

import { phone } from '../phone.mjs';
import { mendText } from '../log/event.mjs';
import { celsiusTenths } from '../base/celsius.mjs';
import { grams, region, say } from '../words/say.mjs';
import { kindOf, kKinds, kQuick } from './kinds.mjs';
import { session, usualItems } from './session.mjs';
import { chooseMeal, chooseNumber, chooseOne, confirm, writeText } from './sheets.mjs';

/** Words that the log keeps unsealed, as core/entry keeps them: lower case, one space between. */
const plainWords = (text) => mendText(text).toLowerCase().trim().split(/\s+/).join(' ');

/** Fahrenheit where people measure by it, until they chose otherwise. */
const usesFahrenheit = () => phone.prefs.fahrenheit ?? ['US', 'LR', 'BS', 'KY', 'PW', 'FM', 'MH'].includes(region());

/** The kinds' questions. Each gets the button, the animal in view, and what to say of the entry as it stands. */
const kForms = {
  plain: async (button, animal, told) => {
    if (kQuick.includes(button) || told().warnings.length === 0) return {};
    return (await confirm(say(`kind.${button}`), '', say('warn.save_all_the_same'), { told })) ? {} : undefined;
  },
  partner: async () => ({}),
  place: async () => ({}),

  meal: async (button, animal) => {
    const items = usualItems(animal) ?? (await chooseMeal(undefined));
    return items && { own: { items } };
  },

  grams: async (button, animal, told) => {
    const before = animal?.grams_tenths > 0 ? say('weigh.before', { grams: grams(animal.grams_tenths) }) : '';
    const own = (value) => ({ grams_tenths: Math.round(value * 10) });
    const value = await chooseNumber(say('kind.weighed'), { unit: 'g', decimals: true, hint: before, told: (now) => told(now && own(now)) });
    return value === undefined ? undefined : { own: own(value) };
  },

  mm: async (button, animal, told) => {
    const value = await chooseNumber(say('kind.palpated'), { unit: 'mm', most: 200, told, skip: say('pad.not_measured') });
    return value === undefined ? undefined : { own: value === null ? undefined : { follicles_mm: value } };
  },

  eggs: (button, animal, told) => eggCounts('slugs', told),
  candled: (button, animal, told) => eggCounts('bad', told),

  celsius: async (button, animal, told) => {
    const units = usesFahrenheit() ? ['°F', '°C'] : ['°C', '°F'];
    let [unit] = units;
    const value = await chooseNumber(say('kind.incubated'), {
      unit, decimals: true, most: 140, hint: say('incubated.hint'), told, units, onunit: (name) => { unit = name; },
    });
    if (value === undefined) return undefined;
    await phone.setPref('fahrenheit', unit === '°F');
    return { own: { celsius_tenths: celsiusTenths(value, unit) } };
  },

  young: async (button, animal, told) => {
    const count = await chooseNumber(say(`kind.${button}`), { unit: say('eggs.unit_young'), most: 999, told });
    if (!count) return undefined;
    if (count > 2) return { own: { count } };
    const egg = await chooseNumber(say('eggs.which'), { unit: say('eggs.unit_egg'), least: 1, most: 999, skip: say('eggs.no_number') });
    return egg === undefined ? undefined : { own: egg === null ? { count } : { count, egg } };
  },

  remedy: async (button, animal, told) => {
    const remedy = await writeText(say('treat.with'), { rows: 1, hint: say('treat.caution'), told });
    if (!remedy) return undefined;
    /** @type {[number, string][]} */
    const spans = [1, 3, 7, 14, 21].map((days) => [days, say('treat.days', { days })]);
    const repeat = await chooseOne(say('treat.repeat'), [[0, say('treat.never')], ...spans]);
    if (repeat === undefined) return undefined;
    return { own: { with: plainWords(remedy), ...(repeat > 0 && { repeat_days: repeat }) } };
  },

  signs: async (button, animal, told) => {
    const signs = await writeText(say('ill.what'), { rows: 1, hint: say('ill.hint'), told, optional: true });
    return signs === undefined ? undefined : { own: signs ? { signs: plainWords(signs) } : undefined };
  },

  stuck: async () => {
    const where = await chooseOne(say('shed.where'), ['tail', 'eye cap', 'head', 'body', 'unknown'].map((one) => [one, say(`shed.${one.replace(' ', '_')}`)]));
    return where && { own: { stuck: where } };
  },

  sex: async (button, animal, told) => {
    const sex = await chooseOne(say('kind.sexed'), [['male', `♂ ${say('sex.male')}`], ['female', `♀ ${say('sex.female')}`]], { told });
    const how = sex && (await chooseOne(say('sexed.how'), ['probed', 'popped', 'seen'].map((one) => [one, say(`sexed.${one}`)])));
    return how && { own: { sex, how } };
  },

  note: async () => {
    const note = await writeText(say('kind.noted'));
    return note && { note: mendText(note) };
  },

  buyer: async (button, animal, told) => {
    const name = await writeText(say('kind.reserved'), { rows: 1, hint: say('reserved.hint'), told, optional: true });
    return name === undefined ? undefined : { note: name ? mendText(name) : undefined };
  },

  sure: async (button, animal, told) =>
    (await confirm(say(`kind.${button}`), say('sure.text', { animal: animal?.label ?? '' }), say('sure.yes', { kind: say(`kind.${button}`) }), { told })) ? {} : undefined,
};

/** Good eggs, and how many of the others. @param {'slugs' | 'bad'} second */
async function eggCounts(second, told) {
  const good = await chooseNumber(say('eggs.good'), { unit: say('eggs.unit_good'), most: 999, told, skip: say('eggs.not_counted') });
  if (good === undefined) return undefined;
  if (good === null) return { own: undefined };
  const others = await chooseNumber(say(`eggs.${second}`), { unit: say(`eggs.unit_${second}`), most: 999 });
  return others === undefined ? undefined : { own: { good, [second]: others } };
}

/** The forms that there are: each kind of kinds.mjs must have one. */
export const kFormNames = Object.keys(kForms);

/** A tap on a kind, of what is in view. @param {string} button */
export async function enterKind(button) {
  const scene = session.scene;
  if (!scene) return;
  const animal = scene.found.length === 1 ? phone.aisle.animals.get(scene.found[0].id) : undefined;
  const told = (own) => session.warningsBefore(button, own || undefined);
  const fields = await kForms[kKinds[button].form](button, animal, told);
  if (fields) await session.enter({ kind: kindOf(button), ...fields });
}

/** Another prey for the next meal of what is in view. */
export async function changeMeal(animal) {
  const items = await chooseMeal(usualItems(animal));
  if (items) session.meal = { code: session.code, items };
  session.changed();
}

/** The freezer: what came, what is there, or what was thrown away. @returns {Promise<{entry?: object, problem?: string} | undefined>} */
export async function enterStock() {
  const how = await chooseOne(say('kind.stocked'), ['came', 'counted', 'thrown'].map((one) => [one, say(`stocked.${one}`), say(`stocked.${one}_hint`)]));
  const items = how && (await chooseMeal(undefined, { preyOnly: true }));
  if (!items) return;
  const [{ prey }] = items;
  const count = await chooseNumber(say(`stocked.${how}`), { unit: prey.replaceAll('-', ' '), most: 99_999, least: how === 'counted' ? 0 : 1 });
  if (count === undefined) return;
  const own = { prey, count: how === 'thrown' ? -count : count, ...(how === 'counted' && { counted: true }) };
  return session.saveOfBook({ kind: 'stocked', own });
}
