// Photos for the hub's reader, which finds more than a phone's: sent when the hub is near, else kept, a bounded number,
// and sent later. What is read is who stands on the labels; an entry is still the person's tap.

import { ask, Away, Refused } from '../log/exchange.mjs';
import { outcome, readAll, write } from '../log/database.mjs';

const kMostSide = 4096;
const kMostBytes = 8 * 1024 * 1024; // what the hub takes
const kQuality = 0.9;
const kMostKept = 20;
const kMostKeptBytes = 48 * 1024 * 1024;
const kPatienceMs = 120_000; // a hard photo takes seconds, and others may be before it
const kPause = 20_000;

/**
 * @typedef {{codes: string[], foreign: number, unread: Record<string, number>}} Findings
 * @typedef {{id: number, at: number, size: number, bytes?: ArrayBuffer, type?: string, findings?: Findings,
 *   problem?: string}} Kept
 */

/** Why a photo could not be kept: its `key` names a text. */
export class NotKept extends Error {
  /** @param {string} key @param {object} [args] */
  constructor(key, args) {
    super(key);
    this.key = key;
    this.args = args;
  }
}

/** A picture of a file, turned upright, no larger than a phone's photo. */
export async function pictureOf(file) {
  const picture = await createImageBitmap(file, { imageOrientation: 'from-image' });
  const scale = Math.min(1, kMostSide / Math.max(picture.width, picture.height));
  if (scale === 1) return picture;
  const size = { resizeWidth: Math.round(picture.width * scale), resizeHeight: Math.round(picture.height * scale) };
  return createImageBitmap(picture, { ...size, resizeQuality: 'high' });
}

async function asJpeg(picture) {
  const canvas = new OffscreenCanvas(picture.width, picture.height);
  canvas.getContext('2d').drawImage(picture, 0, 0);
  return canvas.convertToBlob({ type: 'image/jpeg', quality: kQuality });
}

/**
 * What is sent: the file as it is where the hub takes it, else drawn anew and smaller.
 * @param {File} file @param {ImageBitmap | undefined} picture of it, where the browser can show it
 * @returns {Promise<{bytes: ArrayBuffer, type: string}>} @throws {NotKept}
 */
export async function packed(file, picture) {
  const plain = ['image/jpeg', 'image/png'].includes(file.type);
  if (plain && file.size <= kMostBytes) return { bytes: await file.arrayBuffer(), type: file.type };
  if (!picture) throw new NotKept('photo.no_picture');
  const blob = await asJpeg(picture);
  if (blob.size > kMostBytes) throw new NotKept('photo.too_large');
  return { bytes: await blob.arrayBuffer(), type: blob.type };
}

class Photos extends EventTarget {
  /** @type {Kept[]} */
  kept = [];
  running = false;
  notBefore = 0;

  changed() {
    this.dispatchEvent(new Event('change'));
  }

  /** @param {import('../phone.mjs').phone} phone */
  async start(phone) {
    this.phone = phone;
    await this.load();
    phone.addEventListener('change', () => this.sendKept());
  }

  async load() {
    const rows = await readAll('photos').catch(() => []);
    // Earlier pages kept the file itself.
    this.kept = rows.filter((row) => row.bytes || row.findings || row.problem);
    this.changed();
  }

  /** How many were read since, and wait to be looked at. */
  get read() {
    return this.kept.filter((one) => one.findings || one.problem).length;
  }

  get canAsk() {
    return this.phone?.joined && this.phone.mayWrite && this.phone.state === 'online';
  }

  /** @returns {Promise<Findings>} @throws {Refused | Away} */
  async askHub({ bytes, type }) {
    const options = { method: 'POST', body: bytes, type, token: this.phone.link.token, signal: AbortSignal.timeout(kPatienceMs) };
    const answer = await ask('/v1/photo', options);
    return answer.json().catch((error) => {
      throw new Away(String(error));
    });
  }

  /** @throws {NotKept} */
  async keep({ bytes, type }) {
    const size = bytes.byteLength;
    const all = this.kept.reduce((sum, one) => sum + (one.size ?? 0), 0);
    if (this.kept.length >= kMostKept || all + size > kMostKeptBytes) throw new NotKept('photo.full', { count: this.kept.length });
    const photo = { at: Date.now(), size, bytes, type };
    const id = Number(await write(['photos'], ({ photos }) => outcome(photos.add(photo)))); // numbered by the store
    this.kept.push({ ...photo, id });
    this.changed();
  }

  async drop(photo) {
    await write(['photos'], ({ photos }) => outcome(photos.delete(photo.id)));
    this.kept = this.kept.filter((one) => one.id !== photo.id);
    this.changed();
  }

  /** What came of a photo takes its place. */
  async settle(photo, came) {
    const settled = { id: photo.id, at: photo.at, size: 0, ...came };
    await write(['photos'], ({ photos }) => outcome(photos.put(settled)));
    this.kept = this.kept.map((one) => (one.id === photo.id ? settled : one));
    this.changed();
  }

  /** One after the other; a hub that is away or busy is asked again later. */
  async sendKept() {
    if (this.running || !this.canAsk || Date.now() < this.notBefore) return;
    this.running = true;
    try {
      for (const photo of this.kept.filter((one) => one.bytes)) await this.settle(photo, { findings: await this.askHub(/** @type {{bytes: ArrayBuffer, type: string}} */ (photo)) });
    } catch (error) {
      await this.stopped(error);
    } finally {
      this.running = false;
    }
  }

  async stopped(error) {
    this.notBefore = Date.now() + kPause;
    const photo = this.kept.find((one) => one.bytes);
    // The picture itself is at fault: the others need not wait for it.
    if (error instanceof Refused && [400, 413, 422].includes(error.status) && photo) {
      this.notBefore = 0;
      await this.settle(photo, { problem: error.message }).catch(() => {});
    }
  }
}

export const photos = new Photos();
