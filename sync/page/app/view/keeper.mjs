// Keeps the page on the phone: starts the service worker, and says when the browser will not have one, which it does
// where the hub's authority is not trusted and a warning was only clicked through.

const kPatienceMs = 15_000;
const kRetryMs = 5_000;

/** @param {ServiceWorker | null} worker whose files are being fetched */
function becomesActive(worker) {
  return new Promise((resolve, reject) => {
    const look = () => {
      if (worker?.state === 'activated' || worker?.state === 'activating') resolve(worker);
      else if (!worker || worker.state === 'redundant') reject(new Error('the copy was cut short'));
    };
    worker?.addEventListener('statechange', look);
    look();
  });
}

class KeeperOfPage extends EventTarget {
  constructor() {
    super();
    /** @type {string | undefined} why the page cannot be kept */
    this.trouble = undefined;
    this.kept = false;
    /** @type {ServiceWorker | undefined} a newer page that waits */
    this.waiting = undefined;
  }

  changed() {
    this.dispatchEvent(new Event('change'));
  }

  async start() {
    if (!('serviceWorker' in navigator)) return this.fail('no service worker');
    const late = setTimeout(() => this.fail('slow'), kPatienceMs);
    try {
      await this.adopt(await navigator.serviceWorker.register('/service_worker.js'));
      this.kept = true;
      this.trouble = undefined;
      this.changed();
    } catch (error) {
      this.fail(String(error));
      // Without trust no second try helps; a first visit that was cut short is finished when the hub is near again.
      if (error.name !== 'SecurityError') setTimeout(() => this.start(), kRetryMs);
    } finally {
      clearTimeout(late);
    }
  }

  /** Resolves when the copy for offline is whole. */
  async adopt(registration) {
    this.registration = registration;
    registration.onupdatefound = () => this.watch(registration.installing);
    if (registration.waiting && navigator.serviceWorker.controller) this.offer(registration.waiting);
    if (!registration.active) await becomesActive(registration.installing ?? registration.waiting);
  }

  watch(worker) {
    worker?.addEventListener('statechange', () => {
      if (worker.state === 'installed' && navigator.serviceWorker.controller) this.offer(worker);
    });
  }

  offer(worker) {
    this.waiting = worker;
    this.changed();
  }

  fail(why) {
    this.trouble = why;
    this.changed();
  }

  /** Asks whether the hub has a newer page. */
  look() {
    this.registration?.update().catch(() => {});
  }

  /** Takes the newer page. Entries are in the store, not in the page: none is lost. */
  renew() {
    navigator.serviceWorker.addEventListener('controllerchange', () => location.reload(), { once: true });
    this.waiting?.postMessage('take over');
  }
}

export const keeperOfPage = new KeeperOfPage();
