// What happens between a scan and "saved": the one place where a thing in view becomes an entry.

import { phone } from '../phone.mjs';
import { ask, Refused } from '../log/exchange.mjs';
import { compose, isOfEggs, look, restAte } from '../aisle/compose.mjs';
import { instantSaid } from '../aisle/nights.mjs';
import { quarantineBefore } from '../aisle/warnings.mjs';
import { readCode } from '../base/codes.mjs';
import { looksLikeJoinCode } from '../base/join_code.mjs';
import { kindOf, kKinds, kOfEggs, isMeal } from './kinds.mjs';
import { nameOf } from './names.mjs';
import { signal } from './signals.mjs';
import { say } from '../words/say.mjs';

/** The same entry of the same code within this time is one scan told twice. */
const kDoubleMs = 4_000;

class Session extends EventTarget {
  constructor() {
    super();
    this.code = undefined; // what is in view
    this.lastRead = '';
    this.saved = undefined; // {entry, text, warnings, notices, kind, code}
    this.asking = undefined; // {entry, composed, choices, target}
    this.wanting = undefined; // a target is looked for: {entry, sort, warnings}
    this.pairing = undefined; // {entry, choices, composed, asked}: two that are to be paired, and what the hub says of it
    this.problem = undefined; // [key, args] of the last scan that was turned down
    this.meal = undefined; // {code, items}: another meal than usual for what is in view
    this.saidOfView = undefined; // when what is in view was seen, where a person said so
    this.round = undefined; // {entry, codes, said}
  }

  changed() {
    this.dispatchEvent(new Event('change'));
  }

  get scene() {
    if (!this.code) return undefined;
    const at = instantSaid(phone.aisle.settings, this.said, Date.now());
    return { ...look(phone.aisle, this.code, at), quarantineBefore: quarantineBefore(phone.aisle, phone.newest(), this.code, at) };
  }

  /**
   * Whoever came here only after the time that was said: of whom it was then is asked. Of a tub; a card names its animal.
   * @returns {[string, object][]}
   */
  get cameLater() {
    const { place, found, at } = this.scene;
    const since = (animal) => (animal.visit ?? animal.home)?.[2];
    const late = place && this.said ? found.filter((animal) => since(animal) > at) : [];
    return late.map((animal) => ['warn.came_later', { animal: phone.aisle.label(animal.id), place: phone.aisle.label(place.id) }]);
  }

  /** The time that entries get instead of now, as an event carries it. @returns {import('./when.mjs').Said | undefined} */
  get said() {
    return this.round ? this.round.said : this.saidOfView;
  }

  sayWhen(said) {
    this.saidOfView = said;
    this.changed();
  }

  // ---- what is read

  /** A text from the camera, the keys or a link. */
  async read(text) {
    const reading = readCode(text);
    if (!reading.code) return this.turnDown(looksLikeJoinCode(text) ? 'scan.join_code' : `scan.${reading.problem}`);
    this.problem = undefined;
    this.lastRead = nameOf(reading.code);
    return this.take(reading.code, reading.kind);
  }

  turnDown(key, args = {}) {
    this.problem = [key, args];
    signal('refused');
    this.changed();
  }

  async take(code, kind) {
    if (kind === 'helper') return this.beHelper(code);
    if (kind === 'rack') return this.atRack(code);
    if (kind === 'shortcut') return this.takeShortcut(code);
    // A meal of a round would be the dam's, and nobody is moved into a box of eggs.
    if (isOfEggs(code) && (this.wanting || this.round)) return this.turnDown('scan.eggs_not_now');
    if (this.wanting) return this.takeTarget(code);
    if (this.asking) await this.passOver();
    const unsaved = this.dropPairing();
    this.problem = unsaved;
    this.code = code;
    this.saved = undefined;
    this.saidOfView = undefined;
    signal(unsaved ? 'refused' : this.scene.quarantineBefore ? 'ask' : 'read');
    if (this.round) return this.enter(this.round.entry);
    this.changed();
  }

  async beHelper(code) {
    await phone.setPref('by', code);
    signal('read');
    this.problem = ['scan.by', { helper: phone.aisle.label(code) }];
    this.changed();
  }

  /** A rack's strip: whoever scans it is at that rack, and the others see it. */
  async atRack(code) {
    signal('read');
    document.dispatchEvent(new CustomEvent('go', { detail: `rack/${code}` }));
    await phone.claim(code).catch(() => {
      this.problem = ['rack.claim_later', {}];
    });
    this.changed();
  }

  async takeShortcut(code) {
    const words = phone.aisle.base.shortcut.get(code)?.entry ?? '';
    const entry = entryOfWords(words);
    if (!entry) return this.turnDown('scan.shortcut', { words });
    if (this.code && !this.round) return this.enter(entry);
    this.startRound(entry);
  }

