// The copy of the book that the aisle needs, with what this phone wrote since laid over it.

import { applyEntry } from './overlay.mjs';

const kNaturally = new Intl.Collator('en', { numeric: true, sensitivity: 'base' });

const kSorts = ['settings', 'rack', 'place', 'helper', 'shortcut', 'animal', 'code', 'odds', 'question', 'errand', 'season'];

/** A thing that is no more; an animal that died or left is a thing all the same, and tells it in a member of that name. */
export const isRemoval = (line) => line.t === undefined && typeof line.gone === 'string';

/** Compares labels as people do: B-2 before B-10. */
export const byLabel = (a, b) => kNaturally.compare(a.label ?? a.id, b.label ?? b.id);

/** A text that sorts as `byLabel` compares, thousands of times faster: without accents, numbers filled up with zeros. */
const orderOf = (label) => label.normalize('NFD').replace(/\p{M}/gu, '').toLowerCase().replace(/\d+/g, (digits) => digits.padStart(12, '0'));

export class Aisle {
  constructor() {
    /** what the hub said, by sort and id */
    this.base = Object.fromEntries(kSorts.map((sort) => [sort, new Map()]));
    this.version = '';
    this.asOf = 0;
    this.offset = 0; // hub's clock minus this phone's
    this.mine = 0; // newest own number that the hub's copy holds
    this.entries = []; // own entries since
    this.marks = new Map(); // animal or place → the newest live mark
    this.claims = new Map(); // rack → claim
    this.feed = []; // live marks, newest first
    this.rebuild();
  }

  get settings() {
    return this.base.settings.get('book') ?? { zone: [], night_start: 720 };
  }

  /** @param {object[]} lines of the hub's answer, "gone" lines included */
  take(lines) {
    for (const line of lines) {
      if (isRemoval(line)) {
        const [sort, id] = line.gone.split(':');
        this.base[sort]?.delete(id);
      } else {
        this.base[line.t]?.set(line.id, line);
      }
    }
  }

  empty() {
    for (const sort of kSorts) this.base[sort].clear();
  }

  /** Begins again from the hub's copy and lays the own entries over it. */
  rebuild() {
    this.animals = new Map(this.base.animal);
    this.places = new Map(this.base.place);
    this.questions = new Map(this.base.question);
    this.errands = new Map(this.base.errand);
    this.seasons = new Map(this.base.season);
    this.codes = new Map(this.base.code); // further codes of animals and places, and of egg boxes
    this.occupants = new Map();
    for (const animal of this.animals.values()) this.settle(animal);
    for (const entry of this.standing()) applyEntry(this, entry);
    this.findDoubts();
    this.racks = [...this.base.rack.values()].sort(
      (a, b) => (a.quarantine ?? 0) - (b.quarantine ?? 0) || Number(a.walk ?? 0) - Number(b.walk ?? 0) || byLabel(a, b),
    );
    this.search = undefined;
    this.byPosition = undefined;
  }

  /** Own entries that the hub's copy does not hold yet, without those that were taken back since. */
  standing() {
    const fresh = this.entries.filter((entry) => entry.seq > this.mine);
    const back = new Set(fresh.flatMap((entry) => (entry.kind === 'voided' ? entry.about?.voids ?? [] : [])));
    return fresh.filter((entry) => !back.has(entry.seq) && !(entry.kind === 'voided' && entry.about.voids.every((seq) => seq > this.mine)));
  }

  /** @param {import('../log/journal.mjs').Entry[]} entries just written */
  add(entries) {
    this.entries.push(...entries);
    // What judges other entries changes what was laid over before; all else is laid on top, in a collection of any size.
    if (entries.some((entry) => entry.kind === 'voided' || entry.kind === 'settled')) return this.rebuild();
    for (const entry of entries) applyEntry(this, entry);
  }

  /** Notes where an animal is found now. */
  settle(animal, before) {
    for (const place of [before?.home?.[0], before?.visit?.[0]]) this.occupants.get(place)?.delete(animal.id);
    for (const place of [animal.home?.[0], animal.visit?.[0]]) {
      if (!place) continue;
      if (!this.occupants.has(place)) this.occupants.set(place, new Set());
      this.occupants.get(place).add(animal.id);
    }
  }

  /** Replaces an animal's line by a changed copy. @param {string} id @param {object} changes */
  change(id, changes) {
    const before = this.animals.get(id);
    if (!before) return;
    const after = { ...before, ...changes };
    this.animals.set(id, after);
    this.settle(after, before);
  }

  label(id) {
    const thing = this.thing(id);
    return thing?.label ?? id ?? '';
  }

  thing(id) {
    return this.animals.get(id) ?? this.places.get(id) ?? this.codes.get(id) ?? this.base.rack.get(id) ?? this.base.helper.get(id) ?? this.base.shortcut.get(id);
  }

