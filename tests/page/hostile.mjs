// Slow, broken and hostile clients beside honest phones, for as long as asked:
//   node tests/page/hostile.mjs PROGRAM [MINUTES]          half a minute by default, which is part of tests/run
// Honest phones must be served all the while, nothing of theirs may be lost, and the hub's memory must not grow: at most 16 MiB
// from when all have begun to the end. Every hostile kind has addresses of its own, as strangers in the Wi-Fi would.

import { execFile } from 'node:child_process';
import https from 'node:https';
import { cpus, loadavg } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { checkAndTell as check, finish } from './checks.mjs';
import { Hub, NodePhone } from './node_phone.mjs';

const { streamOf } = await import('../../sync/page/app/log/exchange.mjs');

const minutes = Number(process.argv[3] ?? 0.5);
const kHonest = 5;
const kTries = 4;
const kGrowthKib = 16 * 1024;
const end = () => Date.now() > ends;

const hub = new Hub(process.argv[2]);
await hub.start();
const animal = hub.json('show', 'C-1').code;
const honest = [];
for (let i = 0; i < kHonest; i += 1) honest.push(await NodePhone.join(hub, 'helper', '', { from: `127.0.1.${i + 2}` }));
const traitor = await NodePhone.join(hub, 'helper', '', { from: '127.0.3.2' }); // has a token, and means harm
// Each request on a connection of its own: the hub closes one that is idle for two seconds.
for (const phone of [...honest, traitor]) phone.agent = false;
const begun = Date.now();
const ends = begun + minutes * 60_000;

const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

// ---- the honest

const times = [];
const troubles = [];
let written = 0;
let again = 0; // connections that broke, on a machine that is busy with much else

function hear(phone) {
  const options = { host: '127.0.0.1', port: hub.port, path: '/v1/live', ca: hub.ca, servername: 'localhost', localAddress: phone.from, headers: { Authorization: `Bearer ${phone.token}` } };
  phone.lines = 0;
  const asked = https.request(options, (answer) => {
    answer.on('data', () => (phone.lines += 1));
    answer.on('error', () => {});
  });
  asked.on('error', (error) => troubles.push(`live: ${error.message}`));
  asked.end();
  return asked;
}

/** As the page does: a connection that broke is no answer, so it is asked again, and repeating does no harm. */
async function persistently(ask) {
  for (let tries = 1; ; tries += 1) {
    try {
      return await ask();
    } catch (error) {
      if (tries === kTries) throw error;
      again += 1;
      await wait(500);
    }
  }
}

/** An entry, its push and the copy: what a helper's tap makes. */
async function tap(phone) {
  await phone.record({ kind: 'watered', of: [animal] });
  const body = await phone.stream();
  const before = performance.now();
  const push = await persistently(() => phone.ask('/v1/push', { method: 'POST', body }));
  times.push(performance.now() - before);
  if (push.status !== 200) troubles.push(`push: ${push.status} ${push.body}`);
  else written += JSON.parse(push.body).stored + JSON.parse(push.body).known;
  const copy = await persistently(() => phone.ask('/v1/aisle?unsent=0'));
  if (copy.status !== 200) troubles.push(`aisle: ${copy.status}`);
}

/** What the hub has is not sent again: each push holds one entry. */
function settle(phone) {
  phone.entries.length = 0;
  phone.before = phone.head.hash;
}

async function work(phone) {
  await phone.push();
  settle(phone);
  phone.stream = () => streamOf(phone.keys, phone.head, phone.entries, phone.before);
  const stream = hear(phone);
  while (!end()) {
    await tap(phone).catch((error) => troubles.push(String(error)));
    settle(phone);
    await wait(1000);
  }
  stream.destroy();
}

let least = 0;
let most = 0;
async function watchMemory() {
  // Threads, caches and readers are there once each kind has come by.
  await wait(Math.min(60_000, minutes * 20_000));
  least = hub.memoryKib();
  while (!end()) {
    most = Math.max(most, hub.memoryKib());
    await wait(500);
  }
}

const known = { port: hub.port, ca: hub.ca, token: traitor.token, key: traitor.keys.publicKey, ends };
const script = join(dirname(fileURLToPath(import.meta.url)), 'hostile_kinds.mjs');
const hostile = promisify(execFile)(process.execPath, [script, JSON.stringify(known)]);
await Promise.all([watchMemory(), ...honest.map(work)]);
const told = JSON.parse((await hostile).stdout);
await wait(500);
const after = hub.memoryKib();

// ---- what came of it

times.sort((a, b) => a - b);
const share = (part) => times[Math.min(times.length - 1, Math.floor(times.length * part))]?.toFixed(0);
console.log(`       ${Object.values(told).reduce((a, b) => a + b, 0)} hostile visits in ${((Date.now() - begun) / 60_000).toFixed(1)} minutes, ${times.length} honest pushes: median ${share(0.5)} ms, 99 of 100 within ${share(0.99)} ms, worst ${share(1)} ms, ${again} asked again; load of the machine ${loadavg()[1].toFixed(1)} on ${cpus().length} cores`);
console.log(`       memory ${least} KiB when all had begun, at most ${most} KiB, ${after} KiB at the end`);
check('every hostile kind came by', Object.values(told).every((count) => count > 0), JSON.stringify(told));
check('the honest were served all the while', troubles.length === 0, troubles.slice(0, 5).join(' | '));
check('every entry arrived once', written === times.length, `${written} of ${times.length}`);
check('live streams were heard', honest.every((phone) => phone.lines > 1));
check('the memory did not grow', most - least <= kGrowthKib, `${most - least} KiB`);
hub.run('check');
await hub.stop();
finish();
