// Every route of the hub for every role, for a retired device, for a wrong token and for none: who may do what is one
// table here, held against the running program. A route that the program has and the table lacks fails.

import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { check, finish } from './checks.mjs';
import { Hub, NodePhone, request } from './node_phone.mjs';

const source = join(dirname(fileURLToPath(import.meta.url)), '../../sync/hub/hub.cpp');
const hub = new Hub(process.argv[2]);
await hub.start();

const everyone = ['none', 'wrong', 'retired', 'viewer', 'helper', 'keeper'];
const kRoutes = [
  { method: 'GET', path: '/v1/hello', may: everyone },
  { method: 'POST', path: '/v1/heads', may: ['viewer', 'helper', 'keeper'] },
  { method: 'POST', path: '/v1/pull', may: ['viewer', 'helper', 'keeper'] },
  { method: 'POST', path: '/v1/ladders', may: ['viewer', 'helper', 'keeper'] },
  { method: 'POST', path: '/v1/push', may: ['helper', 'keeper'] },
  { method: 'GET', path: '/v1/aisle', may: ['viewer', 'helper', 'keeper'] },
  { method: 'GET', path: '/v1/live', may: ['viewer', 'helper', 'keeper'], endless: true },
  { method: 'POST', path: '/v1/claim', may: ['helper', 'keeper'] },
  { method: 'GET', path: '/v1/devices', may: ['keeper'] },
  { method: 'POST', path: '/v1/retire', may: ['keeper'] },
  { method: 'GET', path: '/v1/pairing', may: ['viewer', 'helper', 'keeper'] },
  { method: 'POST', path: '/v1/photo', may: ['helper', 'keeper'] },
  { method: 'GET', path: '/v1/labels', may: ['keeper'] },
  { method: 'POST', path: '/v1/labels', may: ['keeper'] },
  { method: 'POST', path: '/v1/join', may: everyone },
];

const phones = { retired: await NodePhone.join(hub, 'keeper', 'Bram'), viewer: await NodePhone.join(hub, 'viewer'), helper: await NodePhone.join(hub, 'helper', 'Sefa'), keeper: await NodePhone.join(hub, 'keeper', 'Ilka') };
check('a joined phone pushes', (await phones.retired.push()).status === 200);
check('retired by a keeper’s page', (await phones.keeper.ask('/v1/retire', { method: 'POST', body: JSON.stringify({ device: phones.retired.keys.device }) + '\n' })).status === 200);

/** The status alone: an endless answer is left as soon as it began. */
function statusOf(route, token, phone) {
  const body = route.method === 'POST' ? (route.path === '/v1/push' ? '{}\n' : (phone ?? phones.viewer).vector()) : undefined;
  const asked = request({ hub, path: route.path, method: route.method, token, body });
  if (!route.endless) return asked.then((answer) => answer.status);
  return Promise.race([asked.then((answer) => answer.status), new Promise((resolve) => setTimeout(() => resolve(200), 400))]);
}

for (const route of kRoutes) {
  for (const who of everyone) {
    const token = who === 'none' ? undefined : who === 'wrong' ? 'ab'.repeat(32) : phones[who].token;
    const status = await statusOf(route, token, phones[who]);
    const refused = who === 'viewer' || who === 'helper' || who === 'keeper' ? 403 : 401;
    const may = route.may.includes(who);
    // What is let in may still be turned down for what it says; only 401 and 403 speak of who asks.
    check(`${route.method} ${route.path} by ${who}`, may ? status !== 401 && status !== 403 : status === refused, `gave ${status}`);
  }
}

