// What was saved stays saved: killed browsers, full and refused storage, wrong clocks, updates, a hub that was restarted,
// renewed, or restored.

import { execFileSync } from 'node:child_process';
import { mkdirSync, rmSync } from 'node:fs';
import { eventually, finish, holds, Hub, join, Phone, same, test } from './support.mjs';
import { NewerPage } from './newer_page.mjs';

const kKills = process.env.RACKSIDE_FULL ? 100 : 20;

const hub = new Hub();
await hub.start();
const authority = (await hub.authority()).bytes;

await test(`a browser killed after "saved" at ${kKills} random moments has lost nothing`, async () => {
  const phone = await Phone.create({ authority });
  await phone.join(hub, hub.invite('Sefa'));
  await hub.stop();
  const animal = hub.code('C-1');
  let told = 0;
  let lost = false;
  let runs = 0;
  const seed = Date.now();
  let random = seed;
  const draw = (most) => ((random = (random * 48271) % 2147483647), random % most);
  for (let i = 0; i < kKills; i += 1) {
    if (i > 0) await phone.open();
    await phone.context.exposeBinding('told', (_, seq) => (told = Math.max(told, seq)));
    await phone.page.goto(`${hub.url}/`);
    await phone.page.locator('html[data-ready]').waitFor();
    const [found, rescued] = await phone.page.evaluate(async () => {
      const { phone: own } = await import('/phone.mjs');
      return [own.head?.seq ?? 0, own.rescued.at(-1)?.seq ?? 0];
    });
    if (found === 0) {
      // Chromium threw its damaged database away; what was not sent is in the second copy.
      console.log(`       the browser lost its store after ${i} kills; ${rescued} of ${told} entries were rescued`);
      holds(rescued >= told, `seed ${seed}: ${told} were told saved, ${rescued} were rescued`);
      lost = true;
      break;
    }
    holds(found >= told, `seed ${seed}: ${told} were told saved, ${found} are there`);
    runs += 1;
    // Entries as fast as they go, each told once its promise is kept.
    await phone.page.evaluate((id) => {
      (async () => {
        const { phone: own } = await import('/phone.mjs');
        for (;;) {
          const entry = await own.save({ draft: { kind: 'watered', of: [id] }, animals: [id], warnings: [], notices: [] });
          window.told(entry.seq);
        }
      })();
    }, animal);
    const before = told;
    await eventually(() => told > before, 'an entry was saved', 5000);
    await new Promise((resolve) => setTimeout(resolve, draw(250)));
    await phone.kill();
  }
  if (!lost) await phone.open();
  await hub.start();
  await phone.page.goto(`${hub.url}/`);
  if (lost) await phone.join(hub, hub.invite('Sefa'));
  await phone.sent();
  const arrived = () => hub.story('C-1').filter((line) => line.kind === 'watered').length;
  // The first entries of a device are its key and its clock's marks.
  await eventually(() => arrived() >= told - 2 - runs, 'all that was told arrived', 30_000);
  hub.run('check');
  await phone.close();
});

await test('a store that the browser lost is said, and what was not sent is rescued', async () => {
  const phone = await Phone.create({ authority });
  await phone.join(hub, hub.invite('Nils'));
  await hub.stop();
  await phone.type(hub.code('A-04'));
  await phone.page.getByRole('article', { name: 'C-4' }).waitFor();
  await phone.tap('Shed');
  await phone.saved().waitFor();
  await phone.close();
  rmSync(join(phone.home, 'profile/Default/IndexedDB'), { recursive: true });
  await hub.start();
  await phone.open();
  await phone.page.goto(`${hub.url}/`);
  await phone.page.getByText(/1 entry was rescued|2 entries were rescued/).waitFor();
  await phone.join(hub, hub.invite('Nils'));
  await eventually(() => hub.story('C-4')[0].kind === 'shed', 'the rescued entry arrived');
  hub.run('check');
  await phone.close();
});

await test('a gap in the second copy is closed at the next start', async () => {
  const phone = await Phone.create({ authority });
  await phone.join(hub, hub.invite('Pia'));
  await hub.stop();
  const animal = hub.code('C-3');
  await phone.page.evaluate(async (id) => {
    const { phone: own } = await import('/phone.mjs');
    const save = () => own.save({ draft: { kind: 'cleaned', of: [id] }, animals: [id], warnings: [], notices: [] });
    await save();
    const gap = await save();
    await save();
    const cache = await caches.open('rackside-outbox');
    const keys = await cache.keys();
    await cache.delete(keys.find((request) => request.url.endsWith(String(gap.seq).padStart(10, '0'))));
  }, animal);
  await phone.kill();
  await phone.open();
  await phone.page.goto(`${hub.url}/`);
  await phone.page.locator('html[data-ready]').waitFor();
  await phone.close();
  rmSync(join(phone.home, 'profile/Default/IndexedDB'), { recursive: true });
  await hub.start();
  await phone.open();
  await phone.page.goto(`${hub.url}/`);
  await phone.page.getByText(/[34] entries were rescued/).waitFor();
  await phone.join(hub, hub.invite('Pia'));
  await eventually(() => hub.story('C-3').filter((line) => line.kind === 'cleaned').length === 3, 'all three arrived');
  await phone.close();
});

