// The camera: a film of labels that the program printed, through the browser's own capture and the page's decoder.

import { eventually, finish, holds, Hub, join, Phone, same, test } from './support.mjs';
import { makeFilm } from './film.mjs';

const hub = new Hub();
await hub.start();
const authority = (await hub.authority()).bytes;

/** A label as the label printer gets it. */
function label(id) {
  const path = join(hub.folder, `${id}.png`);
  hub.run('label', 'png', id, '--out', path);
  return path;
}

await test('the second code is scanned inside the secure page', async () => {
  const picture = join(hub.folder, 'code');
  hub.json('invite', '--name', 'Bram', '--png', picture);
  const film = join(hub.folder, 'join.y4m');
  makeFilm(film, [`${picture}-2-join.png`]);
  const phone = await Phone.create({ authority, film });
  await phone.page.goto(`${hub.url}/`);
  await phone.tap('Scan the code');
  await phone.sent();
  await eventually(async () => (await phone.page.locator('.by').textContent()) === 'Bram', 'Bram has joined');
  phone.noComplaints();
  await phone.close();
});

await test('labels are read from the film, once each while they are held still; two taps save', async () => {
  const film = join(hub.folder, 'aisle.y4m');
  makeFilm(film, [label('A-01'), undefined, label('A-02'), undefined], 3);
  const phone = await Phone.create({ authority, film });
  await phone.join(hub, hub.invite('Sefa'));
  const { page } = phone;
  await page.evaluate(() => {
    window.signals = [];
    document.addEventListener('signal', (event) => window.signals.push(event.detail));
  });
  await phone.tap('Tap to scan');
  await page.getByRole('article', { name: 'C-1' }).waitFor();
  await page.waitForTimeout(900);
  same(await page.evaluate(() => window.signals), ['read'], 'held still, it was read');
  await phone.tap('Fed');
  await phone.saved().waitFor();
  await page.getByRole('article', { name: 'C-2' }).waitFor();
  holds((await page.locator('.read').textContent()) === 'A-02', 'the last read is shown large');
  await phone.sent();
  same(hub.story('C-1')[0].kind, 'fed');
  phone.noComplaints();
  await phone.close();
});

await test('a round by camera saves each label as it comes into view', async () => {
  const film = join(hub.folder, 'round.y4m');
  makeFilm(film, [undefined, label('B-01'), undefined, label('B-02'), undefined], 3);
  const phone = await Phone.create({ authority, film });
  await phone.join(hub, hub.invite('Ilka'));
  await phone.go('round');
  await phone.page.getByRole('group', { name: 'What for every scan?' }).getByRole('button', { name: 'Water' }).click();
  await phone.tap('Begin');
  await phone.tap('Tap to scan');
  await eventually(async () => (await phone.page.locator('.count').textContent()) === '2', 'two labels were saved', 25_000);
  await phone.sent();
  same(hub.story('C-5')[0].kind, 'watered');
  same(hub.story('C-6')[0].kind, 'watered');
  phone.noComplaints();
  await phone.close();
});

await finish();
