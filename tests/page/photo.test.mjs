// Photos at the hub: what they say is read, and held against another reader (zbarimg); what is no photo, or would harm its
// reader, costs only itself; what comes too fast or too large is refused before it is read.

import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import * as zlib from 'node:zlib';
import { check, finish } from './checks.mjs';
import { Hub, NodePhone } from './node_phone.mjs';

const hub = new Hub(process.argv[2]);
await hub.start();

const phones = {};
for (const name of ['Sefa', 'Bram', 'Ilka']) phones[name] = await NodePhone.join(hub, 'helper', name);
// Each on a connection of its own: the hub closes one that is idle for two seconds.
const send = (phone, body) => phone.ask('/v1/photo', { method: 'POST', body, agent: false, headers: { 'Content-Type': 'image/jpeg' } });
const findings = (answer) => JSON.parse(answer.body.toString());

// ---- what is on it

const one = join(hub.folder, 'one.png');
hub.run('label', 'png', 'A-01', '--out', one);
const single = await send(phones.Sefa, readFileSync(one));
check('one label is read', single.status === 200 && findings(single).codes.join() === hub.json('show', 'A-01').code, String(single.body));

const sheet = join(hub.folder, 'sheet');
hub.run('label', 'places', '--out', `${sheet}.pdf`);
execFileSync('pdftoppm', ['-r', '150', '-jpeg', '-singlefile', `${sheet}.pdf`, sheet]);
const whole = findings(await send(phones.Sefa, readFileSync(`${sheet}.jpg`)));
const other = execFileSync('zbarimg', ['--raw', '-q', `${sheet}.jpg`], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] }).trim().split('\n');
check('every label of a sheet is read, as another reader does', whole.codes.length === 6 && JSON.stringify([...whole.codes].sort()) === JSON.stringify(other.sort()), JSON.stringify(whole));
check('in the order in which they stand', whole.codes[0] === hub.json('show', 'A-01').code && whole.codes[5] === hub.json('show', 'A-06').code);

// ---- what is none

/** A PNG from its parts: PNG specification (ISO/IEC 15948), section 5. */
function png(width, height, data) {
  const chunk = (type, body) => {
    const head = Buffer.alloc(8);
    head.writeUInt32BE(body.length);
    head.write(type, 4, 'latin1');
    const sum = Buffer.alloc(4);
    sum.writeUInt32BE(crc32Of(Buffer.concat([head.subarray(4), body])));
    return Buffer.concat([head, body, sum]);
  };
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width, 0);
  header.writeUInt32BE(height, 4);
  header[8] = 8; // bits, grey
  return Buffer.concat([Buffer.from('89504e470d0a1a0a', 'hex'), chunk('IHDR', header), chunk('IDAT', data), chunk('IEND', Buffer.alloc(0))]);
}
/** Node 18 has no crc32; ISO/IEC 15948, annex D. */
function crc32Of(bytes) {
  if (zlib.crc32) return zlib.crc32(bytes);
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit += 1) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  }
  return (crc ^ 0xffffffff) >>> 0;
}

const rows = Buffer.alloc(401 * 400, 200);
for (let row = 0; row < 400; row += 1) rows[row * 401] = 0; // each row says its filter first: none
const blank = await send(phones.Sefa, png(400, 400, zlib.deflateSync(rows)));
check('a picture without a label is an empty list', blank.status === 200 && String(blank.body) === '{"codes":[],"foreign":0,"unread":{}}\n', String(blank.body));
const refusals = {
  'what is no picture': Buffer.from('a photo, honestly'),
  'a picture that was cut off': readFileSync(`${sheet}.jpg`).subarray(0, 3000),
  'one that claims to be gigantic': png(60_000, 60_000, zlib.deflateSync(Buffer.alloc(1000))),
  'one that unpacks to a thousand times its size': png(20_000, 20_000, zlib.deflateSync(Buffer.alloc(20_001 * 20_000))),
};
for (const [what, body] of Object.entries(refusals)) {
  const answer = await send(phones.Sefa, body);
  const text = answer.body.toString();
  check(`${what} is turned down with a reason`, [400, 413, 422].includes(answer.status) && findings(answer).message.length > 20, `${answer.status} ${text}`);
  check(`${what} shows nothing of the hub’s insides`, !/\/tmp|\/proc|std::|\.cpp/.test(text), text);
}
check('an empty one too', (await send(phones.Sefa, Buffer.alloc(0))).status === 422);
check('the hub reads on', findings(await send(phones.Sefa, readFileSync(one))).codes.length === 1);

// ---- what is too much

const tooLarge = await send(phones.Bram, Buffer.alloc(8 * 1024 * 1024 + 1)).catch((error) => ({ status: 413, error }));
check('more than 8 MiB is refused', tooLarge.status === 413, String(tooLarge.status));
const atOnce = await Promise.all(Array.from({ length: 6 }, () => send(phones.Bram, readFileSync(`${sheet}.jpg`)).catch(() => ({ status: 503 }))));
const statuses = atOnce.map((answer) => answer.status);
check('of one device two are on their way at once', statuses.filter((status) => status === 200).length >= 2 && statuses.every((status) => [200, 503].includes(status)), statuses.join());
check('others are served meanwhile', (await send(phones.Ilka, readFileSync(one))).status === 200);
let many = 0;
for (let i = 0; i < 40; i += 1) {
  const answer = await send(phones.Ilka, Buffer.from('x'));
  if (answer.status === 429) {
    many = i;
    break;
  }
}
check('thirty in a minute are enough', many >= 25 && many <= 30, String(many));
check('which is one device’s own affair', (await send(phones.Sefa, readFileSync(one))).status === 200);
const processes = execFileSync('ps', ['-eo', 'ppid=,args='], { encoding: 'utf8' }).split('\n');
const children = processes.filter((line) => Number.parseInt(line, 10) === hub.process.pid);
check('no reader is left behind', children.length === 0, children.join());

await hub.stop();
finish();
