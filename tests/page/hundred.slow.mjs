// A hundred phones at once, each from an address of its own, all holding live streams, all sending twenty entries in the
// same moment: none is refused, every entry arrives once, and every stream tells of all others. The times are printed,
// not judged: they depend on the machine.

import https from 'node:https';
import { cpus, loadavg } from 'node:os';
import { checkAndTell as check, finish } from './checks.mjs';
import { Hub, NodePhone } from './node_phone.mjs';

const kPhones = 100;
const kEntries = 20;

const hub = new Hub(process.argv[2]);
await hub.start();
const animal = hub.json('show', 'C-1').code;
const phones = [];
for (let i = 0; i < kPhones; i += 1) phones.push(await NodePhone.join(hub, 'helper', '', { from: `127.0.1.${i + 2}` }));
check('a hundred phones joined', phones.length === kPhones);

/** Keeps what a stream says; it is read after the storm, because a hundred phones have a hundred processors. */
function listen(phone) {
  return new Promise((resolve, reject) => {
    const asked = https.request({ host: '127.0.0.1', port: hub.port, path: '/v1/live', ca: hub.ca, servername: 'localhost', localAddress: phone.from, headers: { Authorization: `Bearer ${phone.token}` } }, (answer) => {
      phone.heard = [];
      answer.on('data', (data) => {
        phone.heard.push(data);
        resolve(asked);
      });
      answer.on('error', () => {});
    });
    asked.on('error', reject);
    asked.end();
  });
}

/** How many entries a stream told of. */
function marksOf(phone) {
  const lines = Buffer.concat(phone.heard).toString().split('\n').slice(0, -1);
  return new Set(lines.filter(Boolean).map((line) => JSON.parse(line).mark?.ref).filter(Boolean)).size;
}
// In small groups: a hundred handshakes at once are work for a hundred phones, not for one process that plays them all.
const streams = [];
for (let i = 0; i < kPhones; i += 10) streams.push(...(await Promise.all(phones.slice(i, i + 10).map(listen))));
check('a hundred streams are open', streams.length === kPhones);
// As on any evening but the first: the day's clock check of each is done.
for (const phone of phones) {
  await phone.push();
  await phone.ask('/v1/heads', { method: 'POST', body: phone.vector() });
}
const before = hub.memoryKib();

for (const phone of phones) {
  for (let i = 0; i < kEntries; i += 1) await phone.record({ kind: 'watered', of: [animal] });
  phone.body = await phone.stream();
}
const times = { heads: [], push: [] };
async function timed(what, work) {
  const begun = performance.now();
  const answer = await work();
  times[what].push(performance.now() - begun);
  return answer;
}
for (let i = 0; i < kPhones; i += 10) await Promise.all(phones.slice(i, i + 10).map((phone) => phone.ask('/v1/hello')));
const used = hub.processorMs();
const answers = await Promise.all(phones.map(async (phone) => {
  const heads = await timed('heads', () => phone.ask('/v1/heads', { method: 'POST', body: phone.vector() }));
  const push = await timed('push', () => phone.ask('/v1/push', { method: 'POST', body: phone.body }));
  return [heads.status, push.status, push.status === 200 ? JSON.parse(push.body).stored : String(push.body)];
}));
check('nobody was refused', answers.every(([heads, push]) => heads === 200 && push === 200), JSON.stringify(answers.find(([heads, push]) => heads !== 200 || push !== 200) ?? ''));
check('every entry arrived', answers.reduce((sum, [, , stored]) => sum + stored, 0) === kPhones * kEntries, String(answers.reduce((sum, [, , stored]) => sum + stored, 0)));
console.log(`       the hub used ${hub.processorMs() - used} ms of processor time; load of the machine ${loadavg()[0].toFixed(1)} on ${cpus().length} cores`);
for (const [what, all] of Object.entries(times)) {
  all.sort((a, b) => a - b);
  console.log(`       ${what}: median ${all[50].toFixed(0)} ms, 99 of 100 within ${all[98].toFixed(0)} ms`);
}
const deadline = Date.now() + 20_000;
const heard = () => Math.min(...phones.map(marksOf));
await new Promise((resolve) => setTimeout(resolve, 1500));
while (heard() < kPhones * kEntries && Date.now() < deadline) await new Promise((resolve) => setTimeout(resolve, 2000));
// A device that brings more than 64 at once is told in part; these bring twenty.
check('every stream told of every entry', heard() >= kPhones * kEntries, `least ${heard()}`);
console.log(`       memory ${before} KiB before, ${hub.memoryKib()} KiB after`);
for (const stream of streams) stream.destroy();
hub.run('check');
await hub.stop();
finish();
