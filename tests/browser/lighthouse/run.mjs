// Lighthouse on the page's screens, in the dark and the light colours. It is large, so it is a part of tests/run only where
// somebody installed it:
//   cd tests/browser/lighthouse && npm ci --ignore-scripts && node run.mjs ../../../build/rackside
// Prints accessibility and best practices of each screen with what takes points off, and fails under 95.

import lighthouse, { desktopConfig } from 'lighthouse';
import { Hub, Phone } from '../support.mjs';

const kLeast = 0.95;
const kPort = 9333;
const kTries = 3;
const kCategories = ['accessibility', 'best-practices'];

const hub = new Hub();
await hub.start();
const authority = (await hub.authority()).bytes;
let passed = 0;
let low = 0;

const only = process.env.RACKSIDE_AUDIT ?? ''; // a screen's name, for who mends it

/** On a busy machine the browser answers too late at times, or a tab ends under Lighthouse: that is said, and measured anew. */
async function measured(name, url, config) {
  const flags = { port: kPort, onlyCategories: kCategories, disableStorageReset: true, logLevel: 'error' };
  for (let attempt = 1; ; attempt += 1) {
    let problem;
    try {
      const { lhr } = await lighthouse(url, flags, config);
      if (!lhr.runtimeError) return lhr;
      problem = lhr.runtimeError.code;
    } catch (error) {
      problem = error.code ?? error.message;
    }
    console.log(`${name}: not measured (${problem})`);
    if (attempt === kTries) throw new Error(`${name} cannot be measured: ${problem}`);
  }
}

async function audit(name, url, config) {
  if (!name.includes(only)) return;
  const lhr = await measured(name, url, config);
  const scores = kCategories.map((category) => `${category} ${Math.round(lhr.categories[category].score * 100)}`);
  console.log(`${name}: ${scores.join(', ')}`);
  for (const category of kCategories) {
    if (lhr.categories[category].score < kLeast) low += 1;
    else passed += 1;
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
console.log(`${passed} passed, ${low} failed`);
process.exit(low === 0 ? 0 : 1);