  takeTarget(code) {
    const { entry } = this.wanting;
    this.wanting = undefined;
    return this.enter({ ...entry, target: code });
  }

  // ---- entering

  /** What would be said of an entry, before anybody makes it. @param {string} kind a button @param {object} [own] */
  warningsBefore(kind, own = kKinds[kind]?.as === 'shed' ? { stuck: 'unknown' } : undefined) {
    const { scene } = this;
    if (!scene) return { warnings: [], notices: [] };
    const { warnings, notices } = compose(phone.aisle, scene, { kind: kindOf(kind), own }, {});
    return { warnings, notices };
  }

  /** Composes and, unless a person must choose first, saves. */
  async enter(entry, choices = {}) {
    const scene = this.scene;
    if (!scene || !phone.mayWrite) return;
    if (scene.eggs && !kOfEggs.includes(entry.kind)) return this.turnDown('scan.eggs_only', { kind: say(`kind.${entry.kind}`) });
    if (!choices.animal && !choices.relation && this.isDouble(entry)) return this.turnDown('scan.double');
    const target = entry.target ? look(phone.aisle, entry.target, Date.now()) : undefined;
    const composed = compose(phone.aisle, scene, entry, choices, target);
    if (composed.ask?.about === 'target') return this.want(entry, composed);
    if (composed.ask?.about === 'nobody') return this.turnDown('scan.nobody', { place: phone.aisle.label(scene.code) });
    if (composed.ask) return this.ask(entry, composed, choices);
    if (entry.kind === 'paired' && !choices.confirmed) return this.propose(entry, composed, choices);
    await this.save(entry, composed);
  }

  /** Before two are put together: what that may give, and what speaks against it. Never a condition for saving. */
  async propose(entry, composed, choices) {
    const pairing = { entry, composed, choices, asked: { state: 'asking' } };
    this.pairing = pairing;
    signal('ask');
    this.changed();
    pairing.asked = await forecastOf(composed.draft.of);
    if (this.pairing === pairing) this.changed();
  }

  confirmPairing() {
    const { entry, choices } = this.pairing;
    this.pairing = undefined;
    return this.enter(entry, { ...choices, confirmed: true });
  }

  /** What was proposed and not confirmed; says so. */
  dropPairing() {
    if (!this.pairing) return undefined;
    const [visitor, host] = this.pairing.composed.draft.of.map((id) => phone.aisle.label(id));
    this.pairing = undefined;
    return ['pair.dropped', { visitor, host }];
  }

  isDouble(entry) {
    const last = this.saved_at;
    return last && last.code === this.code && last.kind === entry.kind && !entry.relation && Date.now() - last.at < kDoubleMs;
  }

  want(entry, composed) {
    this.wanting = { entry, sort: composed.ask.sort, warnings: composed.warnings };
    this.changed();
  }

  ask(entry, composed, choices) {
    this.asking = { entry, composed, choices };
    signal('ask');
    this.changed();
  }

  answer(choice) {
    const { entry, choices } = this.asking;
    this.asking = undefined;
    return this.enter(entry, { ...choices, ...choice });
  }

  /** Nobody answered, and the next tub is in view: what was seen is never refused, so it is saved as it stands. */
  async passOver() {
    const { entry, composed } = this.asking;
    this.asking = undefined;
    if (!composed.ask.needed) await this.save(entry, composed);
  }

  /** Before another thing begins: what was asked, looked for or proposed until now ends here. */
  async leaveOpen() {
    if (this.asking) await this.passOver();
    this.problem = this.dropPairing();
    this.wanting = undefined;
  }

  drop() {
    this.asking = undefined;
    this.pairing = undefined;
    this.wanting = undefined;
    this.changed();
  }

  async save(entry, composed) {
    const code = this.code;
    const begun = performance.now();
    try {
      const written = await this.write(composed, code, this.said);
      this.saved = {
        entry: written,
        kind: entry.kind,
        code,
        animals: composed.animals,
        draft: composed.draft,
        warnings: composed.warnings,
        notices: composed.notices,
        took: performance.now() - begun,
      };
    } catch (error) {
      this.saved = undefined;
      return this.turnDown('scan.not_saved', { why: String(error.message ?? error) });
    }
    this.saved_at = { code, kind: entry.kind, at: Date.now() };
    if (this.round) this.round.codes.unshift(code);
    if (isMeal(entry.kind) && entry.own?.items) await phone.setPref('items', entry.own.items);
    // In a round nobody looks before it is saved: what is said loudly sounds otherwise.
    signal(composed.warnings.length > 0 ? 'warned' : 'saved');
    this.changed();
  }

