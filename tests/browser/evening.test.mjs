// One helper's evening from beginning to end, with a real hub, a real authority, a real browser.

import { eventually, finish, holds, Hub, Phone, same, test } from './support.mjs';

const hub = new Hub();
await hub.start();
const authority = await hub.authority();

let phone;

await test('the plain page hands out the authority, and only that', async () => {
  same(authority.type, 'application/x-x509-ca-cert');
  const stranger = await Phone.create();
  const { page } = stranger;
  await page.goto(hub.trustUrl);
  await page.getByText('Compare', { exact: true }).waitFor();
  same((await page.locator('.sha').textContent()).replaceAll(' ', ''), hub.sha256.replaceAll(' ', ''));
  await page.getByRole('button', { name: 'Did it work?' }).click();
  await page.getByRole('alert').waitFor();
  const refused = await page.goto(`${hub.url}/`).catch((error) => String(error));
  holds(/ERR_CERT_AUTHORITY_INVALID/.test(String(refused)), `an untrusted hub opened: ${refused}`);
  for (const path of ['/v1/hello', '/v1/aisle', '/app.mjs']) same((await page.request.get(`${hub.trustUrl.slice(0, -1)}${path}`)).status(), 404, path);
  await stranger.close();
});

await test('a phone that trusts the authority is told so, and joins by the typed code', async () => {
  phone = await Phone.create({ authority: authority.bytes });
  await phone.page.goto(hub.trustUrl);
  await phone.page.getByRole('button', { name: 'Did it work?' }).click();
  await phone.page.getByText('It worked').waitFor();
  await phone.join(hub, hub.invite('Sefa'));
  await eventually(async () => (await phone.page.locator('.by').textContent()) === 'Sefa', 'the helper is named');
});

await test('the second code, opened as a link by the phone’s own camera app, fills the form in', async () => {
  const other = await Phone.create({ authority: authority.bytes });
  await other.page.goto(hub.invite('Bram').link);
  await other.page.getByText('Tap Join').waitFor();
  await other.page.getByRole('button', { name: 'Join', exact: true }).click();
  await other.sent();
  other.noComplaints();
  await other.close();
});

await test('a meal is two taps from the scan, and reaches the hub', async () => {
  await phone.type(hub.code('A-01'));
  await phone.page.getByRole('article', { name: 'C-1' }).waitFor();
  await phone.tap('Fed');
  await phone.saved().waitFor();
  holds((await phone.saved().textContent()).includes('C-1 ate small rat'), await phone.saved().textContent());
  await phone.sent();
  const [line] = hub.story('C-1');
  same(line.kind, 'fed');
  same(line.by, 'Sefa');
});

await test('undo takes the last entry back, on the hub too', async () => {
  await phone.tap('Undo');
  await phone.page.getByText('Taken back').waitFor();
  await phone.sent();
  await eventually(() => hub.story('C-1').some((line) => line.kind === 'fed' && line.state === 'withdrawn'), 'the meal is withdrawn');
});

await test('away from the hub everything goes on, after a restart of the browser too', async () => {
  await hub.stop();
  await phone.type(hub.code('A-02'));
  await phone.tap('Fed');
  await phone.saved().waitFor();
  await phone.close();
  await phone.open();
  await phone.page.goto(`${hub.url}/`);
  await phone.page.locator('.finder').waitFor();
  holds(/1 unsent/.test(await phone.page.locator('.strip').textContent()), await phone.page.locator('.strip').textContent());
  await phone.type(hub.code('A-03'));
  await phone.page.getByRole('article', { name: 'C-3' }).waitFor();
  await phone.tap('Refused');
  await phone.saved().waitFor();
  await hub.start();
  await phone.sent();
  same(hub.story('C-2')[0].kind, 'fed');
  same(hub.story('C-3')[0].kind, 'refused');
});

await test('a label’s link, opened by the phone’s own camera app, shows its tub', async () => {
  await phone.page.goto(`${hub.url}/${hub.code('A-04')}`);
  await phone.page.getByRole('article', { name: 'C-4' }).waitFor();
});

await test('a round saves every scan at once', async () => {
  await phone.go('round');
  await phone.page.getByRole('group', { name: 'What for every scan?' }).getByRole('button', { name: 'Offered' }).click();
  await phone.tap('Begin');
  for (const place of ['B-01', 'B-02']) {
    await phone.type(hub.code(place));
    await phone.page.locator('.saved', { hasText: place === 'B-01' ? 'C-5' : 'C-6' }).waitFor();
  }
  same(await phone.page.locator('.count').textContent(), '2');
  await phone.tap('End');
});

await test('in the morning the leftovers are scanned, and the rest of the rack ate', async () => {
  await phone.go('round');
  await phone.page.getByRole('group', { name: 'What for every scan?' }).getByRole('button', { name: 'Leftover' }).click();
  await phone.tap('Begin');
  await phone.type(hub.code('B-02'));
  await phone.page.locator('.saved', { hasText: 'C-6' }).waitFor();
  await phone.tap('The rest of rack B ate (1)');
  await phone.page.locator('.saved', { hasText: 'The rest of rack B' }).waitFor();
  await phone.tap('End');
  await phone.sent();
  same(hub.story('C-5')[0].kind, 'ate');
  same(hub.story('C-6')[0].kind, 'leftover');
  same(hub.json('questions'), []);
  hub.run('check');
  phone.noComplaints();
});

await test('what was asked before a round, and not answered, is saved and no part of the round', async () => {
  await phone.type(hub.code('A-04'));
  await phone.tap('Fed');
  await phone.saved().waitFor();
  await phone.page.waitForTimeout(4_200); // sooner it would be one entry told twice
  await phone.type(hub.code('A-04'));
  await phone.tap('Fed');
  await phone.page.locator('.ask').waitFor();
  await phone.go('round');
  await phone.page.getByRole('group', { name: 'What for every scan?' }).getByRole('button', { name: 'Water' }).click();
  await phone.tap('Begin');
  await phone.page.locator('.count').waitFor();
  await phone.type(hub.code('B-01'));
  await phone.page.locator('.saved', { hasText: 'C-5' }).waitFor();
  same(await phone.page.locator('.count').textContent(), '1', 'count of the round:');
  await phone.tap('End');
  await phone.sent();
  same(hub.story('C-4').filter((one) => one.kind === 'fed').length, 2, 'meals of C-4 in the book:');
});

await test('a short ID that nothing has is told as such', async () => {
  await phone.type('ZZ');
  await phone.page.getByText('nothing here is called so').waitFor();
  phone.noComplaints();
});

await finish();
