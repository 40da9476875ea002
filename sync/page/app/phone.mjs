// This phone: who it is, what it wrote, its copy of the aisle, and its exchange with the hub. Views read it and call it;
// it tells them by "change" when something is new.

import { toHex } from './base/bytes.mjs';
import { readJoinCode } from './base/join_code.mjs';
import { makeKeys, joinMessage, sign } from './log/keys.mjs';
import { keep, onLost, outcome, read, readAll, write } from './log/database.mjs';
import * as journal from './log/journal.mjs';
import * as exchange from './log/exchange.mjs';
import * as mirror from './log/mirror.mjs';
import { Aisle, isRemoval } from './aisle/aisle.mjs';
import { standingOf } from './aisle/overlay.mjs';
import { dayOf, kDay, kMinute } from './aisle/nights.mjs';

const kHeadsEvery = 30 * kMinute;
const kAisleEvery = kMinute;
const kRetryFirst = 2_000;
const kRetryMost = 60_000;
const kUndoReaches = kDay / 2;
/** What nobody would take back or count as an entry of theirs. */
const kSilent = ['clock_marked', 'succeeded'];
/** What a void does not reach: judgements, and the freezer, which is counted again. */
const kFixed = ['voided', 'settled', 'stocked'];

class Phone extends EventTarget {
  constructor() {
    super();
    this.aisle = new Aisle();
    /** @type {journal.Entry[]} */
    this.entries = [];
    this.link = undefined; // {token, role, by, hub, hubName}
    this.head = undefined;
    this.state = 'starting'; // starting, online, away, refused
    this.trouble = undefined; // {name, message} of a hub that says no
    this.storage = 'unknown'; // persisted, temporary, lost
    this.fetchedAt = 0;
    this.comparedAt = 0;
    this.prefs = {};
    this.rescued = []; // entries that an earlier store of this phone left behind
    this.running = undefined;
    this.next = undefined;
    this.retry = kRetryFirst;
    this.tabs = new BroadcastChannel('rackside');
    this.tabs.onmessage = () => this.reload();
    onLost(() => {
      this.storage = 'lost';
      this.changed();
    });
  }

  changed() {
    this.dispatchEvent(new Event('change'));
  }

  get joined() {
    return Boolean(this.link);
  }

  // ---- starting

  async load() {
    this.keys = await read('own', 'keys');
    this.link = await read('own', 'link');
    this.prefs = (await read('own', 'prefs')) ?? {};
    const meta = await read('own', 'aisle');
    if (meta) {
      this.aisle.take((await readAll('aisle')).map((row) => row.line));
      Object.assign(this.aisle, { version: meta.version, asOf: meta.asOf, mine: meta.mine, offset: meta.offset ?? 0 });
      this.fetchedAt = meta.fetchedAt;
    }
    await this.reload();
    this.rescued = await mirror.rescued(this.head?.device).catch(() => []);
    if (this.head) await this.completeMirror();
    this.state = 'away';
    this.changed();
  }

  /** What another tab wrote counts here too. */
  async reload() {
    this.head = await journal.head();
    if (!this.head) return;
    this.entries = (await journal.entriesFrom(1)).map((entry) => this.named(entry));
    this.aisle.entries = this.entries.filter((entry) => entry.seq > this.aisle.mine);
    this.aisle.rebuild();
    this.changed();
  }

  named(entry) {
    return { ...entry, ref: journal.refOf(this.head, entry) };
  }

  /** Asks the browser to keep what is stored; says whether it promised. */
  async askToKeep() {
    try {
      const kept = (await navigator.storage.persisted()) || (await navigator.storage.persist());
      this.storage = kept ? 'persisted' : 'temporary';
    } catch {
      this.storage = 'temporary';
    }
    this.changed();
  }

  async setPref(name, value) {
    this.prefs = { ...this.prefs, [name]: value };
    await keep('prefs', this.prefs);
    this.changed();
  }

