// What a helper sees of the animals' care: what speaks against an entry stands there before it is saved, each kind has its
// form, and what comes of an ill one, of an animal that died, of the freezer.

import { eventually, finish, holds, Hub, Phone, same, test } from './support.mjs';

const hub = new Hub();
hub.run('rack', 'add', 'Q', '--places', '2', '--quarantine');
hub.run('animal', 'add', 'Q-1', '--species', 'corn snake', '--at', 'Q-01');
const day = (days) => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);
hub.run('fast', 'set', 'C-2', day(-3), day(30), '--why', 'cooling');
hub.run('log', 'weighed', 'C-3', '412');
await hub.start();
const phone = await Phone.create({ authority: (await hub.authority()).bytes });
const { page } = phone;
await phone.join(hub, hub.invite('Sefa', 'keeper'));

const open = async (id, animal) => {
  await phone.type(hub.code(id));
  await page.getByRole('article', { name: animal }).waitFor();
};
const more = async (kind) => {
  await phone.tap('More …');
  await page.locator('.sheet').getByRole('button', { name: kind, exact: true }).click();
};
const press = async (text) => {
  for (const key of text) await page.locator(`[data-key="${key}"]`).click();
};
const save = () => page.locator('.sheet').getByRole('button', { name: 'Save', exact: true }).click();
/** The newest account of an animal, as the hub's book says it. */
const newest = async (id) => {
  await phone.sent();
  return hub.story(id)[0];
};

await test('a fast on purpose stands on the card, and on the buttons that feed', async () => {
  await open('A-02', 'C-2');
  await page.locator('.cautions').getByText('fasts on purpose').waitFor();
  holds(await page.locator('.act.fed.warned').count() === 1 && await page.locator('.act.refused.warned').count() === 0, 'only what feeds is marked');
  await phone.tap('Fed');
  await phone.saved().getByText('fasts on purpose until').waitFor();
  await phone.tap('Undo');
});

await test('a weight that cannot be is told while it is typed, and saved as it was said', async () => {
  await open('A-03', 'C-3');
  await phone.tap('Weigh');
  await press('410');
  same(await page.locator('.sheet .cautions').count(), 0, '410 g after 412 g:');
  await press('0');
  await page.locator('.sheet .cautions').getByText('weighed 412 g last time').waitFor();
  await save();
  await phone.saved().getByText('weighed 4,100 g').waitFor();
  same((await newest('C-3')).what, 'weighed 4100 g');
  await phone.tap('Undo');
});

await test('who ate today is not to be handled, which the pad says', async () => {
  await open('A-01', 'C-1');
  await phone.tap('Fed');
  await phone.saved().waitFor();
  await phone.tap('Something else of this one');
  await more('Palpated');
  await page.locator('.sheet .cautions').getByText('ate less than 48 hours ago').waitFor();
  await phone.tap('Not measured');
  await phone.saved().getByText('palpated').waitFor();
  await phone.sent();
});

await test('signs of an ill one are written as words, its neighbours are named, and its sale is warned of', async () => {
  await open('A-04', 'C-4');
  await more('Looks unwell');
  await page.locator('.sheet input').fill('  Mites  at the  Eyes ');
  await save();
  await phone.saved().getByText('looks unwell: mites at the eyes').waitFor();
  same((await newest('C-4')).what, 'looks unwell: mites at the eyes');
  await page.locator('.fact').getByText('Look at too').waitFor();
  await phone.tap('Something else of this one');
  await more('Sold');
  await page.locator('.sheet .cautions').getByText('may not be sold or shipped before a veterinarian').waitFor();
  await page.keyboard.press('Escape');
  await open('A-03', 'C-3');
  await page.locator('.cautions').getByText('near an ill one').waitFor();
  await phone.sent();
});

await test('eggs go into the incubator by either scale', async () => {
  await open('A-03', 'C-3');
  await more('Incubator');
  await page.locator('.sheet').getByRole('button', { name: '°C' }).click();
  await press('28.5');
  await save();
  await phone.saved().getByText('has its eggs at 28.5 °C').waitFor();
  same((await newest('C-3')).what, 'has its eggs at 28.5 °C');
  await page.waitForTimeout(4100); // sooner it would be one entry told twice
  await open('A-03', 'C-3');
  await more('Incubator');
  await page.locator('.sheet').getByRole('button', { name: '°F' }).click();
  await press('83');
  await save();
  await phone.saved().getByText('has its eggs at 28.3 °C').waitFor(); // (83 − 32) · 5 / 9
  same((await newest('C-3')).what, 'has its eggs at 28.3 °C');
});

await test('an egg’s number, uncounted eggs, and where a shed is stuck', async () => {
  await open('A-03', 'C-3');
  await more('Hatched');
  await press('1');
  await save();
  await page.getByRole('heading', { name: 'Which egg?' }).waitFor();
  await press('7');
  await save();
  await phone.saved().getByText('1 hatched (egg 7)').waitFor();
  same((await newest('C-3')).what, '1 hatched (egg 7)');
  await open('B-01', 'C-5');
  await phone.tap('Laid');
  await phone.tap('Not counted');
  await phone.saved().waitFor();
  same((await newest('C-5')).what, 'laid, eggs not counted');
  await phone.tap('Undo');
  await open('B-01', 'C-5');
  await more('Stuck shed');
  await phone.tap('eye cap');
  await phone.saved().getByText('shed, stuck: eye cap').waitFor();
  same((await newest('C-5')).what, 'shed, stuck: eye cap');
});

await test('from quarantine to another rack: wash first', async () => {
  await open('Q-01', 'Q-1');
  await phone.tap('Refused');
  await phone.saved().waitFor();
  await open('A-01', 'C-1');
  await page.locator('.cautions').getByText('Your last entry was in quarantine, at Q-01').waitFor();
  await more('Water');
  await page.locator('.sheet .cautions').getByText('wash and change').waitFor();
  await phone.tap('Save all the same');
  await phone.saved().waitFor();
  await open('A-02', 'C-2');
  same(await page.getByText('Your last entry was in quarantine').count(), 0, 'after an entry elsewhere');
});

await test('an animal that died stays on the phone with what the book says of it', async () => {
  hub.run('log', 'died', 'C-6');
  await phone.exchange();
  await phone.sent();
  await open('C-6', 'C-6');
  await page.locator('.card .cautions').getByText('died, by the book').waitFor();
});

await test('what came into the freezer is told, and what is thawed tonight', async () => {
  await phone.go('more');
  await phone.tap('Freezer');
  await page.locator('.sheet').getByRole('button', { name: 'It came in' }).click();
  await page.locator('.sheet').getByRole('button', { name: 'small rat', exact: true }).click();
  await phone.tap('Done');
  await press('200');
  await save();
  await page.getByText('Saved: 200 small rat came into the freezer').waitFor();
  await phone.sent();
  await eventually(() => hub.json('freezer').some((one) => one.prey === 'small-rat' && one.left >= 190), 'the freezer holds it');
  await phone.go('today');
  const thaw = hub.json('thaw', '--for', 'tonight').items.map((item) => `${item.thaw} ${item.prey.replaceAll('-', ' ')}`).join(', ');
  await eventually(async () => (await page.locator('.thaw summary').textContent()).includes(thaw), `Thaw: ${thaw}`);
});

phone.noComplaints();
await finish();
