// Takes the tour's pictures: node tests/browser/tour.mjs PROGRAM OUT_FOLDER [dark|light] [390x844]
// By hand; to be looked at.

import { execFileSync } from 'node:child_process';
import { mkdirSync, readFileSync } from 'node:fs';
import { makeFilm } from './film.mjs';
import { Hub, join, Phone, root } from './support.mjs';

const out = process.argv[3] ?? '/tmp/tour';
const colour = process.argv[4] ?? 'dark';
const [width, height] = (process.argv[5] ?? '390x844').split('x').map(Number);
const locale = process.argv[6] ?? 'en-GB';
mkdirSync(out, { recursive: true });

const hub = new Hub({ racks: [['A', 24], ['B', 28], ['N', 16]], animals: readFileSync(join(root, 'cli/demo/animals.csv'), 'utf8') });
const enter = (id, ...words) => hub.run('log', words[0], id, ...words.slice(1));
try {
  for (const [id, ...words] of [['C-1', 'fed', 'adult-mouse'], ['C-2', 'offered', 'small-rat'], ['C-4', 'treated', 'fenbendazole'], ['C-6', 'weighed', '412']]) enter(id, ...words);
} catch {
  // the pictures do without
}
const mother = hub.json('list', 'animals').find((one) => one.fields.sex === 'female' && one.place);
hub.run('log', 'laid', mother.code, '14+2', '--at', new Date(Date.now() - 40 * 86_400_000).toISOString().slice(0, 10));
hub.run('log', 'incubated', mother.code, '28.2', '--at', new Date(Date.now() - 39 * 86_400_000).toISOString().slice(0, 10));
hub.run('log', 'candled', mother.code, '13+1', '--at', new Date(Date.now() - 30 * 86_400_000).toISOString().slice(0, 10));
hub.run('label', 'clutch', mother.code, '--boxes', '3', '--out', join(hub.folder, 'boxes.pdf'));
const box = hub.json('label', 'prints').flatMap((print) => print.codes).find((code) => code[0] === 'E');
await hub.start();
const authority = (await hub.authority()).bytes;
const film = join(hub.folder, 'film.y4m');
hub.run('label', 'png', 'A-07', '--out', join(hub.folder, 'label.png'));
makeFilm(film, [join(hub.folder, 'label.png')]);
const phone = await Phone.create({ film, authority, colour, size: { width, height }, locale, context: { deviceScaleFactor: 2 } });
const { page } = phone;
/** Once the signal's ring has faded. */
const shot = async (name) => {
  await page.waitForTimeout(950);
  await page.screenshot({ path: join(out, `${name}-${colour}-${width}.png`) });
};

await page.goto(hub.trustUrl);
await page.locator('.sha').waitFor();
await page.screenshot({ path: join(out, `trust-${colour}-${width}.png`), fullPage: true });
await page.goto(`${hub.url}/`);
await page.locator('.joinform').waitFor();
await shot('join');
await page.locator('.joinform input').first().fill(hub.invite('Sefa', 'keeper').code);
await page.locator('.joinform button').click();
await page.locator('.state.online').waitFor();
const understood = page.locator('.banner button').first();
if (await understood.isVisible()) await understood.click();
await page.waitForTimeout(300);
await shot('scan-idle');
const scan = async (id) => {
  await phone.go('type');
  await page.locator('input.code').fill(hub.code(id));
  await page.locator('.typed button').click();
  await page.locator('.panel').waitFor();
};
await scan('A-03');
await shot('card');
await page.locator('.act.fed').click();
await page.locator('.saved').waitFor();
await shot('saved');
await page.waitForTimeout(4200); // sooner it would be one scan told twice
await scan('A-03');
await page.locator('.act.fed').click();
await page.locator('.ask').waitFor();
await shot('again');
await page.locator('.ask .act').nth(1).click();
await page.locator('.saved').waitFor();
await scan('A-05');
await page.locator('.acts .quiet').nth(2).click();
await page.locator('.sheet').waitFor();
await shot('kinds');
await page.keyboard.press('Escape');
await page.locator('.acts .quiet').nth(1).click();
for (const key of ['3', '8', '8']) await page.locator(`[data-key="${key}"]`).click();
await shot('weigh');
await page.keyboard.press('Escape');
await page.locator('.acts .quiet').first().click();
await shot('meal');
await page.keyboard.press('Escape');
await phone.go('round');
await page.waitForTimeout(150);
await shot('round-start');
await page.locator('.foot .primary').click();
for (const id of ['B-01', 'B-02', 'B-03']) await scan(id);
await page.waitForTimeout(700);
await shot('round');
await page.locator('.round .quiet').click();
await scan('A-12');
await page.locator('.act.paired').click();
await scan('A-05');
await page.locator('.young').waitFor();
await shot('pair');
await page.locator('.pair .quiet').click();
const sheet = join(hub.folder, 'sheet');
hub.run('label', 'places', 'B', '--out', `${sheet}.pdf`, '--no-record');
execFileSync('pdftoppm', ['-r', '150', '-jpeg', '-singlefile', `${sheet}.pdf`, sheet]);
await phone.go('photo');
await page.locator('input[type=file]').setInputFiles(`${sheet}.jpg`);
await page.locator('.result .quiet').click();
await page.locator('.result .found li:nth-child(8)').waitFor();
await shot('photo-read');
await phone.go('labels');
await page.locator('.labels .chip').nth(7).click();
await page.locator('.labels .foot .primary').click();
await page.locator('.pdf').waitFor();
await page.waitForTimeout(400);
await shot('labels');
for (const screen of ['today', 'racks', `rack/${hub.code('B')}`, 'questions', 'more', 'find', 'type', 'photo', 'help']) {
  await phone.go(screen);
  await page.waitForTimeout(250);
  if (screen === 'find') await page.locator('input.search').fill('C-1');
  await shot(screen.split('/')[0]);
  if (screen !== 'more') continue;
  await page.locator('.device').last().scrollIntoViewIfNeeded();
  await shot('devices');
}
await phone.go('type');
await page.locator('input.code').fill(box);
await page.locator('.typed button').click();
await page.locator('.card.eggs').waitFor();
await shot('eggs');
await phone.go('scan');
await page.locator('.start').click();
await page.locator('.read').waitFor();
await shot('camera');

