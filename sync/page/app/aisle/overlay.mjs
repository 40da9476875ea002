// What an own entry changes in the aisle's copy until the hub's next copy holds it. For the screen only: what the log
// makes of it is the hub's to judge.

import { dayOf, kMinute, nightOf } from './nights.mjs';

const kFood = ['fed', 'ate', 'refused', 'offered', 'leftover'];
const kShown = ['shed', 'cleared', 'opaque', 'regurgitated', 'laid', 'treated', 'ill', 'well'];

/** When it was seen: as a person said, else when it was entered. @param {object} entry of the journal */
export const seenAt = (entry) => entry.about?.at ?? entry.wall;

const preyOf = (own) => own?.items?.[0]?.prey;

const later = (known, fresh) => (known === undefined || known < fresh ? fresh : known);

/** Of a night before the newest: only what it ate counts, and only where nothing later is known. */
function earlierNight(animal, number, outcome, minute) {
  if (outcome !== 'ate') return {};
  return { last_meal: later(animal.last_meal, number), meal_minute: later(animal.meal_minute, minute) };
}

function feedingChanges(aisle, animal, entry) {
  const at = seenAt(entry);
  const number = nightOf(aisle.settings, at);
  const outcome = { fed: 'ate', ate: 'ate', refused: 'refused', leftover: 'refused', offered: 'offered' }[entry.kind];
  const minute = Math.floor(at / kMinute);
  if (animal.night?.number > number) return earlierNight(animal, number, outcome, minute);
  const known = animal.night?.number === number ? animal.night : undefined;
  const night = {
    number: entry.kind === 'ate' || entry.kind === 'leftover' ? animal.night?.number ?? number : number,
    outcome,
    at,
    open: outcome === 'offered' ? 1 : undefined,
    prey: preyOf(entry.draft.own) ?? known?.prey ?? animal.night?.prey,
    accounts: [...(known?.accounts ?? []), entry.ref],
  };
  const changes = { night, check_tub: undefined, open_offer: outcome === 'offered' ? number : undefined };
  if (outcome === 'ate') Object.assign(changes, { last_meal: night.number, meal_minute: minute, refusals: undefined, last_refusal: undefined });
  const again = known?.outcome === 'refused';
  if (outcome === 'refused' && !again)
    Object.assign(changes, { refusals: (animal.refusals ?? 0) + 1, last_refusal: night.number });
  if (outcome === 'refused' && animal.last_meal === night.number) changes.last_meal = undefined;
  return changes;
}

/** A remedy's newest dose takes the place of its earlier one. */
function coursesAfter(animal, own, today) {
  const remedy = own.with ?? '';
  const others = (animal.courses ?? []).filter(([name]) => name !== remedy);
  return [[remedy, today, own.repeat_days ?? 0], ...others];
}

function signChanges(aisle, animal, entry) {
  const at = seenAt(entry);
  const today = dayOf(aisle.settings, at);
  const own = entry.draft.own ?? {};
  switch (entry.kind) {
    case 'shed':
      return { opaque: animal.opaque > today ? animal.opaque : undefined, shed: later(animal.shed, today), stuck: own.stuck ? today : animal.stuck };
    case 'cleared':
      return { stuck: undefined };
    case 'gravid':
    case 'ovulated':
      return { gravid: today };
    case 'laid':
      return { gravid: undefined, laid: today, weighed: undefined };
    case 'ill':
      return { ill: animal.ill ?? today, signs: own.signs ?? animal.signs };
    case 'well':
      return { ill: undefined, signs: undefined, courses: undefined };
    case 'treated':
      return { courses: coursesAfter(animal, own, today) };
    case 'opaque':
      return { opaque: later(animal.opaque, today) };
    case 'regurgitated':
      return { regurgitated: later(animal.regurgitated, today) };
    case 'weighed':
      return animal.weighed_at > at ? {} : { grams_tenths: own.grams_tenths, weighed_at: at };
    case 'says':
      return ['visual', 'normal', 'unseen'].includes(own.state) ? { unsure_look: undefined } : {};
    case 'sexed':
      return { sex: own.sex };
    case 'sold':
      return { sold: 1 };
    case 'left':
    case 'died':
      return { gone: [entry.kind, at], home: undefined, visit: undefined };
    default:
      return {};
  }
}

function noteMove(aisle, place, ref) {
  const line = aisle.places.get(place);
  if (line) aisle.places.set(place, { ...line, moves: [...(line.moves ?? []), ref] });
}