  // ---- joining

  /**
   * @param {string} text the second code @param {string} name what this phone is called
   * @throws {exchange.Refused | exchange.Away | Error} its `problem` names a text where the code itself is wrong
   */
  async join(text, name) {
    const code = readJoinCode(text);
    if (!code.secret || !code.pin) throw Object.assign(new Error(code.problem), { problem: `join.${code.problem}` });
    const keys = (await read('own', 'keys')) ?? (await makeKeys());
    const message = await joinMessage(code.secret, keys.publicKey, name);
    const request = { secret: toHex(code.secret), key: keys.publicKey, name, sign: await sign(keys, message) };
    await keep('keys', keys); // before the hub knows it: an answer that is lost must be asked for by the same key
    const answer = await exchange.join(request);
    const link = { token: answer.token, role: answer.role, by: answer.by, hub: answer.hub, hubName: answer.name,
      knownAs: keys.device };
    const before = await journal.head();
    if (before && before.device === keys.device && before.collection === answer.collection) await keep('link', link);
    else await journal.beginChain(keys.device, answer.collection, keys.publicKey, { keys, link });
    this.keys = keys;
    this.link = link;
    this.trouble = undefined;
    this.comparedAt = 0;
    await this.reload();
    await this.mirror(this.entries);
    this.rescued = await mirror.rescued(this.head.device).catch(() => []);
    this.askToKeep();
    await this.sync();
  }

  // ---- entries

  get by() {
    return this.prefs.by ?? this.link?.by ?? '';
  }

  get mayWrite() {
    return this.joined && this.link.role !== 'viewer';
  }

  /**
   * Writes what was composed. When the promise is kept it is on the flash: only then may "saved" be said.
   * @param {import('./aisle/compose.mjs').Composition} composed
   */
  async save(composed, extra = {}) {
    const before = Object.fromEntries(
      [...new Set([...composed.animals, ...(composed.draft.of ?? [])])]
        .map((id) => [id, this.aisle.animals.get(id)])
        .filter(([, animal]) => animal)
        .map(([id, animal]) => [id, standingOf(animal)]),
    );
    const draft = { ...composed.draft, by: this.by || undefined };
    const [entry] = await this.record([{ draft, about: { animals: composed.animals, before, ...extra } }]);
    return entry;
  }

  async record(wanted) {
    const written = (await journal.record(wanted)).map((entry) => this.named(entry));
    this.head = await journal.head();
    await this.mirror(written);
    this.entries.push(...written);
    this.aisle.add(written);
    this.tabs.postMessage('written');
    this.changed();
    this.syncSoon();
    return written;
  }

  /** A second copy of new entries, signed. What cannot be mirrored is in the store all the same. */
  async mirror(entries) {
    try {
      const streams = [];
      for (const entry of entries) {
        if (entry.seq <= this.head.sent) continue;
        const before = entry.seq > 1 ? (await read('events', entry.seq - 1)).hash : '';
        streams.push({ seq: entry.seq, body: await exchange.streamOf(this.keys, this.head, [entry], before) });
      }
      await mirror.mirror(this.head.device, streams);
    } catch (error) {
      console.warn('The second copy of the outbox could not be written', error);
    }
  }

  /** A browser killed between the two copies left a gap, over which a hub could not read the chain. */
  async completeMirror() {
    const held = await mirror.mirrored(this.head.device).catch(() => new Set());
    await this.mirror(this.entries.filter((entry) => entry.seq > this.head.sent && !held.has(entry.seq)));
  }

  /** Sends what an earlier store of this phone left behind, under whatever name it wrote. What is refused stays. */
  async sendRescued() {
    this.stuck = undefined;
    for (const one of this.rescued) {
      const body = await mirror.bodyOf(one);
      try {
        await exchange.ask('/v1/push', { method: 'POST', body, token: this.link.token });
      } catch (error) {
        if (!(error instanceof exchange.Refused)) throw error;
        this.stuck = error.message;
        return;
      }
      await mirror.drop(one);
      this.rescued = this.rescued.filter((other) => other !== one);
    }
  }