await test('two tabs of one phone write one line', async () => {
  const phone = await Phone.create({ authority });
  await phone.join(hub, hub.invite('Bram'));
  const other = await phone.context.newPage();
  await other.goto(`${hub.url}/`);
  await other.locator('.finder').waitFor();
  const animal = hub.code('C-2');
  const write = (page) => page.evaluate(async (id) => {
    const { phone: own } = await import('/phone.mjs');
    for (let i = 0; i < 20; i += 1) await own.save({ draft: { kind: 'cleaned', of: [id] }, animals: [id], warnings: [], notices: [] });
  }, animal);
  await Promise.all([write(phone.page), write(other)]);
  await eventually(() => hub.story('C-2').filter((line) => line.kind === 'cleaned').length === 40, 'all forty came');
  holds(hub.json('devices').every((device) => device.lines === 1), 'a device forked');
  await phone.close();
});

await test('a full store is said at the tap, and nothing is called saved', async () => {
  const phone = await Phone.create({ authority });
  await phone.join(hub, hub.invite('Ilka'));
  await phone.page.evaluate(() => {
    IDBObjectStore.prototype.add = () => {
      throw new DOMException('full', 'QuotaExceededError');
    };
  });
  await phone.type(hub.code('A-03'));
  await phone.tap('Refused');
  await phone.page.getByRole('alert').getByText('NOT saved').waitFor();
  same(await phone.page.locator('.saved').count(), 0);
  await phone.close();
});

await test('a browser that refuses to store is told at once', async () => {
  const phone = await Phone.create({ authority });
  await phone.context.addInitScript(() => {
    IDBFactory.prototype.open = () => {
      throw new DOMException('denied', 'SecurityError');
    };
  });
  await phone.page.goto(`${hub.url}/`);
  await phone.page.getByText('This browser keeps nothing').waitFor();
  await phone.close();
});

await test('a clock that is a day ahead is said on the phone and put right by the hub', async () => {
  const phone = await Phone.create({ authority });
  const join_code = hub.invite('Anselm');
  await phone.context.addInitScript(() => {
    const right = Date.now.bind(Date);
    Date.now = () => right() + 86_400_000;
  });
  await phone.join(hub, join_code);
  await phone.page.getByText('Clock 24 hours ahead').first().waitFor();
  await phone.type(hub.code('A-04'));
  await phone.tap('Fed');
  await phone.saved().waitFor();
  await phone.sent();
  await eventually(() => hub.story('C-4')[0].kind === 'fed', 'it came');
  const [line] = hub.story('C-4');
  same(line.sure, true, 'checked');
  holds(Math.abs(line.at_ms - Date.now()) < 60_000, `put right: ${line.at_ms - Date.now()} ms off`);
  holds(line.device_clock_ms - Date.now() > 86_000_000, 'the raw clock stays as it stood');
  await phone.close();
});

await test('a newer page is taken at the person’s tap, with unsent entries, and loses none', async () => {
  const front = new NewerPage(hub);
  await front.listen();
  const phone = await Phone.create({ authority });
  await phone.join({ url: front.url }, hub.invite('Meret'));
  await phone.isWhole();
  await hub.stop();
  await phone.type(hub.code('B-01'));
  await phone.tap('Refused');
  await phone.saved().waitFor();
  holds(/1 unsent/.test(await phone.page.locator('.strip').textContent()), 'one waits');
  await hub.start();
  front.isNewer = true;
  await phone.page.evaluate(async () => (await navigator.serviceWorker.ready).update());
  await phone.page.getByText('A newer page is here').waitFor();
  same(await phone.page.locator('html').getAttribute('data-page'), null, 'nothing changes by itself:');
  await Promise.all([phone.page.waitForEvent('load'), phone.tap('Take it')]);
  await phone.page.locator('html[data-page="newer"]').waitFor();
  await phone.sent();
  await eventually(() => hub.story('C-5')[0].kind === 'refused', 'the entry came');
  await phone.isWhole();
  phone.noComplaints();
  await phone.close();
  front.close();
});