const told = [...readFileSync(source, 'utf8').matchAll(/server\.route\("(\w+)", "([^"]+)"/g)].map((found) => `${found[1]} ${found[2]}`);
for (const route of told) check(`the table has a row for ${route}`, kRoutes.some((row) => `${row.method} ${row.path}` === route));
check('the table has no row too many', told.length === kRoutes.length, `${told.length} routes`);

// ---- what every answer carries

const front = await request({ hub, path: '/' });
check('the page is sent', front.status === 200 && /text\/html/.test(front.headers['content-type']) && front.headers['content-encoding'] === 'gzip');
const policy = front.headers['content-security-policy'];
check('nothing foreign, no framing, no WebAssembly in the page', /default-src 'none'/.test(policy) && /frame-ancestors 'none'/.test(policy) && !/unsafe|\*|https?:/.test(policy), policy);
check('types are not guessed', front.headers['x-content-type-options'] === 'nosniff' && front.headers['x-frame-options'] === 'DENY');
check('the page may be asked for again cheaply', (await request({ hub, path: '/', headers: { 'If-None-Match': front.headers.etag } })).status === 304);
const worker = await request({ hub, path: '/scan/reader_worker.mjs' });
check('only the decoder may compile WebAssembly', /'wasm-unsafe-eval'/.test(worker.headers['content-security-policy']));
check('each answer has one policy', !front.headers['content-security-policy'].includes(', default-src'));
check('a foreign host name is refused', (await request({ hub, path: '/v1/hello', headers: { Host: 'evil.example' } })).status === 421);
check('a foreign page’s request is refused', (await phones.keeper.ask('/v1/claim', { method: 'POST', body: '{}', headers: { Origin: 'https://evil.example', 'Sec-Fetch-Site': 'cross-site' } })).status === 403);
check('a token in the address counts for nothing', (await request({ hub, path: `/v1/aisle?token=${phones.keeper.token}` })).status === 401);
check('the plain page has no routes of the hub', (await request({ hub, path: '/v1/hello', plain: true })).status === 404);

const label = hub.json('show', 'A-01').code;
check('a label’s link opens the page', (await request({ hub, path: `/${label}` })).status === 200);
check('what is no label’s link is nothing', (await request({ hub, path: '/T7K2M9QX4Z' })).status === 404 && (await request({ hub, path: '/v1/nothing' })).status === 404);

// ---- the sheet for new phones, read by another decoder than ours

const sheet = join(hub.folder, 'sheet');
const invitation = hub.json('invite', '--sheet', `${sheet}.pdf`, '--png', sheet);
execFileSync('pdftoppm', ['-r', '150', '-png', '-singlefile', `${sheet}.pdf`, sheet]);
const decoded = (path) => execFileSync('zbarimg', ['--raw', '-q', path], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] }).trim();
check('the sheet leads to the plain page', decoded(`${sheet}.png`) === invitation.trust_url);
check('the pictures hold both codes', decoded(`${sheet}-1-trust.png`) === invitation.trust_url && decoded(`${sheet}-2-join.png`) === invitation.link);
const printed = execFileSync('pdftotext', ['-layout', `${sheet}.pdf`, '-'], { encoding: 'utf8' });
check('the sheet shows the fingerprint, and nothing is cut', printed.replace(/\s/g, '').includes(hub.sha256.replace(/\s/g, '')) && !printed.includes('…'), printed);
check('the sheet holds no secret', !printed.includes(invitation.code.slice(0, 9)));

// ---- the aisle's copy

const lines = (answer) => answer.body.toString().trimEnd().split('\n').map((line) => JSON.parse(line));
const whole = lines(await phones.helper.ask('/v1/aisle'));
check('the copy is counted', whole.at(-1).end === whole.length - 2);
check('the copy names no one’s notes and keys', !/salt|secret|token/.test(JSON.stringify(whole)));
const version = whole[0].aisle;
check('nothing new is two lines', lines(await phones.helper.ask(`/v1/aisle?since=${version}`)).length === 2);
await phones.helper.record({ kind: 'weighed', of: [hub.json('show', 'C-1').code], own: { grams_tenths: 3880 }, by: phones.helper.by });
check('an entry is taken', (await phones.helper.push()).status === 200);
const news = lines(await phones.helper.ask(`/v1/aisle?since=${version}`));
check('only what changed travels', news.length === 3 && news[1].grams_tenths === 3880, JSON.stringify(news));
check('the phone is told what the copy holds of it', news[0].mine[1] === phones.helper.head.seq);
check('a version of another start gives the whole', lines(await phones.helper.ask('/v1/aisle?since=0011223344556677.3'))[0].since === '');
check('repeating a push changes nothing', JSON.parse((await phones.helper.push()).body).stored === 0);
hub.run('check');

// ---- what the keeper sees of devices

const deviceLines = async () => lines(await phones.keeper.ask('/v1/devices'));
const lineOf = async (phone) => (await deviceLines()).find((line) => line.device === phone.keys.device);
const oldest = Date.now() - 3_600_000;
await phones.helper.ask(`/v1/aisle?unsent=3&oldest=${oldest}`);
const loaded = await lineOf(phones.helper);
check('what waits on a phone is shown, and since when', loaded.unsent === 3 && loaded.oldest === oldest, JSON.stringify(loaded));
check('who uses it, and when it was heard', loaded.person === 'Sefa' && Math.abs(Date.now() - loaded.seen) < 60_000, JSON.stringify(loaded));
await phones.helper.ask('/v1/heads', { method: 'POST', body: phones.helper.vector() });
check('another exchange forgets nothing of it', (await lineOf(phones.helper)).unsent === 3);
check('the clock’s offset is shown', Math.abs((await lineOf(phones.helper)).offset) < 60_000);
await phones.viewer.ask(`/v1/aisle?device=${phones.helper.keys.device}&unsent=99`);
check('of another device nobody tells', (await lineOf(phones.helper)).unsent === 3);
check('the hub’s own screen knows it too', hub.json('devices').find((one) => one.device === phones.helper.keys.device).unsent === 3);
const heard = new Promise((resolve) => statusOf({ path: '/v1/live', method: 'GET', endless: true }, phones.helper.token, phones.helper).then(resolve));
await heard;
check('who listens now is here', (await lineOf(phones.helper)).here === true);
await phones.helper.ask('/v1/aisle?unsent=0');
check('once it has sent, nothing waits', (await lineOf(phones.helper)).unsent === 0 && hub.json('devices').find((one) => one.device === phones.helper.keys.device).unsent === 0);
check('a count that is none changes nothing', (await phones.helper.ask('/v1/aisle?unsent=-4&oldest=x')).status === 200 && (await lineOf(phones.helper)).unsent === 0);

await hub.stop();
finish();
