// A second copy of what is not sent yet, in files of its own, already signed. Chromium throws its whole database away when
// it finds it damaged, and a browser killed twice in the middle of a write can leave it so (seen in a test of 100 kills).
// The key is lost then, but what it signed can still be sent, by this phone under a new key or by any other.

const kName = 'rackside-outbox';
const addressOf = (device, seq) => `/outbox/${device}/${String(seq).padStart(10, '0')}`;

/** @param {string} device @param {{seq: number, body: string}[]} streams each a whole stream of one entry */
export async function mirror(device, streams) {
  const cache = await caches.open(kName);
  await Promise.all(streams.map(({ seq, body }) => cache.put(addressOf(device, seq), new Response(body))));
}

/** @returns {Promise<{address: string, device: string, seq: number}[]>} in the order in which they must be sent */
async function all() {
  const cache = await caches.open(kName);
  const addresses = (await cache.keys()).map((request) => new URL(request.url).pathname).sort();
  return addresses.map((address) => {
    const [, , device, seq] = address.split('/');
    return { address, device, seq: Number(seq) };
  });
}

/** The hub has all of the device up to this number. */
export async function forget(device, seq) {
  const cache = await caches.open(kName);
  const sent = (await all()).filter((one) => one.device === device && one.seq <= seq);
  await Promise.all(sent.map((one) => cache.delete(one.address)));
}

/** The numbers of a device that are mirrored. @returns {Promise<Set<number>>} */
export const mirrored = async (device) => new Set((await all()).filter((one) => one.device === device).map((one) => one.seq));

/** What a device wrote that this phone was before its store was lost. @param {string | undefined} current */
export const rescued = async (current) => (await all()).filter((one) => one.device !== current);

export async function bodyOf(one) {
  return (await (await caches.open(kName)).match(one.address)).text();
}

export async function drop(one) {
  await (await caches.open(kName)).delete(one.address);
}
