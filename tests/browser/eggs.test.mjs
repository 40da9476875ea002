// Eggs by the code on their box, and entries of another time than now.

import { eventually, finish, holds, Hub, Phone, same, test } from './support.mjs';

const hub = new Hub();
hub.run('log', 'laid', 'C-1', '7+1');
hub.run('label', 'clutch', 'C-1', '--boxes', '2', '--out', `${hub.folder}/boxes.pdf`);
const boxes = hub.json('label', 'prints').flatMap((print) => print.codes).filter((code) => code[0] === 'E').sort();
await hub.start();
const phone = await Phone.create({ authority: (await hub.authority()).bytes });
const { page } = phone;
await phone.join(hub, hub.invite('Sefa', 'keeper'));

const press = async (text) => {
  for (const key of text) await page.locator(`.sheet [data-key="${key}"]`).click();
};
const save = () => page.locator('.sheet').getByRole('button', { name: 'Save', exact: true }).click();
const clutch = () => hub.json('clutches', 'C-1')[0];

await test('an egg box opens the clutch in it, and what is seen of the eggs is saved of it', async () => {
  same(boxes.length, 2, 'boxes:');
  await phone.type(boxes[1]);
  const card = page.getByRole('article', { name: 'Clutch of C-1, box' });
  await card.getByText('7 eggs may still hatch').waitFor();
  await card.getByText('7 good, 1 slug').waitFor();
  same(await page.locator('.act.fed').count(), 0, 'meals that eggs can be given:');
  await phone.tap('Candled');
  await press('6');
  await save();
  await press('1');
  await save();
  await phone.saved().getByText('candled: 6 good, 1 bad').waitFor();
  await card.getByText('6 eggs may still hatch').waitFor();
  await phone.sent();
  same(clutch().waiting, 6, 'waiting in the book:');
  await phone.exchange();
  await card.getByText('6 eggs may still hatch').waitFor();
});

await test('the way from the eggs to who laid them is one tap', async () => {
  await phone.type(boxes[0]);
  await phone.tap('C-1, who laid them');
  await page.getByRole('article', { name: 'C-1', exact: true }).waitFor();
});

await test('a box whose eggs have hatched is called empty, and undo fills it again', async () => {
  await phone.type(boxes[0]);
  await phone.tap('Hatched');
  await press('6');
  await save();
  await phone.saved().waitFor();
  await page.getByText('Empty: what was good has hatched').waitFor();
  await phone.sent();
  same([clutch().hatched, clutch().waiting], [6, 0], 'hatched in the book:');
  await phone.exchange();
  await phone.tap('Undo');
  await phone.sent();
  await phone.exchange();
  await page.getByText('6 eggs may still hatch').waitFor();
});

await test('in a round nobody feeds a box of eggs', async () => {
  await phone.go('round');
  await page.getByRole('button', { name: 'Water', exact: true }).click();
  await phone.tap('Begin');
  await phone.type(boxes[0]);
  await page.getByText('That is a box of eggs').waitFor();
  same(await page.locator('.count').textContent(), '0', 'count of the round:');
  await phone.tap('End');
});

await test('a box that this copy does not know keeps what is said of it', async () => {
  // A well-formed code by ISO/IEC 7064 that nobody registered.
  const free = await page.evaluate(async () => {
    const { readCode } = await import('/base/codes.mjs');
    return [...'0123456789ABCDEFGHJKMNPQRSTVWXYZ'].map((last) => `E00000000${last}`).find((code) => readCode(code).code);
  });
  await phone.type(free);
  await page.getByText('copy does not know it yet').waitFor();
  await phone.tap('Note');
  await page.locator('.sheet textarea').fill('cold');
  await save();
  await phone.saved().waitFor();
});

// ---- another time than now

const chooseDay = async (day, clock) => {
  await phone.tap('Seen now');
  await page.locator('.sheet input[type=date]').fill(day);
  if (clock) await page.locator('.sheet input[type=time]').fill(clock);
  await phone.tap('Use this time');
};
/** A day and an instant of the hub's zone, which is this process's too. */
const dayBefore = (days) => new Date(Date.now() - days * 86_400_000).toLocaleDateString('sv-SE');
const at = (day, clock) => new Date(`${day}T${clock}:00`).getTime();
const told = (id, kind) => hub.story(id).find((one) => one.kind === kind);

await test('a note is of the day that was said, as every kind is', async () => {
  await phone.type(hub.code('C-4'));
  await chooseDay(dayBefore(3), '19:05');
  await page.getByRole('button', { name: /^Seen .*19:05$/ }).waitFor();
  await phone.tap('More …');
  await page.locator('.sheet').getByRole('button', { name: 'Note', exact: true }).click();
  await page.locator('.sheet textarea').fill('restless');
  await save();
  await phone.saved().getByText(/Seen .*19:05/).waitFor();
  await phone.sent();
  const note = told('C-4', 'noted');
  same([note.note, note.at_ms], ['restless', at(dayBefore(3), '19:05')], 'the note in the book:');
  await phone.type(hub.code('C-5'));
  await phone.tap('Seen now');
  await page.locator('.sheet').getByRole('button', { name: /^3 / }).click();
  await phone.tap('Shed');
  await phone.saved().getByText(/Seen 3 h/).waitFor();
  await phone.sent();
  await eventually(() => Math.abs(told('C-5', 'shed').at_ms - Date.now() + 3 * 3_600_000) < 120_000, 'the shed is three hours old');
});

await test('of a tub whose animal came later it is said that the book asks', async () => {
  await phone.type(hub.code('A-03'));
  same(await page.locator('.cautions').getByText('only later').count(), 0, 'cautions of now:');
  await chooseDay(dayBefore(3), '19:05');
  await page.locator('.cautions').getByText('C-3 came to A-03 only later').waitFor();
  await phone.tap('Shed');
  await phone.saved().getByText('only later').waitFor();
  await phone.sent();
  await eventually(() => hub.json('questions').some((one) => JSON.stringify(one).includes('whose')), 'the book asks');
});

await test('a time that is still to come is not taken, and the next tub is seen now', async () => {
  await phone.type(hub.code('A-06'));
  await chooseDay(dayBefore(-2), '10:00');
  await page.locator('.sheet').getByText('still to come').waitFor();
  await page.locator('.sheet input[type=date]').fill(dayBefore(1));
  await phone.tap('Use this time');
  await page.locator('.when.set').waitFor();
  await phone.tap('Seen');
  await page.locator('.sheet').waitFor();
  await phone.type(hub.code('A-02')); // leaves the open sheet behind
  await page.getByRole('button', { name: 'Seen now' }).waitFor();
  same(await page.locator('.sheet').count(), 0, 'sheets that are still open:');
  same(await page.locator('.when.set').count(), 0, 'times that are still said:');
});

await test('a round of last evening is entered in the morning', async () => {
  await phone.go('round');
  await phone.tap('Refused');
  await phone.tap('Seen now');
  await phone.tap('yesterday, 20:00');
  await phone.tap('Begin');
  await phone.type(hub.code('C-2'));
  await eventually(async () => (await page.locator('.count').textContent()) === '1', 'one is counted');
  holds(await page.getByText(/Seen .* 20:00/).count() > 0, 'the round says of when it is');
  await phone.tap('End');
  await phone.sent();
  same(told('C-2', 'refused').at_ms, at(dayBefore(1), '20:00'), 'the refusal in the book:');
});

phone.noComplaints();
await finish();