  /** The newest own entry that stands, of the last hours. */
  newest() {
    const back = new Set(this.entries.flatMap((entry) => entry.about?.voids ?? []));
    const last = this.entries.findLast(
      (entry) => !kSilent.includes(entry.kind) && !kFixed.includes(entry.kind) && !back.has(entry.seq),
    );
    return last && Date.now() - last.wall < kUndoReaches ? last : undefined;
  }

  /** Takes back one own entry: the newest, or that one. */
  async undo(entry = this.newest()) {
    if (!entry) return undefined;
    const draft = { kind: 'voided', by: this.by || undefined, re: [[entry.ref, 'saw']] };
    await this.record([{ draft, about: { voids: [entry.seq], before: entry.about?.before } }]);
    return entry;
  }

  /** Answers questions alike, or takes the answer back with "open". */
  async settle(questions, answer) {
    await this.record(
      questions.map((question) => ({
        draft: {
          kind: 'settled',
          by: this.by || undefined,
          own: { rule: question.rule, answer },
          re: [...question.members.map((member) => [member.ref, 'saw']), ...(question.settled ?? []).map((ref) => [ref, 'saw'])],
        },
        about: { questions: [question.id] },
      })),
    );
  }

  // ---- what waits

  get unsent() {
    if (!this.head) return [];
    return this.entries.filter((entry) => entry.seq > this.head.sent && !kSilent.includes(entry.kind));
  }

  /** The outbox as a file that `rackside sync --in` takes on the hub. */
  async bundle() {
    return exchange.bundleOf(this.keys, this.head, this.entries, '');
  }

  // ---- the exchange

  /** An earlier appointment stands. */
  syncSoon(wait = 0) {
    const at = Date.now() + wait;
    if (this.timer !== undefined && this.appointment <= at) return;
    clearTimeout(this.timer);
    this.appointment = at;
    this.timer = setTimeout(() => this.sync(), wait);
  }

  /** One exchange at a time; whoever calls while one runs gets the one behind it. */
  sync() {
    if (!this.joined) return Promise.resolve();
    if (this.running) {
      this.next ??= this.running.then(() => {
        this.next = undefined;
        return this.sync();
      });
      return this.next;
    }
    this.running = this.exchange().finally(() => {
      this.running = undefined;
    });
    return this.running;
  }

  async exchange() {
    clearTimeout(this.timer);
    this.timer = undefined;
    try {
      const due = Date.now() - this.comparedAt > kHeadsEvery || this.head.sent < this.head.seq || this.rescued.length > 0;
      const refusal = due ? await this.trySending() : undefined;
      await this.fetchCopy();
      if (refusal) throw refusal;
      this.state = 'online';
      this.trouble = undefined;
      this.retry = kRetryFirst;
      this.syncSoon(kAisleEvery);
    } catch (error) {
      if (error instanceof exchange.Refused) {
        this.state = 'refused';
        this.trouble = { name: error.name, message: error.message, status: error.status };
      } else if (error instanceof exchange.Away) {
        this.state = 'away';
      } else {
        this.state = 'refused';
        this.trouble = { name: 'internal', message: String(error) };
      }
      this.syncSoon(this.retry);
      this.retry = Math.min(this.retry * 2, kRetryMost);
    }
    this.changed();
  }

  /** What the hub turns down waits here; what others saw, and how much waits, is exchanged all the same. */
  async trySending() {
    try {
      await this.sendAll();
    } catch (error) {
      if (!(error instanceof exchange.Refused) || error.status === 401) throw error;
      return error;
    }
    return undefined;
  }

