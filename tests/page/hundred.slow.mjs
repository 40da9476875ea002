// A hundred phones at once, each from an address of its own, all holding live streams, all sending twenty entries in the
// same moment: none is refused, every entry arrives once, and every stream tells of all others. The times are printed,
// not judged: they depend on the machine.

import https from 'node:https';
import { Hub, NodePhone } from './node_phone.mjs';

const kPhones = 100;
const kEntries = 20;

const hub = new Hub(process.argv[2]);
await hub.start();
let passed = 0;
let failed = 0;
function check(name, condition, detail = '') {
  if (condition) passed += 1;
  else failed += 1;
  console.log(`${condition ? 'ok    ' : 'FAILED'} ${name} ${detail}`);
}

const animal = hub.json('show', 'C-1').code;
const phones = [];
for (let i = 0; i < kPhones; i += 1) phones.push(await NodePhone.join(hub, 'helper', '', { from: `127.0.1.${i + 2}` }));
check('a hundred phones joined', phones.length === kPhones);

/** Counts the marks that a phone hears. */
function listen(phone) {
  return new Promise((resolve, reject) => {
    const asked = https.request({ host: '127.0.0.1', port: hub.port, path: '/v1/live', ca: hub.ca, servername: 'localhost', localAddress: phone.from, headers: { Authorization: `Bearer ${phone.token}` } }, (answer) => {
      phone.marks = new Set();
      let rest = '';
      answer.on('data', (data) => {
        const lines = (rest + data).split('\n');
        rest = lines.pop();
        for (const line of lines) {
          const mark = line && JSON.parse(line).mark;
          if (mark) phone.marks.add(mark.ref);
          else if (line) resolve(asked);
        }
      });
      answer.on('error', () => {});
    });
    asked.on('error', reject);
    asked.end();
  });
}
const streams = await Promise.all(phones.map(listen));
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
const answers = await Promise.all(phones.map(async (phone) => {
  const heads = await timed('heads', () => phone.ask('/v1/heads', { method: 'POST', body: phone.vector() }));
  const push = await timed('push', () => phone.ask('/v1/push', { method: 'POST', body: phone.body }));
  return [heads.status, push.status, push.status === 200 ? JSON.parse(push.body).stored : String(push.body)];
}));
check('nobody was refused', answers.every(([heads, push]) => heads === 200 && push === 200), JSON.stringify(answers.find(([heads, push]) => heads !== 200 || push !== 200) ?? ''));
check('every entry arrived', answers.reduce((sum, [, , stored]) => sum + stored, 0) === kPhones * kEntries, String(answers.reduce((sum, [, , stored]) => sum + stored, 0)));
for (const [what, all] of Object.entries(times)) {
  all.sort((a, b) => a - b);
  console.log(`       ${what}: median ${all[50].toFixed(0)} ms, 99 of 100 within ${all[98].toFixed(0)} ms`);
}
const deadline = Date.now() + 20_000;
const heard = () => Math.min(...phones.map((phone) => phone.marks.size));
while (heard() < kPhones * kEntries && Date.now() < deadline) await new Promise((resolve) => setTimeout(resolve, 100));
// A device that brings more than 64 at once is told in part; these bring twenty.
check('every stream told of every entry', heard() >= kPhones * kEntries, `least ${heard()}`);
console.log(`       memory ${before} KiB before, ${hub.memoryKib()} KiB after`);
for (const stream of streams) stream.destroy();
hub.run('check');
await hub.stop();
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed > 0 ? 1 : 0);
