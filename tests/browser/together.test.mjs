// Several helpers at once: live marks, claims, accounts that disagree, and the answer that settles them everywhere.

import { execFileSync } from 'node:child_process';
import { eventually, finish, holds, Hub, join, Phone, program, same, test } from './support.mjs';

const hub = new Hub();
await hub.start();
const authority = (await hub.authority()).bytes;
const phones = {};
for (const [name, role] of [['Sefa', 'helper'], ['Bram', 'helper'], ['Ilka', 'keeper']]) {
  phones[name] = await Phone.create({ authority });
  await phones[name].join(hub, hub.invite(name, role));
}

await test('what one records, the others see within a second', async () => {
  const { Sefa, Bram } = phones;
  await Bram.go(`rack/${hub.code('A')}`);
  await Bram.page.getByRole('button', { name: /^A-01, C-1/ }).waitFor();
  await Sefa.type(hub.code('A-01'));
  await Sefa.tap('Fed');
  await Sefa.saved().waitFor();
  const begun = Date.now();
  await Bram.page.getByRole('button', { name: /^A-01, C-1.*Sefa was here/ }).waitFor();
  holds(Date.now() - begun < 1000, `it took ${Date.now() - begun} ms`);
  await Bram.page.getByRole('button', { name: /^A-01, C-1, done/ }).waitFor();
});

await test('what is entered at the hub itself is seen as soon', async () => {
  const { Bram } = phones;
  hub.run('log', 'watered', 'A-02');
  await Bram.page.getByRole('button', { name: /^A-02, C-2.*was here/ }).waitFor();
});

await test('a rack’s strip claims it, and the others see who is there', async () => {
  const { Sefa, Bram } = phones;
  await Sefa.type(hub.code('B'));
  await Sefa.page.getByText('You are here').waitFor();
  await Bram.go('racks');
  await Bram.page.getByText('Sefa is here').waitFor();
  await Sefa.tap('Done here');
  await Sefa.page.getByText('Nobody is here').waitFor();
  await eventually(async () => (await Bram.page.getByText('Sefa is here').count()) === 0, 'the rack is free again');
});

await test('a second meal that the screen shows is asked about, and “same” makes no question', async () => {
  const { Bram } = phones;
  await Bram.type(hub.code('A-01'));
  await Bram.page.getByRole('article', { name: 'C-1' }).waitFor();
  await Bram.tap('Fed');
  await Bram.page.getByRole('alertdialog').waitFor();
  await Bram.tap('Same one');
  await Bram.saved().waitFor();
  await Bram.sent();
  same(hub.json('questions'), []);
});

await test('three phones and a laptop tell of one tub unawares: one question, settled by a tap, seen by all', async () => {
  const { Sefa, Bram, Ilka } = phones;
  const laptop = join(hub.folder, 'cart.book');
  execFileSync(program, ['--book', laptop, 'join', hub.url, hub.invite('Tove').code], { stdio: 'pipe' });
  await hub.stop();
  const place = hub.code('A-03');
  for (const [phone, kind] of [[Sefa, 'Fed'], [Bram, 'Refused'], [Ilka, 'Fed']]) {
    await phone.type(place);
    await phone.page.getByRole('article', { name: 'C-3' }).waitFor();
    await phone.tap(kind, { exact: false });
    await phone.saved().waitFor();
  }
  execFileSync(program, ['--book', laptop, 'log', 'refused', 'A-03'], { stdio: 'pipe' });
  await hub.start();
  execFileSync(program, ['--book', laptop, 'sync'], { stdio: 'pipe' });
  for (const phone of Object.values(phones)) await phone.exchange();
  await eventually(() => hub.json('questions').length === 1 && hub.json('questions')[0].events.length === 4, 'one question');
  for (const phone of Object.values(phones)) await phone.exchange();
  for (const phone of Object.values(phones)) {
    await phone.go('questions');
    await phone.page.getByText('C-3: did it eat or refuse?').waitFor();
    holds((await phone.page.locator('.question').textContent()).includes('check the tub'), 'the belief is said');
  }
  await Bram.tap('It refused');
  await Bram.page.getByText('Settled:').waitFor();
  await Bram.sent();
  await eventually(() => hub.json('questions').length === 0, 'settled on the hub');
  for (const phone of [Sefa, Ilka]) {
    await phone.exchange();
    await phone.go('questions');
    await phone.page.getByText('No open question').waitFor();
  }
  execFileSync(program, ['--book', laptop, 'sync'], { stdio: 'pipe' });
  same(execFileSync(program, ['--book', laptop, 'check', '--digest'], { encoding: 'utf8' }), hub.run('check', '--digest'), 'digests:');
});

await test('a settled question can be opened again', async () => {
  await phones.Bram.tap('Undo');
  await eventually(() => hub.json('questions').length === 1, 'open again');
});

await test('two in one tub: the scan asks which, food warns', async () => {
  const { Ilka } = phones;
  hub.run('log', 'paired', 'C-2', 'C-1');
  await Ilka.exchange();
  await Ilka.type(hub.code('A-01'));
  await Ilka.page.getByText('2 animals are in this tub').waitFor();
  await Ilka.tap('Refused');
  await Ilka.page.getByRole('alertdialog').getByRole('button', { name: 'C-2' }).click();
  await Ilka.saved().waitFor();
  await Ilka.sent();
  same(hub.story('C-2')[0].kind, 'refused');
});

await test('a keeper sees the devices and retires one', async () => {
  const { Ilka, Sefa } = phones;
  const mine = await Sefa.page.evaluate(async () => (await import('/phone.mjs')).phone.head.device);
  await Ilka.go('more');
  await Ilka.page.getByRole('heading', { name: 'Devices' }).waitFor();
  same(await Sefa.page.getByRole('heading', { name: 'Devices' }).count(), 0);
  const { count } = { count: await Ilka.page.locator('.device').count() };
  holds(count >= 5, `${count} devices`);
  await Ilka.page.evaluate(async (device) => {
    const { phone } = await import('/phone.mjs');
    const { ask } = await import('/log/exchange.mjs');
    await ask('/v1/retire', { method: 'POST', token: phone.link.token, body: JSON.stringify({ device }) });
  }, mine);
  holds(hub.json('devices').find((device) => device.device === mine).retired, 'retired');
  for (const phone of Object.values(phones)) phone.noComplaints();
});

await finish();