await test('a decoder that the first visit did not get is said to be missing, and comes by itself', async () => {
  const front = new NewerPage(hub);
  await front.listen();
  front.cut.add('/library/reader.wasm');
  const phone = await Phone.create({ authority });
  await phone.join({ url: front.url }, hub.invite('Meret'));
  const missing = phone.page.getByText('The reader is not on this phone yet');
  await missing.waitFor();
  await phone.type(hub.code('B-01'));
  await phone.tap('Refused');
  await phone.saved().waitFor();
  await phone.go('scan');
  front.cut.clear();
  await missing.waitFor({ state: 'detached' });
  await phone.isWhole();
  await phone.close();
  front.close();
});

await test('a device that was retired keeps its entries, says why they are refused, and hands them out as a file', async () => {
  const phone = await Phone.create({ authority });
  await phone.join(hub, hub.invite('Tove'));
  const mine = await phone.page.evaluate(async () => (await import('/phone.mjs')).phone.head.device);
  hub.run('retire', mine);
  await phone.type(hub.code('B-02'));
  await phone.tap('Refused');
  await phone.saved().waitFor();
  await phone.page.getByText('Removed by the keeper').waitFor();
  await phone.go('more');
  await phone.page.getByText('Nothing is deleted').waitFor();
  const [file] = await Promise.all([phone.page.waitForEvent('download'), phone.tap('As a file')]);
  const path = join(hub.folder, 'outbox.bundle');
  await file.saveAs(path);
  await hub.stop();
  hub.run('sync', '--in', path);
  await hub.start();
  holds(hub.json('questions').some((question) => question.rule === 'unread'), 'the book keeps it and asks the keeper');
  await phone.close();
});

await test('a restarted hub with a renewed leaf needs nothing from a phone', async () => {
  const old = new Hub();
  // A year ago, so that its leaf has less than thirty days left now.
  const past = { FAKETIME: '-370d', LD_PRELOAD: '/usr/lib/x86_64-linux-gnu/faketime/libfaketimeMT.so.1', FAKETIME_DONT_FAKE_MONOTONIC: '1' };
  const library = execFileSync('sh', ['-c', 'ls /usr/lib/*/faketime/libfaketimeMT.so.1 | head -n 1'], { encoding: 'utf8' }).trim();
  Object.assign(process.env, past, { LD_PRELOAD: library });
  let invitation;
  try {
    await old.start();
    invitation = old.invite('Sefa');
  } finally {
    for (const name of Object.keys(past)) delete process.env[name];
  }
  const leafOf = () => execFileSync('sh', ['-c', `openssl s_client -connect ${new URL(old.url).host} </dev/null 2>/dev/null | openssl x509 -noout -enddate -fingerprint`], { encoding: 'utf8' });
  const before = leafOf();
  const phone = await Phone.create({ authority: (await old.authority()).bytes });
  await phone.join(old, invitation);
  await old.stop();
  await old.start();
  holds(leafOf() !== before, 'the leaf was renewed');
  await phone.page.reload();
  await phone.sent();
  await phone.type(old.code('A-01'));
  await phone.page.getByRole('article', { name: 'C-1' }).waitFor();
  await phone.tap('Fed');
  await phone.saved().waitFor();
  await eventually(() => old.story('C-1')[0]?.kind === 'fed', 'the entry came over the new leaf');
  phone.noComplaints();
  await phone.close();
  await old.stop();
});

await test('a hub restored from its backup gets back what the phones hold', async () => {
  const phone = await Phone.create({ authority });
  await phone.join(hub, hub.invite('Runa'));
  const backups = join(hub.folder, 'backups');
  mkdirSync(backups);
  hub.run('backup', backups);
  await phone.type(hub.code('A-02'));
  await phone.tap('Shed');
  await phone.saved().waitFor();
  await phone.sent();
  await eventually(() => hub.story('C-2')[0].kind === 'shed', 'it came');
  await hub.stop();
  const copy = execFileSync('sh', ['-c', `ls ${backups}/*.book`], { encoding: 'utf8' }).trim().split('\n')[0];
  for (const ending of ['', '-wal', '-shm', '-lock', '-hub.keys']) rmSync(`${hub.book}${ending}`, { force: true });
  hub.run('restore', copy);
  await hub.start();
  await phone.page.reload();
  await eventually(() => hub.story('C-2')[0]?.kind === 'shed', 'the lost day came back', 40_000);
  await phone.sent();
  phone.noComplaints();
  hub.run('check');
  await phone.close();
});

await finish();
