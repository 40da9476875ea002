// For everyone's eyes and hands: axe-core on every screen in light and dark, large text, right to left, keyboard, the
// browser's own checks for an installable page, and a clicked-through warning that is not taken for trust.

import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';
import { finish, holds, Hub, Phone, same, test } from './support.mjs';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

const hub = new Hub();
hub.run('log', 'offered', 'A-01', 'small-rat');
hub.run('log', 'treated', 'A-04', 'fenbendazole');
hub.run('log', 'laid', 'C-1', '7+1');
hub.run('label', 'clutch', 'C-1', '--boxes', '2', '--out', `${hub.folder}/boxes.pdf`);
const [box] = hub.json('label', 'prints').flatMap((print) => print.codes).filter((code) => code[0] === 'E');
await hub.start();
const authority = (await hub.authority()).bytes;

const kScreens = ['scan', 'type', 'find', 'photo', 'round', 'today', 'racks', 'questions', 'more', 'help', 'labels'];

async function judge(page, name) {
  await page.evaluate(axe);
  // Fading signals are over before colours are judged.
  await page.waitForTimeout(950);
  const found = await page.evaluate(async () => (await window.axe.run(document, { resultTypes: ['violations'] })).violations);
  same(found.map((one) => `${one.id}: ${one.nodes.map((node) => node.html.slice(0, 160)).join(' | ')}`), [], name);
}

async function overflows(page) {
  return page.evaluate(() => document.documentElement.scrollWidth > window.innerWidth + 1);
}

for (const colour of ['dark', 'light']) {
  await test(`axe-core finds nothing on any screen, ${colour}`, async () => {
    const phone = await Phone.create({ authority, colour });
    const { page } = phone;
    await page.goto(hub.trustUrl);
    await page.locator('.sha').waitFor();
    await judge(page, 'trust');
    await page.goto(`${hub.url}/`);
    await page.locator('.joinform').waitFor();
    await judge(page, 'join');
    await phone.join(hub, hub.invite('Sefa', 'keeper'));
    for (const screen of [...kScreens, `rack/${hub.code('A')}`]) {
      await phone.go(screen);
      await page.waitForTimeout(120);
      await judge(page, screen);
    }
    await phone.type(hub.code('A-04'));
    await page.locator('.card').waitFor();
    await judge(page, 'card');
    await phone.tap('Prey');
    await page.locator('.sheet').waitFor();
    await judge(page, 'meal');
    await page.keyboard.press('Escape');
    await phone.tap('Seen now');
    await page.locator('.sheet').waitFor();
    await judge(page, 'when');
    await page.keyboard.press('Escape');
    await phone.tap('Weigh');
    await judge(page, 'pad');
    await page.keyboard.press('Escape');
    await phone.tap('More …');
    await judge(page, 'kinds');
    await page.keyboard.press('Escape');
    await phone.tap('Shed');
    await phone.saved().waitFor();
    await judge(page, 'saved');
    await phone.type(box);
    await page.locator('.card.eggs').waitFor();
    await judge(page, 'eggs');
    await page.setViewportSize({ width: 1280, height: 800 });
    await phone.go('desk');
    await page.getByRole('heading', { name: 'Devices' }).waitFor();
    await judge(page, 'desk');
    phone.noComplaints();
    await phone.close();
  });
}

await test('text at 200 percent, right to left and 320 pixels break nothing', async () => {
  const phone = await Phone.create({ authority, size: { width: 320, height: 640 } });
  const { page } = phone;
  await phone.join(hub, hub.invite('Bram', 'keeper'));
  const screens = [...kScreens, `rack/${hub.code('A')}`];
  for (const [what, style] of [['small', ''], ['large', 'html{font-size:200%}'], ['right to left', '']]) {
    await page.evaluate(({ style: text, what: name }) => {
      const sheet = new CSSStyleSheet();
      sheet.replaceSync(text);
      document.adoptedStyleSheets = [sheet];
      document.documentElement.dir = name === 'right to left' ? 'rtl' : 'ltr';
    }, { style, what });
    for (const screen of screens) {
      await phone.go(screen);
      await page.waitForTimeout(80);
      holds(!(await overflows(page)), `${screen} is wider than the screen, ${what}`);
    }
    await phone.type(hub.code('A-02'));
    await page.locator('.card').waitFor();
    holds(!(await overflows(page)), `the card is wider than the screen, ${what}`);
    await phone.tap('Seen now');
    await page.locator('.sheet').waitFor();
    holds(!(await page.locator('.sheet').evaluate((one) => one.scrollWidth > one.clientWidth + 1)), `the time’s sheet is wider than the screen, ${what}`);
    await phone.type(box);
    await page.locator('.card.eggs').waitFor();
    holds(!(await overflows(page)), `the eggs are wider than the screen, ${what}`);
  }
  await phone.close();
});

await test('targets are large', async () => {
  const phone = await Phone.create({ authority });
  const { page } = phone;
  await phone.join(hub, hub.invite('Ilka', 'keeper'));
  for (const screen of [...kScreens, `rack/${hub.code('A')}`]) {
    await phone.go(screen);
    await page.waitForTimeout(120);
    const small = await page.evaluate(() => [...document.querySelectorAll('button, a.tab')].filter((one) => one.offsetParent && (one.offsetHeight < 44 || one.offsetWidth < 44)).map((one) => one.textContent));
    same(small, [], screen);
  }
  await phone.close();
});

await test('an entry is made by keyboard alone', async () => {
  const phone = await Phone.create({ authority });
  const { page } = phone;
  await phone.join(hub, hub.invite('Meret'));
  await phone.go('type');
  await page.getByLabel('Type a code').waitFor();
  await page.keyboard.type(hub.code('A-03'));
  await page.keyboard.press('Enter');
  await page.locator('.card').waitFor();
  for (let i = 0; i < 20; i += 1) {
    if ((await page.evaluate(() => document.activeElement?.textContent ?? '')).startsWith('Fed')) break;
    await page.keyboard.press('Tab');
  }
  await page.keyboard.press('Enter');
  await phone.saved().waitFor();
  await phone.close();
});

await test('the browser has nothing against installing it', async () => {
  const phone = await Phone.create({ authority });
  await phone.join(hub, hub.invite('Runa'));
  const session = await phone.context.newCDPSession(phone.page);
  const { installabilityErrors } = await session.send('Page.getInstallabilityErrors');
  // A profile of a test is what the browser calls incognito in some versions; nothing of the page's own may be wrong.
  same(installabilityErrors.map((one) => one.errorId).filter((id) => id !== 'in-incognito'), []);
  await phone.close();
});

await test('where a warning was only clicked through, the page says what is missing and does not join', async () => {
  const stranger = await Phone.create({ flags: ['--ignore-certificate-errors-spki-list='] });
  const { page } = stranger;
  await page.goto(`${hub.url}/`).catch(() => {});
  await page.locator('body').click();
  // What a person reaches by "Advanced, proceed" in Chromium; there is no other way in a headless one.
  await page.keyboard.type('thisisunsafe');
  await page.getByText('does not trust the hub yet').waitFor();
  same(await page.locator('.joinform').count(), 0);
  await stranger.close();
});

await finish();