  /** @param {import('./when.mjs').Said | undefined} said */
  write(composed, code, said) {
    if (!said) return phone.save(composed, { code });
    composed.draft.said = said;
    composed.warnings.push(...this.cameLater);
    return phone.save(composed, { code, at: instantSaid(phone.aisle.settings, said, Date.now()) });
  }

  /** An entry of the book's own affairs, of no animal: the freezer. */
  async saveOfBook(draft) {
    try {
      const entry = await phone.save({ draft, animals: [], warnings: [], notices: [] });
      signal('saved');
      return { entry };
    } catch (error) {
      signal('refused');
      return { problem: String(error.message ?? error) };
    }
  }

  /** What the saved band offers: the entry just made was another. */
  async correct(kind) {
    const { saved } = this;
    if (!saved) return;
    const stuck = kind === 'shed_stuck';
    const own = stuck ? { stuck: 'unknown' } : isMeal(kind) ? saved.draft.own : undefined;
    this.code = saved.code;
    const composed = compose(phone.aisle, this.scene, { kind: stuck ? 'shed' : kind, own }, {});
    composed.ask = undefined;
    composed.draft.re = [...composed.draft.re.filter(([ref]) => ref !== saved.entry.ref), [saved.entry.ref, 'replaces']];
    const written = await this.write(composed, saved.code, saved.draft.said);
    this.saved = { ...saved, entry: written, kind: stuck ? 'shed' : kind, draft: composed.draft, warnings: composed.warnings, notices: composed.notices };
    signal('saved');
    this.changed();
  }

  async undo() {
    const entry = await phone.undo();
    if (!entry) return;
    if (this.round) {
      const at = this.round.codes.indexOf(entry.about?.code);
      if (at >= 0) this.round.codes.splice(at, 1);
    }
    this.saved = undefined;
    this.saved_at = undefined;
    this.asking = undefined;
    this.undone = entry;
    signal('read');
    this.changed();
  }

  // ---- rounds

  async startRound(entry, said = undefined) {
    await this.leaveOpen();
    this.round = { entry, codes: [], said };
    this.code = undefined;
    this.saved = undefined;
    this.changed();
  }

  async endRound() {
    await this.leaveOpen();
    const { round } = this;
    this.round = undefined;
    this.code = undefined;
    this.saved = undefined;
    this.changed();
    return round;
  }

  async restAte(rack) {
    const rest = restAte(phone.aisle, rack);
    if (!rest) return undefined;
    const entry = await phone.save({ ...rest, warnings: [], notices: [] });
    signal('saved');
    this.saved = { entry, kind: 'ate', draft: rest.draft, animals: rest.animals, warnings: [], notices: [] };
    this.changed();
    return rest;
  }
}

/** What the hub expects of a pair. @returns {Promise<{state: string, message?: string, told?: object}>} */
async function forecastOf([a, b]) {
  try {
    const query = new URLSearchParams({ a, b });
    return { state: 'told', told: await (await ask(`/v1/pairing?${query}`, { token: phone.link.token })).json() };
  } catch (error) {
    return error instanceof Refused ? { state: 'refused', message: error.message } : { state: 'away' };
  }
}

/** The words of a scan sheet's line that the phone understands: a kind, then a prey and how many. */
export function entryOfWords(words) {
  const [kind, ...rest] = words.trim().toLowerCase().split(/\s+/);
  if (!kKinds[kind]) return undefined;
  if (!isMeal(kind)) return rest.length === 0 && kKinds[kind].form === 'plain' && !kKinds[kind].as ? { kind } : undefined;
  /** @type {{prey: string, count: number, state?: string, how?: string}[]} */
  const items = [];
  for (const word of rest) {
    const count = /^x(\d+)$/.exec(word);
    const last = items.at(-1);
    if (word === '+') continue;
    if (count && last) last.count = Number(count[1]);
    else if (['thawed', 'live', 'fresh'].includes(word) && last) last.state = word;
    else if (['tongs', 'dish', 'assisted'].includes(word) && last) last.how = word;
    else items.push({ prey: word, count: 1 });
  }
  return { kind, own: items.length ? { items } : undefined };
}

/** What a meal is of, unless said otherwise: this animal's usual prey, else what was given last. */
export function usualItems(animal) {
  if (session.meal && session.meal.code === session.code) return session.meal.items;
  const last = phone.prefs.items;
  const prey = animal?.prey ?? animal?.night?.prey;
  if (prey) return [{ prey, count: 1, ...(last?.[0]?.prey === prey ? last[0] : {}) }];
  return last;
}

export const itemsText = (items) =>
  (items ?? []).map((item) => say('prey.item', { count: item.count ?? 1, prey: preyText(item.prey) })).join(' + ');

export const preyText = (prey) => (prey ?? '').replaceAll('-', ' ');

export const session = new Session();