  async sendAll() {
    if (this.comparedAt === 0 || Date.now() - this.comparedAt > kHeadsEvery) {
      if (this.mayWrite) await this.markClock();
    }
    const { hubWall, mine } = await exchange.compareHeads(this.link, this.head);
    this.aisle.offset = hubWall - Date.now();
    if (this.mayWrite) {
      await this.sendMissing(mine);
      await this.sendRescued();
    }
    this.comparedAt = Date.now();
  }

  async markClock() {
    const { seq } = this.head;
    await journal.markClock((wall) => dayOf(this.aisle.settings, wall));
    this.head = await journal.head();
    if (this.head.seq > seq) await this.mirror(await journal.entriesFrom(seq + 1));
  }

  async sendMissing(mine) {
    const entries = await journal.entriesFrom(1);
    const held = mine.filter(([seq, hash]) => entries[seq - 1]?.hash.startsWith(hash));
    if (mine.length > held.length && mine.some(([seq]) => seq > this.head.seq || held.length === 0)) return this.succeed();
    const from = Math.max(0, ...held.map(([seq]) => seq));
    if (from > this.head.sent) await journal.markSent(from);
    if (from > 0) await mirror.forget(this.head.device, from).catch(() => {});
    const missing = entries.filter((entry) => entry.seq > from);
    await exchange.push(this.link, this.keys, this.head, missing, entries[from - 1]?.hash ?? '', async (seq) => {
      await journal.markSent(seq);
      this.head = await journal.head();
      await mirror.forget(this.head.device, seq).catch(() => {});
      this.changed();
    });
    this.head = await journal.head();
    this.entries = (await journal.entriesFrom(1)).map((entry) => this.named(entry));
  }

  /** The hub holds entries of this phone that it does not have: its store was set back. It goes on as a new device. */
  async succeed() {
    const heir = await makeKeys();
    await journal.record([{ draft: { kind: 'succeeded', own: { device: heir.device } } }]);
    this.head = await journal.head();
    await exchange.push(this.link, this.keys, this.head, await journal.entriesFrom(1), '', async () => {});
    await journal.beginChain(heir.device, this.head.collection, heir.publicKey, { keys: heir, link: this.link });
    this.keys = heir;
    await this.reload();
    this.syncSoon();
  }

  async fetchCopy() {
    const waiting = this.unsent;
    const unsent = { count: waiting.length + this.rescued.length, oldest: waiting[0]?.wall };
    const { first, lines } = await exchange.fetchAisle(this.link, this.head.device, this.aisle.version, unsent);
    const whole = first.since === '';
    if (whole) this.aisle.empty();
    this.aisle.take(lines);
    const mine = first.mine && first.mine[0] === this.head.device ? first.mine[1] : 0;
    Object.assign(this.aisle, { version: first.aisle, asOf: first.wall, mine });
    this.fetchedAt = Date.now();
    if (first.again_ms) this.syncSoon(first.again_ms + 50);
    await this.keepCopy(whole, lines);
    this.entries = (await journal.entriesFrom(1)).map((entry) => this.named(entry));
    this.aisle.entries = this.entries.filter((entry) => entry.seq > mine);
    if (whole || lines.length > 0) this.aisle.rebuild();
  }

  async keepCopy(whole, lines) {
    const { version, asOf, mine, offset } = this.aisle;
    await write(['own', 'aisle'], async ({ own, aisle }) => {
      if (whole) aisle.clear();
      for (const line of lines) {
        if (isRemoval(line)) aisle.delete(line.gone);
        else aisle.put({ key: `${line.t}:${line.id}`, line });
      }
      await outcome(own.put({ version, asOf, mine, offset, fetchedAt: this.fetchedAt }, 'aisle'));
    });
  }

  // ---- the rack that a helper is at

  async claim(rack, free = false) {
    const body = JSON.stringify(free ? { rack, free: true } : { rack, by: this.by }) + '\n';
    await exchange.ask('/v1/claim', { method: 'POST', body, token: this.link.token });
  }
}

export const phone = new Phone();