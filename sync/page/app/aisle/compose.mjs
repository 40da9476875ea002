// Makes the event of an entry from what the screen shows, as core/entry/compose does: an animal's card is named in
// `of`, a place by `place` and `shown`; `re` names the accounts of the same matter that the screen shows.

import { nightOf, kDay } from './nights.mjs';
import { warningsOf } from './warnings.mjs';

const kFeeding = ['fed', 'ate', 'refused', 'offered', 'leftover'];
const kMeals = ['fed', 'ate'];
const kOfTub = ['cleaned', 'watered'];
/** Kinds that name their animals themselves: never of a place. */
const kOfOne = ['locked', 'sold', 'left', 'died', 'held', 'reserved'];
const kHour = kDay / 24;

/**
 * @typedef {{kind: string, own?: object, note?: string, relation?: string, target?: string}} Entry
 * @typedef {{code: string, place?: object, found: object[], reserved: object[], known: boolean, at: number, eggs?: object,
 *   quarantineBefore?: string}} Scene `eggs`: of a clutch's or an egg box's code, what the copy knows of it (`found` is the dam);
 *   `quarantineBefore`: where this phone's last entry was, if from there hands are to be washed
 * @typedef {{draft: import('../log/event.mjs').Draft, animals: string[], ask?: object, warnings: [string, object][],
 *   notices: [string, object][]}} Composition
 */

/** Codes of eggs, not of who laid them. @param {string} code */
export const isOfEggs = (code) => code[0] === 'C' || code[0] === 'E';

/** What a scan shows. @param {import('./aisle.mjs').Aisle} aisle @param {string} code @returns {Scene} */
export function look(aisle, code, at) {
  const joined = aisle.codes.get(code);
  const scene = lookAt(aisle, joined && !isOfEggs(code) && aisle.places.has(joined.of) ? joined.of : code, at);
  const named = joined && aisle.animals.get(joined.of);
  if (named) Object.assign(scene, { found: [named], known: true });
  return isOfEggs(code) ? { ...scene, eggs: joined ?? {} } : scene;
}

/** @returns {Scene} */
function lookAt(aisle, code, at) {
  const place = aisle.places.get(code);
  if (place) return { code, place, found: aisle.foundAt(code), reserved: aisle.reservedAt(code), known: true, at };
  const animal = aisle.animals.get(code);
  if (animal) return { code, found: [animal], reserved: [], known: true, at };
  const unknown = { id: code, unknown: true };
  if (code[0] === 'T') return { code, place: unknown, found: [], reserved: [], known: false, at };
  return { code, found: [unknown], reserved: [], known: false, at };
}

export const isSameMatter = (a, b) => (kMeals.includes(a) && kMeals.includes(b)) || (a === 'laid' && b === 'laid');

function inMatter(aisle, scene, kind, [seenKind, at]) {
  const apart = Math.abs(scene.at - at);
  if (kFeeding.includes(kind))
    return kFeeding.includes(seenKind) && nightOf(aisle.settings, at) === nightOf(aisle.settings, scene.at);
  if (kind === 'laid') return seenKind === 'laid' && apart < 48 * kHour;
  if (kind === 'shed' || kind === 'cleared') return ['shed', 'cleared'].includes(seenKind) && apart < 7 * kDay;
  if (kind === 'treated') return seenKind === 'treated' && apart < kDay;
  return false;
}

/** Offers of its newest night with food that wait for an outcome. */
export function openOffers(animal) {
  if (!animal.night?.open) return [];
  const accounts = animal.night.accounts ?? [];
  return (animal.seen ?? []).filter(([kind, , ref]) => kind === 'offered' && accounts.includes(ref)).map(([, , ref]) => ref);
}