  /** Who is found at the places before and behind an animal's in its rack. */
  besideOf(animal) {
    const place = this.places.get(this.placeOf(animal));
    const position = Number(place?.position ?? 0);
    if (!place?.rack || position === 0) return [];
    this.byPosition ??= new Map([...this.places.values()].map((one) => [`${one.rack}:${Number(one.position ?? 0)}`, one.id]));
    const beside = [position - 1, position + 1].map((one) => this.byPosition.get(`${place.rack}:${one}`));
    return beside.filter(Boolean).flatMap((id) => this.foundAt(id));
  }

  /** Who is looked at too when one is ill: neighbours, and with whom it was lately. @returns {{animal: object, beside: boolean}[]} */
  nearOf(animal) {
    const beside = this.besideOf(animal);
    const company = this.companyOf(animal)?.id;
    const partners = [...new Set([...(animal.partners ?? []), company])].map((id) => this.animals.get(id));
    return [...beside.map((one) => ({ animal: one, beside: true })),
      ...partners.filter((one) => one && !one.gone && !beside.some((other) => other.id === one.id)).map((one) => ({ animal: one, beside: false }))];
  }

  /** Who is found at a place: visitors too, those who visit elsewhere not. */
  foundAt(place) {
    const all = [...(this.occupants.get(place) ?? [])].map((id) => this.animals.get(id));
    return all.filter((animal) => (animal.visit ? animal.visit[0] === place : animal.home?.[0] === place));
  }

  /** Who lives at a place and is elsewhere on a visit. */
  reservedAt(place) {
    const all = [...(this.occupants.get(place) ?? [])].map((id) => this.animals.get(id));
    return all.filter((animal) => animal.home?.[0] === place && animal.visit && animal.visit[0] !== place);
  }

  /** Where it is found now; undefined: nowhere. */
  placeOf(animal) {
    return animal.visit?.[0] ?? animal.home?.[0];
  }

  /** Two that live in one tub and were not paired. */
  isCrowded(animal) {
    const place = this.placeOf(animal);
    if (!place || animal.visit) return false;
    const found = this.foundAt(place);
    return found.length > 1 && found.every((one) => !one.visit);
  }

  /** Who shares its tub while one of them visits. @returns {{id: string, ref: string, visitor: boolean} | undefined} */
  companyOf(animal) {
    if (animal.visit?.[3]) return { id: animal.visit[3], ref: animal.visit[1], visitor: false };
    if (animal.visit || !animal.home) return undefined;
    const guest = this.foundAt(animal.home[0]).find((one) => one.visit && one.id !== animal.id);
    return guest && { id: guest.id, ref: guest.visit[1], visitor: true };
  }

  /** Places of a rack in walking order. */
  placesOf(rack) {
    return [...this.places.values()]
      .filter((place) => place.rack === rack)
      .sort((a, b) => Number(a.position ?? 0) - Number(b.position ?? 0) || byLabel(a, b));
  }

  /** Animals that stand in two places by two accounts, and those they may be with. */
  findDoubts() {
    this.doubtful = new Map();
    for (const question of this.questions.values()) {
      if (question.rule !== 'whereabouts' && question.rule !== 'pairing') continue;
      this.doubtful.set(question.subject, ['why.two_places', {}]);
      for (const member of question.members) {
        if (member.kind !== 'paired') continue;
        for (const other of member.of ?? []) {
          if (other !== question.subject && !this.doubtful.has(other))
            this.doubtful.set(other, ['why.may_be_with', { animal: this.label(question.subject) }]);
        }
      }
    }
  }

  /** Makes the list that is searched, in order, once for each copy: a keystroke then walks it and sorts nothing. */
  prepareSearch() {
    this.search ??= [...this.animals.values(), ...this.places.values()]
      .map((thing) => ({
        id: thing.id,
        label: (thing.label ?? '').toLowerCase(),
        all: `${thing.label ?? ''} ${thing.name ?? ''} ${thing.genes ?? ''} ${thing.id}`.toLowerCase(),
        order: orderOf(thing.label ?? thing.id),
      }))
      .sort((a, b) => (a.order < b.order ? -1 : a.order > b.order ? 1 : 0));
    return this.search;
  }

  /** Animals and places whose name begins with, or holds, what was typed. @returns {object[]} at most `limit` */
  find(text, limit = 30) {
    const wanted = text.trim().toLowerCase();
    if (!wanted) return [];
    const begins = [];
    const holds = [];
    for (const row of this.prepareSearch()) {
      if (begins.length === limit) break;
      if (row.label.startsWith(wanted)) begins.push(row.id);
      else if (holds.length < limit && row.all.includes(wanted)) holds.push(row.id);
    }
    return [...begins, ...holds].slice(0, limit).map((id) => this.thing(id)).filter(Boolean);
  }
}