function applyMove(aisle, entry) {
  const [first, second] = entry.draft.of ?? [];
  const animal = aisle.animals.get(first);
  if (!animal) return;
  aisle.errands.delete(first);
  for (const place of [aisle.placeOf(animal), entry.draft.place]) if (place) noteMove(aisle, place, entry.ref);
  if (entry.kind === 'moved') aisle.change(first, { home: [entry.draft.place, entry.ref, seenAt(entry)], visit: undefined });
  if (entry.kind === 'paired') aisle.change(first, { visit: [entry.draft.place, entry.ref, seenAt(entry), second ?? ''] });
  if (entry.kind === 'separated') aisle.change(first, { visit: undefined });
}

/** What was taken back before the hub's next copy: the animals stand as they stood. */
function applyVoid(aisle, entry) {
  for (const [id, before] of Object.entries(entry.about?.before ?? {})) aisle.change(id, before);
}

/** What she was waited for has come. */
const kEndsStep = { laid: ['pairing-to-laying', 'shed-to-laying', 'ovulation-to-shed'], hatched: ['laying-to-hatching'] };

function endStep(aisle, id, kind) {
  const season = aisle.seasons.get(id);
  if (season && kEndsStep[kind]) aisle.seasons.set(id, { ...season, expected: season.expected.filter(([step]) => !kEndsStep[kind].includes(step)) });
}

/** What is told of a clutch, in the lines of the boxes that hold it: those of her newest laying. */
function applyEggs(aisle, id, entry) {
  const boxes = [...aisle.codes.values()].filter((one) => one.of === id && one.laid !== undefined);
  const newest = Math.max(...boxes.map((one) => one.laid));
  const { good, bad, count = 1, celsius_tenths } = entry.draft.own ?? {};
  for (const box of boxes.filter((one) => one.laid === newest)) {
    const changes = {
      candled: () => ({ candled: dayOf(aisle.settings, seenAt(entry)), candled_good: good, candled_bad: bad, waiting: good === undefined ? box.waiting : Math.max(0, good - (box.hatched ?? 0)) }),
      incubated: () => (celsius_tenths === undefined ? {} : { celsius_tenths }),
      pipped: () => ({ pipped: (box.pipped ?? 0) + count }),
      hatched: () => ({ hatched: (box.hatched ?? 0) + count, waiting: Math.max(0, (box.waiting ?? 0) - count) }),
    }[entry.kind]?.();
    if (changes) aisle.codes.set(box.id, { ...box, ...changes });
  }
}

function applySeen(aisle, id, entry) {
  applyEggs(aisle, id, entry);
  const animal = aisle.animals.get(id);
  if (!animal) return;
  const changes = kFood.includes(entry.kind) ? feedingChanges(aisle, animal, entry) : signChanges(aisle, animal, entry);
  endStep(aisle, id, entry.kind);
  changes.last_seen = later(animal.last_seen, dayOf(aisle.settings, seenAt(entry)));
  if (kFood.includes(entry.kind) || kShown.includes(entry.kind))
    changes.seen = [[entry.kind, seenAt(entry), entry.ref], ...(animal.seen ?? [])].sort((a, b) => b[1] - a[1]);
  aisle.change(id, changes);
}

/** The fields that an undo must be able to put back. */
export function standingOf(animal) {
  const fields = ['night', 'check_tub', 'open_offer', 'last_meal', 'refusals', 'last_refusal', 'opaque', 'regurgitated',
    'grams_tenths', 'weighed_at', 'sex', 'sold', 'gone', 'home', 'visit', 'seen', 'meal_minute', 'shed',
    'stuck', 'unsure_look', 'gravid', 'laid', 'weighed', 'ill', 'signs', 'courses', 'last_seen'];
  return Object.fromEntries(fields.map((field) => [field, animal[field]]));
}

/** @param {import('./aisle.mjs').Aisle} aisle @param {object} entry of the journal, with its `ref` */
export function applyEntry(aisle, entry) {
  if (entry.kind === 'settled') {
    for (const id of entry.about?.questions ?? []) {
      if (entry.draft.own.answer !== 'open') aisle.questions.delete(id);
    }
    return;
  }
  if (entry.kind === 'voided') return applyVoid(aisle, entry);
  if (['moved', 'paired', 'separated'].includes(entry.kind)) return applyMove(aisle, entry);
  for (const id of entry.about?.animals ?? []) applySeen(aisle, id, entry);
}