class Composer {
  /**
   * @param {import('./aisle.mjs').Aisle} aisle @param {Scene} scene @param {Entry} entry
   * @param {{animal?: string, relation?: string}} choices @param {Scene} [target]
   */
  constructor(aisle, scene, entry, choices, target) {
    this.aisle = aisle;
    this.scene = scene;
    this.entry = entry;
    this.target = target;
    this.relation = choices.relation ?? entry.relation;
    this.told = scene.found.filter((one) => !choices.animal || one.id === choices.animal);
    this.picked = Boolean(choices.animal) && this.told.length === 1;
    this.re = new Map();
    this.out = { animals: [], warnings: [], notices: [], ask: undefined };
    this.draft = { kind: entry.kind, own: entry.own, of: [], text: entry.note ? { note: entry.note } : undefined };
  }

  compose() {
    const { kind } = this.entry;
    if (kind === 'paired') this.pair();
    else if (kind === 'moved') this.move();
    else if (kind === 'separated') this.separate();
    else this.tell();
    this.draft.re = [...this.re];
    warningsOf(this.aisle, this.scene, this.entry, this.told, this.out);
    return { ...this.out, draft: this.draft };
  }

  answer(ref, relation = 'saw') {
    if (ref && (relation !== 'saw' || !this.re.has(ref))) this.re.set(ref, relation);
  }

  /** By the code that was read: a card printed anew, a clutch's box. */
  name(animal) {
    const isRead = this.aisle.codes.get(this.scene.code)?.of === animal.id;
    this.draft.of.push(isRead ? this.scene.code : animal.id);
    this.out.animals.push(animal.id);
  }

  // ---- what is seen

  tell() {
    const { kind } = this.entry;
    if (kind === 'locked' && !this.picked && this.told.length <= 2) return this.tellOfLock();
    if (kOfOne.includes(kind)) return this.tellOfOne();
    if (this.told.length > 1 && !kOfTub.includes(kind)) this.askWhich();
    if (this.scene.place) this.showPlace();
    for (const one of this.told) {
      if (this.scene.place && !this.picked) this.out.animals.push(one.id);
      else this.name(one);
      this.answerAccounts(one);
    }
  }

  showPlace() {
    this.draft.place = this.scene.code;
    this.draft.shown = this.scene.found.map((one) => one.id);
    for (const ref of this.scene.place.moves ?? []) this.answer(ref);
  }

  tellOfOne() {
    const one = this.oneOfScene();
    if (!one) return;
    this.name(one);
    this.answerLodgings(one);
  }

  /** A lock is of both. */
  tellOfLock() {
    if (this.scene.place) this.showPlace();
    for (const one of this.told) {
      this.name(one);
      this.answer(one.visit?.[1]);
    }
    const company = this.told.length === 1 ? this.aisle.companyOf(this.told[0]) : undefined;
    if (!company) return;
    this.name({ id: company.id });
    this.answer(company.ref);
  }

  askWhich(needed = false) {
    this.out.ask = { about: 'animal', needed, options: this.told.map((one) => one.id) };
  }

  answerAccounts(one) {
    let earlier;
    for (const seen of one.seen ?? []) {
      if (!inMatter(this.aisle, this.scene, this.entry.kind, seen)) continue;
      this.answer(seen[2]);
      if (!earlier && isSameMatter(this.entry.kind, seen[0])) earlier = seen;
    }
    this.answerOffers(one);
    this.relate(one, earlier);
  }

  /** An outcome answers the offers that wait; a leftover takes the accounts of the offer's night with it. */
  answerOffers(one) {
    if (!kFeeding.includes(this.entry.kind)) return;
    const offers = openOffers(one);
    for (const ref of offers) this.answer(ref);
    if (!['leftover', 'ate'].includes(this.entry.kind) || offers.length === 0) return;
    for (const ref of one.night.accounts ?? []) this.answer(ref);
  }

