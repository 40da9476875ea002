// The browser's own store. Every write is strict: it is on the flash when the promise is kept, so that "saved" is true.

const kName = 'rackside';
const kVersion = 1;

const kStores = {
  own: undefined, // who this phone is, by name
  events: { keyPath: 'seq' }, // what it wrote, in its order
  aisle: { keyPath: 'key' }, // the hub's copy for the aisle
  photos: { keyPath: 'id', autoIncrement: true }, // pictures that wait for the hub
};

/** @type {Promise<IDBDatabase> | undefined} */
let opened;
let lostListener = () => {};

/** Called when the browser takes the store away under a running page: only loading anew helps then. */
export function onLost(listener) {
  lostListener = listener;
}

function open() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(kName, kVersion);
    request.onupgradeneeded = () => {
      for (const [name, options] of Object.entries(kStores)) {
        if (!request.result.objectStoreNames.contains(name)) request.result.createObjectStore(name, options);
      }
    };
    request.onsuccess = () => {
      const database = request.result;
      database.onclose = () => {
        opened = undefined;
        lostListener();
      };
      // A later version of the page in another tab may change the store: it must not wait for this one.
      database.onversionchange = () => database.close();
      resolve(database);
    };
    request.onerror = () => reject(request.error);
  });
}

export function database() {
  opened ??= open();
  opened.catch(() => {
    opened = undefined;
  });
  return opened;
}

/** @template T @param {IDBRequest<T>} request @returns {Promise<T>} */
export const outcome = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

/**
 * One strict transaction. `work` gets the stores by name and must ask everything of them at once or from their
 * answers: a promise of anything else ends the transaction.
 * @template T @param {string[]} names @param {(stores: Record<string, IDBObjectStore>) => Promise<T>} work
 * @returns {Promise<T>} kept once all is on the flash
 */
export async function write(names, work) {
  const transaction = (await database()).transaction(names, 'readwrite', { durability: 'strict' });
  const done = new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve(undefined);
    transaction.onabort = () => reject(transaction.error ?? new DOMException('The store gave up', 'AbortError'));
  });
  try {
    const result = await work(Object.fromEntries(names.map((name) => [name, transaction.objectStore(name)])));
    await done;
    return result;
  } catch (error) {
    done.catch(() => {});
    try {
      transaction.abort();
    } catch {
      // it has ended already
    }
    throw error;
  }
}

/** @param {string} store @param {IDBValidKey} key */
export async function read(store, key) {
  return outcome((await database()).transaction(store).objectStore(store).get(key));
}

/** @param {string} store @param {IDBKeyRange} [range] */
export async function readAll(store, range) {
  return outcome((await database()).transaction(store).objectStore(store).getAll(range));
}

/** @param {string} key @param {unknown} value */
export const keep = (key, value) => write(['own'], ({ own }) => outcome(own.put(value, key)));
