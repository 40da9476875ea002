// Reads codes from the camera, a frame at a time, as fast as the worker answers.

const kWide = { facingMode: { ideal: 'environment' }, width: { ideal: 1280 }, height: { ideal: 720 } };
/** A code that stays in view is read once; it counts as new when it was away for so long. */
const kAwayMs = 1_500;
const kBetweenFramesMs = 40;

/** A decoder that could not be loaded (the hub was away at the first visit) is asked for again after so long. */
const kRetryMs = 2_000;

/** @type {Worker | undefined} */
let worker;
let number = 0;
let failedAt = -Infinity;
const waiting = new Map();

/** Says by the event "change" when the decoder is found missing, and when it came after all. */
class Decoder extends EventTarget {
  isMissing = false;

  set(isMissing) {
    if (isMissing === this.isMissing) return;
    this.isMissing = isMissing;
    this.dispatchEvent(new Event('change'));
  }
}
export const decoder = new Decoder();

function forgetWorker() {
  failedAt = performance.now();
  for (const answer of waiting.values()) answer([]);
  waiting.clear();
  worker?.terminate();
  worker = undefined;
}

function reader() {
  if (worker) return worker;
  worker = new Worker('/scan/reader_worker.mjs', { type: 'module' });
  worker.onmessage = ({ data }) => {
    if (data.ready) return decoder.set(false);
    if (data.missing) return missing();
    waiting.get(data.id)?.(data.texts ?? []);
    waiting.delete(data.id);
  };
  worker.onerror = missing;
  return worker;
}

function missing() {
  forgetWorker();
  decoder.set(true);
  setTimeout(reader, kRetryMs);
}

/** Begins to load the decoder, so that the first scan need not wait. */
export const warmUp = () => void (isResting() || reader());

const isResting = () => !worker && performance.now() - failedAt < kRetryMs;

/** The texts of all symbols in a picture. @param {ImageBitmap | ImageData} picture @returns {Promise<string[]>} */
export function decode(picture) {
  if (isResting()) return Promise.resolve([]);
  const id = ++number;
  return new Promise((resolve) => {
    waiting.set(id, resolve);
    reader().postMessage({ id, picture }, picture instanceof ImageBitmap ? [picture] : []);
  });
}

export class Camera {
  /**
   * @param {HTMLVideoElement} video @param {(text: string) => void} onRead
   * @param {(state: 'off'|'starting'|'on'|'denied'|'missing') => void} onState
   */
  constructor(video, onRead, onState) {
    this.video = video;
    this.onRead = onRead;
    this.onState = onState;
    this.seen = new Map();
    /** @type {MediaStream | undefined} */
    this.stream = undefined;
    this.wanted = false;
    /** What not every browser knows: torch, focusMode. @type {any} */
    this.abilities = undefined;
  }

  async start() {
    if (this.wanted) return;
    this.wanted = true;
    this.onState('starting');
    try {
      if (!navigator.mediaDevices) throw new DOMException('no camera here', 'NotFoundError');
      this.stream = await navigator.mediaDevices.getUserMedia({ video: kWide, audio: false });
      if (!this.wanted) return this.release();
      this.video.srcObject = this.stream;
      await this.video.play();
      this.track = this.stream.getVideoTracks()[0];
      this.abilities = this.track.getCapabilities?.() ?? {};
      this.onState('on');
      this.stayAwake();
      this.look();
    } catch (error) {
      this.wanted = false;
      this.release();
      this.onState(error.name === 'NotAllowedError' ? 'denied' : 'missing');
    }
  }

  /** The screen stays on while the camera looks, where the phone lets a page ask for it. */
  async stayAwake() {
    this.awake = await navigator.wakeLock?.request('screen').catch(() => undefined);
  }

  stop() {
    this.wanted = false;
    this.awake?.release().catch(() => {});
    this.release();
    this.onState('off');
  }

  release() {
    for (const track of this.stream?.getTracks() ?? []) track.stop();
    this.stream = undefined;
    this.video.srcObject = null;
  }

  /** Moves the camera to another place on the screen: the stream stays, so the permission is asked once. */
  async show(video) {
    if (video === this.video) return;
    this.video.srcObject = null;
    this.video = video;
    if (this.stream) {
      video.srcObject = this.stream;
      await video.play().catch(() => {});
    }
  }

  get hasTorch() {
    return Boolean(this.abilities?.torch);
  }

  async torch(on) {
    await this.track?.applyConstraints(/** @type {any} */ ({ advanced: [{ torch: on }] })).catch(() => {});
  }

  /** A tap asks for sharpness where the phone lets a page ask. */
  async focus() {
    const modes = this.abilities?.focusMode ?? [];
    const mode = modes.includes('single-shot') ? 'single-shot' : modes.includes('continuous') ? 'continuous' : undefined;
    if (mode) await this.track.applyConstraints(/** @type {any} */ ({ advanced: [{ focusMode: mode }] })).catch(() => {});
  }

  /** What is held still is forgotten at once: the next look reads it again. */
  forget() {
    this.seen.clear();
  }

  async look() {
    while (this.wanted && this.stream) {
      const begun = performance.now();
      if (this.video.readyState >= 2 && this.video.videoWidth > 0 && document.visibilityState === 'visible') {
        const picture = await createImageBitmap(this.video).catch(() => undefined);
        if (picture) this.took(await decode(picture), begun);
      }
      const rest = Math.max(4, kBetweenFramesMs - (performance.now() - begun));
      await new Promise((resolve) => setTimeout(resolve, rest));
    }
  }

  took(texts, begun) {
    const now = performance.now();
    for (const text of texts) {
      const last = this.seen.get(text);
      this.seen.set(text, now);
      if (last === undefined || now - last > kAwayMs) {
        this.grabbedAt = begun;
        if (this.wanted) this.onRead(text);
      }
    }
  }
}