  /** `same` and `again` answer the newest account alike, `replaces` the newest of the matter where none is alike. */
  relate(one, alike) {
    let earlier = alike;
    if (!earlier && this.relation === 'replaces')
      earlier = (one.seen ?? []).find((seen) => inMatter(this.aisle, this.scene, this.entry.kind, seen));
    if (!earlier) return;
    if (this.relation) return this.answer(earlier[2], this.relation);
    if (this.out.ask) return;
    const about = this.entry.kind === 'laid' ? 'eggs' : 'meal';
    this.out.ask = { about: 'relation', matter: about, animal: one.id, at: earlier[1], options: ['again', 'same', 'replaces'] };
  }

  // ---- moves

  answerLodgings(one) {
    this.answer(one.visit?.[1]);
    this.answer(one.home?.[1]);
  }

  /** Of several, the person must pick one: a death is of somebody. */
  oneOfScene() {
    if (this.told.length === 0) {
      this.out.ask = { about: 'nobody', needed: true, options: [] };
      return undefined;
    }
    if (this.told.length > 1) {
      this.askWhich(true);
      return undefined;
    }
    return this.told[0];
  }

  move() {
    if (!this.target?.place) return this.needTarget('place');
    const one = this.oneOfScene();
    if (!one) return;
    this.name(one);
    this.draft.place = this.target.code;
    this.answerLodgings(one);
    for (const other of [...this.target.found, ...this.target.reserved]) this.answer(other.home?.[1]);
  }

  needTarget(sort) {
    this.out.ask = { about: 'target', needed: true, sort, options: [] };
  }

  /** The visitor is whom the separation is of, whichever of the two was scanned. */
  separate() {
    const visitors = [...this.scene.found, ...this.scene.reserved].filter((one) => one.visit);
    if (visitors.length > 1 && !this.picked) {
      this.told = visitors;
      return this.askWhich(true);
    }
    if (visitors.length > 0 && !this.picked) this.told = [visitors[0]];
    const one = this.oneOfScene();
    if (!one) return;
    const company = this.aisle.companyOf(one);
    if (!one.visit && company?.visitor) {
      this.name({ id: company.id });
      return this.answer(company.ref);
    }
    this.name(one);
    this.answerLodgings(one);
    if (!one.visit) this.out.warnings.push(['warn.with_nobody', { animal: one.label ?? one.id }]);
  }

  pair() {
    const other = this.target?.found[0];
    if (!other) return this.needTarget('animal');
    if (this.told.length > 1) this.told = this.told.filter((one) => one.id !== other.id);
    const scanned = this.oneOfScene();
    if (!scanned) return;
    const visits = (scanned.sex === 'male' && other.sex !== 'male' && other.home) || !scanned.home;
    const [visitor, host] = visits ? [scanned, other] : [other, scanned];
    this.name(visitor);
    this.name(host);
    this.draft.place = host.home?.[0] ?? (this.scene.place ? this.scene.code : undefined);
    this.answerLodgings(visitor);
    this.answerLodgings(host);
    this.out.notices.push(['notice.visits', { visitor: visitor.label, host: host.label, place: this.aisle.label(host.home?.[0]) }]);
    this.told = [visitor, host];
  }
}

/**
 * @param {import('./aisle.mjs').Aisle} aisle @param {Scene} scene @param {Entry} entry
 * @param {{animal?: string, relation?: string}} [choices] @param {Scene} [target] @returns {Composition}
 */
export function compose(aisle, scene, entry, choices = {}, target = undefined) {
  return new Composer(aisle, scene, entry, choices, target).compose();
}

/**
 * "The rest of rack C ate": one event that names every open offer of the rack; nothing when none is open.
 * @returns {{draft: import('../log/event.mjs').Draft, animals: string[]} | undefined}
 */
export function restAte(aisle, rack) {
  const animals = [];
  const re = new Set();
  for (const place of aisle.placesOf(rack)) {
    for (const animal of aisle.foundAt(place.id)) {
      const offers = openOffers(animal);
      if (offers.length > 0) animals.push(animal.id);
      for (const ref of offers) re.add(ref);
    }
  }
  if (re.size === 0) return undefined;
  return { draft: { kind: 'ate', own: { rack }, re: [...re].map((ref) => [ref, 'saw']) }, animals };
}
