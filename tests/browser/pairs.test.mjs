// Genes on the phone: the odds on a card, and what a pairing may give before it is saved; without the hub no forecast, and
// the pairing is saved all the same.

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { eventually, finish, holds, Hub, Phone, same, test } from './support.mjs';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const hub = new Hub();
hub.run('animal', 'add', 'C-7', '--species', 'corn snake', '--sex', 'female', '--at', 'B-03');
hub.run('animal', 'add', 'C-8', '--species', 'corn snake', '--sex', 'male', '--at', 'B-04');
for (const young of ['C-7', 'C-8']) {
  hub.run('says', young, 'dam', 'C-3');
  hub.run('says', young, 'sire', 'C-4');
  hub.run('says', young, 'normal');
}
hub.run('says', 'C-4', 'het', 'amelanistic', '--basis', 'bought');
await hub.start();
const authority = (await hub.authority()).bytes;
const phone = await Phone.create({ authority });
const { page } = phone;
await phone.join(hub, hub.invite('Sefa'));
const paired = (name) => hub.story(name).filter((line) => line.kind === 'paired').length;

/** Scans the one, taps Paired, scans the other. */
async function propose(first, second) {
  await phone.type(hub.code(first));
  await page.locator('.card').waitFor();
  await phone.tap('Paired', { exact: true });
  await page.getByText('with whom?').waitFor();
  await phone.type(hub.code(second));
  await page.locator('.pair').waitFor();
}

await test('a card tells the odds, and what is only possible stays so', async () => {
  await eventually(async () => {
    await phone.exchange();
    await phone.type(hub.code('C-7'));
    return (await page.locator('.odds').count()) === 1;
  }, 'the odds have come');
  const text = await page.locator('.odds').innerText();
  holds(/66\.7 % het amel/.test(text), text);
  holds(!/certain/.test(text), text);
});

await test('before a pairing is saved stands what it may give, and how close the two are', async () => {
  await propose('C-7', 'C-8');
  await page.getByText('What it may give').waitFor();
  const text = await page.locator('.pair').innerText();
  holds(/Pair C-8 with C-7\?/.test(text), text);
  // Two sibs that each carry with two thirds, by the same parents: 4/9 × 1/4 of the young show it (Mendel 1866).
  holds(/11\.1 %\s*amel/.test(text), text);
  holds(/Inbreeding of the young: 25 %/.test(text) && /full sibs/.test(text), text);
  same(paired('C-7'), 0, 'nothing is saved yet:');
  await page.evaluate(axe);
  await page.waitForTimeout(950);
  same((await page.evaluate(async () => (await window.axe.run(document, { resultTypes: ['violations'] })).violations)).map((one) => one.id), []);
  await phone.tap('Save the pairing');
  await phone.saved().waitFor();
  await eventually(() => paired('C-7') === 1, 'the pairing is at the hub');
});

await test('who walks on without saving is told that nothing was saved', async () => {
  await propose('C-5', 'C-6');
  await phone.type(hub.code('C-1'));
  await page.getByText('The pairing of C-6 with C-5 was not saved.').waitFor();
  same(await page.locator('.pair').count(), 0);
  same(paired('C-5'), 0);
  await propose('C-5', 'C-6');
  await phone.tap('Cancel');
  same(await page.locator('.pair').count(), 0);
});

await test('without the hub there is no forecast, which is said, and the pairing is saved', async () => {
  await hub.stop();
  await propose('C-1', 'C-2');
  await page.getByText('Not connected: no forecast.').waitFor();
  await phone.tap('Save the pairing');
  await phone.saved().waitFor();
  await hub.start();
  await phone.exchange();
  await eventually(() => paired('C-1') === 1, 'the pairing is at the hub');
});

await phone.close();
await finish();
