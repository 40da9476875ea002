// Lighthouse on the page's screens, by hand: it is large, so it is no part of tests/run.
//   cd tests/browser/lighthouse && npm ci --ignore-scripts && node run.mjs ../../../build/rackside
// Prints accessibility and best practices of each screen with what takes points off, and fails under 95.

import lighthouse, { desktopConfig } from 'lighthouse';
import { Hub, Phone } from '../support.mjs';

const kLeast = 0.95;
const kPort = 9333;
const kCategories = ['accessibility', 'best-practices'];

const hub = new Hub();
await hub.start();
const authority = (await hub.authority()).bytes;
let low = 0;

async function audit(name, url, config) {
  const flags = { port: kPort, onlyCategories: kCategories, disableStorageReset: true, logLevel: 'error' };
  const { lhr } = await lighthouse(url, flags, config);
  const scores = kCategories.map((category) => `${category} ${Math.round(lhr.categories[category].score * 100)}`);
  console.log(`${name}: ${scores.join(', ')}`);
  for (const category of kCategories) {
    if (lhr.categories[category].score < kLeast) low += 1;
    for (const { id, weight } of lhr.categories[category].auditRefs) {
      const { score, title, scoreDisplayMode } = lhr.audits[id];
      if (weight > 0 && score !== null && score < 1 && scoreDisplayMode !== 'notApplicable') console.log(`    ${id}: ${title} ${(lhr.audits[id].details?.items ?? []).slice(0, 3).map((item) => item.node?.snippet ?? item.description ?? '').join(' ')}`);
    }
  }
}

for (const colour of ['dark', 'light']) {
  const phone = await Phone.create({ authority, colour, flags: [`--remote-debugging-port=${kPort}`] });
  await audit(`the plain page, ${colour}`, hub.trustUrl);
  await phone.join(hub, hub.invite('Ottoline', 'keeper'));
  await phone.page.goto('about:blank'); // the browser ends with its last page
  for (const screen of ['scan', 'today', 'racks', `rack/${hub.code('A')}`, 'questions', 'more', 'photo', 'labels', 'round', 'find']) await audit(`${screen}, ${colour}`, `${hub.url}/#/${screen}`);
  await audit(`desk, ${colour}`, `${hub.url}/#/desk`, desktopConfig);
  await phone.close();
}
await hub.stop();
console.log(low === 0 ? 'all at least 95' : `${low} under 95`);
process.exit(low === 0 ? 0 : 1);
