// From a tap on a kind to an entry: asks by a sheet what the kind needs, nothing where it needs nothing.

import { phone } from '../phone.mjs';
import { mendText } from '../log/event.mjs';
import { grams, say } from '../words/say.mjs';
import { kKinds } from './kinds.mjs';
import { session, usualItems } from './session.mjs';
import { chooseMeal, chooseNumber, chooseOne, confirm, writeText } from './sheets.mjs';

const kForms = {
  plain: async () => ({}),
  partner: async () => ({}),
  place: async () => ({}),

  meal: async (kind, animal) => {
    const items = usualItems(animal) ?? (await chooseMeal(undefined));
    return items && { own: { items } };
  },

  grams: async (kind, animal) => {
    const before = animal?.grams_tenths > 0 ? say('weigh.before', { grams: grams(animal.grams_tenths) }) : '';
    const value = await chooseNumber(say('kind.weighed'), { unit: 'g', decimals: true, hint: before });
    return value === undefined ? undefined : { own: { grams_tenths: Math.round(value * 10) } };
  },

  mm: async () => {
    const value = await chooseNumber(say('kind.palpated'), { unit: 'mm' });
    return value === undefined ? undefined : { own: { follicles_mm: value } };
  },

  eggs: async () => {
    const good = await chooseNumber(say('eggs.good'), { unit: say('eggs.unit_good') });
    if (good === undefined) return undefined;
    const slugs = await chooseNumber(say('eggs.slugs'), { unit: say('eggs.unit_slugs') });
    return slugs === undefined ? undefined : { own: { good, slugs } };
  },

  candled: async () => {
    const good = await chooseNumber(say('eggs.good'), { unit: say('eggs.unit_good') });
    if (good === undefined) return undefined;
    const bad = await chooseNumber(say('eggs.bad'), { unit: say('eggs.unit_bad') });
    return bad === undefined ? undefined : { own: { good, bad } };
  },

  count: async (kind) => {
    const count = await chooseNumber(say(`kind.${kind}`), { unit: say('eggs.unit_young') });
    return count ? { own: { count } } : undefined;
  },

  remedy: async () => {
    const remedy = await writeText(say('treat.with'), { rows: 1, hint: say('treat.caution') });
    if (!remedy) return undefined;
    const repeat = await chooseOne(say('treat.repeat'), [[0, say('treat.never')], ...[1, 3, 7, 14, 21].map((days) => [days, say('treat.days', { days })])]);
    if (repeat === undefined) return undefined;
    return { own: { with: mendText(remedy).toLowerCase(), ...(repeat > 0 && { repeat_days: repeat }) } };
  },

  sex: async () => {
    const sex = await chooseOne(say('kind.sexed'), [['male', `♂ ${say('sex.male')}`], ['female', `♀ ${say('sex.female')}`]]);
    const how = sex && (await chooseOne(say('sexed.how'), ['probed', 'popped', 'seen'].map((one) => [one, say(`sexed.${one}`)])));
    return how && { own: { sex, how } };
  },

  note: async () => {
    const note = await writeText(say('kind.noted'));
    return note && { note: mendText(note) };
  },

  sure: async (kind, animal) =>
    (await confirm(say(`kind.${kind}`), say('sure.text', { animal: animal?.label ?? '' }), say('sure.yes', { kind: say(`kind.${kind}`) }))) ? {} : undefined,
};

/** A tap on a kind, of what is in view. */
export async function enterKind(kind) {
  const scene = session.scene;
  if (!scene) return;
  const animal = scene.found.length === 1 ? phone.aisle.animals.get(scene.found[0].id) : undefined;
  const fields = await kForms[kKinds[kind].form](kind, animal);
  if (fields) await session.enter({ kind, ...fields });
}

/** Another prey for the next meal of what is in view. */
export async function changeMeal(animal) {
  const items = await chooseMeal(usualItems(animal));
  if (items) session.meal = { code: session.code, items };
  session.changed();
}
