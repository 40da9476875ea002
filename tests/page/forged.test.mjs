// What strangers and devices send can make no line of its own in what the hub prints, nor colour or clear a terminal
// (CWE-117, CWE-150: output neutralised for logs and for terminals): addresses, headers, names, broken streams.

import net from 'node:net';
import { check, finish } from './checks.mjs';
import { Hub, NodePhone, request } from './node_phone.mjs';

const kForged = '\r\nrackside: forged line\u001b[2J\u001b]0;forged\u0007\u0085\u2028';

const hub = new Hub(process.argv[2]);
let said = '';
await hub.start({ hear: (text) => (said += text) });

// ---- to the hub's own screen

const phone = await NodePhone.join(hub, 'helper', 'Sefa');
const raw = (text) => new Promise((resolve) => {
  const socket = net.connect(hub.trustPort, '127.0.0.1', () => socket.end(text));
  let answer = '';
  socket.on('data', (data) => (answer += data));
  socket.on('close', () => resolve(answer));
  socket.on('error', () => resolve(answer));
});
for (const path of ['/%0D%0Arackside:%20forged%20line', '/forged\u001b[2J', '/v1/%1b[2Jforged']) await raw(`GET ${path} HTTP/1.1\r\nHost: localhost\r\n\r\n`);
await raw(`GET / HTTP/1.1\r\nHost: localhost\r\nUser-Agent: a\u001b[2J\nrackside: forged line\r\n\r\n`);
await raw(`GET / HTTP/1.1\r\nHost: evil\u001b[2Jforged\r\n\r\n`);
for (const body of [`${JSON.stringify({ rackside: 1, collection: kForged })}\n`, `{"error":"forged","message":${JSON.stringify(kForged)}}\n`, kForged])
  await phone.ask('/v1/push', { method: 'POST', body, agent: false });
await phone.ask('/v1/claim', { method: 'POST', body: `${JSON.stringify({ rack: kForged, by: kForged })}\n`, agent: false });
await request({ hub, path: `/v1/pairing?a=${encodeURIComponent(kForged)}&b=x`, token: phone.token });
const lines = said.split('\n');
check('no line of the hub is a stranger’s', lines.every((line) => !/^\s*rackside: forged/.test(line)), said);
check('no control character reaches its screen', !/[\u0000-\u0009\u000b-\u001f\u007f-\u009f]/.test(said), JSON.stringify(said));

// ---- to the lists of devices and entries

const named = await NodePhone.join(hub, 'helper', 'Bram', { name: `phone${kForged}` }).catch((error) => String(error));
const list = hub.run('devices');
check('a device’s name makes no line of its own', list.split('\n').every((line) => !/^\s*rackside: forged/.test(line)), list);
check('nor a control character', !/[\u0000-\u0009\u000b-\u001f\u007f-\u009f]/.test(list), JSON.stringify(list));
check('a name like that is mended, or refused', typeof named !== 'string' || /refused/.test(named), String(named));
const animal = hub.json('show', 'C-1').code;
await phone.record({ kind: 'ill', of: [animal], own: { signs: kForged } }).catch(() => undefined);
await phone.push();
for (const words of [['history', 'C-1'], ['show', 'C-1'], ['today'], ['questions']]) {
  const text = hub.run(...words);
  check(`\`${words[0]}\` shows no control character of an entry`, !/[\u0000-\u0009\u000b-\u001f\u007f-\u009f]/.test(text), JSON.stringify(text));
}
hub.run('check');

await hub.stop();
finish();
