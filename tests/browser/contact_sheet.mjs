// Puts pictures of the tour onto one: node tests/browser/contact_sheet.mjs OUT.png COLUMNS CELL_WIDTH GAP PICTURE…
// As README's are made, of what tour.mjs took into FOLDER, here of the dark ones at 390 pixels:
//   node tests/browser/contact_sheet.mjs every-screen.png 8 190 6 $(ls -tr FOLDER/*-dark-390.png | grep -v /desk-)
//   node tests/browser/contact_sheet.mjs tour-dark.png 4 390 12 FOLDER/{card,saved,again,round}-dark-390.png

import { readFileSync } from 'node:fs';
import { chromium } from 'playwright-core';

const [out, columns, width, gap, ...pictures] = process.argv.slice(2);
const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox'] });
const page = await browser.newPage({ viewport: { width: Number(columns) * (Number(width) + Number(gap)), height: 600 } });
const images = pictures.map((path) => `<img src="data:image/png;base64,${readFileSync(path).toString('base64')}">`);
await page.setContent(`<style>body{margin:0;background:#7d7d7d;padding:${Number(gap) / 2}px;display:grid;grid-template-columns:repeat(${columns},${width}px);gap:${gap}px;align-items:start}img{width:100%;display:block}</style>${images.join('')}`);
await page.evaluate(() => Promise.all([...document.images].map((image) => image.decode())));
await page.screenshot({ path: out, fullPage: true });
await browser.close();
