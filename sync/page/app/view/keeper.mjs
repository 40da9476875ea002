// Keeps the page on the phone: starts the service worker, and says when the browser will not have one, which it does
// where the hub's authority is not trusted and a warning was only clicked through.

const kPatienceMs = 15_000;

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
    try {
      const registration = await navigator.serviceWorker.register('/service_worker.js');
      this.registration = registration;
      registration.addEventListener('updatefound', () => this.watch(registration.installing));
      if (registration.waiting && navigator.serviceWorker.controller) this.offer(registration.waiting);
      await Promise.race([navigator.serviceWorker.ready, new Promise((_, reject) => setTimeout(() => reject(new Error('slow')), kPatienceMs))]);
      this.kept = true;
      this.trouble = undefined;
      this.changed();
    } catch (error) {
      this.fail(String(error));
    }
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