// ---- forms and what warns, one step away

const open = async (id) => {
  await phone.go('scan');
  await scan(id);
};
const more = async (kind) => {
  await page.locator('.acts .quiet').nth(2).click();
  await page.locator(`.sheet [data-kind="${kind}"]`).click();
};
const closed = () => page.keyboard.press('Escape');
/** A sheet of an animal, with what was typed into its pad. */
async function sheetOf(id, kind, name, keys = '') {
  await open(id);
  await more(kind);
  for (const key of keys) await page.locator(`[data-key="${key}"]`).click();
  await shot(name);
  await closed();
}
await page.evaluate(() => window.scrollTo(0, 0));
await open('A-05');
await page.locator('.when').click();
await page.locator('.sheet').waitFor();
await shot('when');
await closed();
await sheetOf('A-05', 'incubated', 'incubator', '28.5');
await sheetOf('A-05', 'ill', 'unwell');
await sheetOf('A-05', 'shed_stuck', 'stuck');
await sheetOf('A-05', 'candled', 'candled', '7');
await sheetOf('A-03', 'palpated', 'warned');
await open('A-06');
await page.locator('.acts .quiet').nth(1).click();
for (const key of '4100') await page.locator(`[data-key="${key}"]`).click();
await shot('weigh-warned');
await closed();
await phone.go('more');
await page.locator('.block .wide').first().click();
await shot('freezer');
await closed();

// ---- what went wrong

await phone.go('type');
await page.locator('input.code').fill('A7K2 M9QX 44');
await page.locator('.typed button').click();
await shot('mistyped');
await phone.go('find');
await page.locator('input.search').fill('nobody of this name');
await shot('found-none');
await hub.stop();
await phone.go('scan');
await open('A-08');
await page.locator('.act.refused').click();
await page.locator('.saved').waitFor();
await page.locator('.state.away').waitFor();
await shot('away');
await phone.go('more');
await shot('away-outbox');

// ---- two tell one tub differently, each without knowing of the other

hub.run('log', 'fed', 'A-08', 'adult-mouse');
await hub.start();
await phone.sent();
await phone.exchange();
await phone.go('questions');
await page.locator('.question').waitFor();
await shot('question');
console.log(phone.complaints.join('\n'));
await phone.close();
await hub.stop();

// ---- an invented year, in which more is due

const year = new Hub({ racks: [], animals: '' });
year.run('demo', 'season');
const adults = year.json('list', 'animals').filter((one) => one.short.startsWith('C-') && one.place && !one.place.includes(' '));
const [sick, second, third] = adults.filter((one) => one.fields.sex === 'female');
const males = adults.filter((one) => one.fields.sex === 'male');
year.run('log', 'ill', sick.code, 'mites', 'at', 'the', 'eyes');
year.run('log', 'treated', second.code, 'fenbendazole', 'repeat', '10');
year.run('animal', 'edit', third.code, '--name', 'Bartholomew the Unreasonably Long of the Third Shelf');
for (const male of males.slice(2, 6)) year.run('rotation', 'set', male.code, ...adults.filter((one) => one.fields.sex === 'female').slice(20, 26).map((one) => one.code));
await year.start();
const other = await Phone.create({ authority: (await year.authority()).bytes, colour, size: { width, height }, locale, context: { deviceScaleFactor: 2 } });
await other.join(year, year.invite('Ilka', 'keeper'));
const shotOf = async (name, options = {}) => {
  await other.page.waitForTimeout(950);
  await other.page.screenshot({ path: join(out, `${name}-${colour}-${width}.png`), ...options });
};
await shotOf('first-open');
await other.page.locator('.banner button').first().click();
await other.go('today');
await other.page.locator('.dueline').first().waitFor();
await shotOf('year-today');
await other.page.locator('.thaw summary').click();
await shotOf('year-thaw');
await other.page.locator('.thaw summary').click();
for (const [due, name] of [['near_ill', 'year-near'], ['rotate', 'year-rotate'], ['off_feed', 'year-off-feed']]) {
  const line = other.page.locator(`.dueline.${due}`).first();
  if ((await line.count()) === 0) continue;
  await line.scrollIntoViewIfNeeded();
  await shotOf(name);
}
for (const [name, code] of [['year-ill', sick.code], ['year-treated', second.code], ['year-long-name', third.code]]) {
  await other.type(code);
  await other.page.locator('.card').waitFor();
  await shotOf(name);
}
await other.go('racks');
await shotOf('year-racks');
await other.go(`rack/${year.code('A')}`);
await shotOf('year-rack');
await other.go('questions');
await shotOf('year-questions');
await other.page.setViewportSize({ width: 1280, height: 800 });
await other.go('desk');
await other.page.waitForTimeout(600);
await shotOf('desk');
console.log(other.complaints.join('\n'));
await other.close();
await year.stop();
process.exit(0);
