// Makes five of README's pictures anew, by hand: node tests/browser/readme_pictures.mjs PROGRAM OUT_FOLDER
//   today.png, the night's list in a terminal; labels.png, a rack's strips, cards and a scan sheet; sheet.png, a rack's
//   sheet of the night; story.png, an animal's story; tubs.jpg, hatchling cards on their tubs. Of made-up animals; to be looked at before they go to cli/pictures and labels/pictures.

import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright-core';

const [program, out] = process.argv.slice(2);
mkdirSync(out, { recursive: true });
const folder = mkdtempSync(join(tmpdir(), 'rackside-pictures-'));
const animals = new URL('../../cli/demo/animals.csv', import.meta.url).pathname;

class Book {
  constructor(name) {
    this.path = join(folder, name);
    this.run('init', 'Ottoline');
  }
  run(...words) {
    return execFileSync(program, ['--book', this.path, ...words], { encoding: 'utf8', env: { ...process.env, CLICOLOR_FORCE: '1', COLUMNS: '160' } });
  }
}

const book = new Book('room');
for (const [rack, places] of [['A', 24], ['B', 28], ['N', 16]]) book.run('rack', 'add', rack, '--places', String(places));
book.run('animal', 'import', animals);

const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox'] });

/** A page of the browser, as a picture. */
async function drawn(path, style, body, width) {
  const page = await browser.newPage({ viewport: { width, height: 200 } });
  await page.setContent(`<!doctype html><style>body{margin:0;width:max-content;${style}}</style>${body}`);
  await page.evaluate(() => Promise.all([...document.images].map((image) => image.decode())));
  await page.locator('body').screenshot({ path });
  await page.close();
}

// ---- a rack's strips, cards on a sheet, a scan sheet

/** The first page of a PDF as PNG. */
function firstPage(name, ...words) {
  const path = join(folder, name);
  book.run('label', ...words, '--out', `${path}.pdf`);
  execFileSync('pdftoppm', ['-r', '110', '-png', '-f', '1', '-singlefile', `${path}.pdf`, path]);
  return `<img src="data:image/png;base64,${readFileSync(`${path}.png`).toString('base64')}">`;
}
const pages = [firstPage('strips', 'strips', 'A'), firstPage('cards', 'animals', ...Array.from({ length: 14 }, (_, i) => `C-${i + 1}`), '--sheet', 'a4-2x7'), firstPage('sheet', 'scan-sheet')];
await drawn(join(out, 'labels.png'), 'display:flex;gap:12px;align-items:center', `<style>img{display:block;height:700px;border:2px solid #808080}</style>${pages.join('')}`, 2000);

// ---- the night's list

const day = (ago) => new Date(Date.now() - ago * 86_400_000).toLocaleDateString('sv-SE');
const tell = (ago, ...words) => book.run('log', ...words, '--at', `${day(ago)} 19:30`);
/** Nights since the last meal, along the racks: some are due, most are not. */
const kGrown = [3, 5, 8, 2, 6, 10, 12, 14, 4, 7, 9, 6, 3, 5, 11, 2, 14, 8, 6, 4, 9, 7, 3, 11, 12, 14, 5, 2, 8, 6, 4, 9, 11, 12, 3, 7, 5, 6, 2, 8, 4, 11];
const kYoung = [3, 4, 2, 6, 7, 1, 3, 5, 6, 7, 2, 4, 3, 6];
for (const [count, name] of [[kGrown, 'C-'], [kYoung, '26-']]) {
  for (const [i, ago] of count.entries()) if (!['C-9', '26-3'].includes(name + (i + 1))) tell(ago, 'fed', name + (i + 1), name === 'C-' ? 'adult-mouse' : 'fuzzy');
}
for (const other of ['P-1', 'P-2', 'P-3', 'K-1', 'K-2']) tell(2, 'fed', other, 'small-rat');
book.run('feeding', 'set', 'corn snake', '--stage', 'hatchling', '--age', '0-1y', '--every', '5-7', '--prey', 'fuzzy');
book.run('feeding', 'set', 'corn snake', '--stage', 'grown', '--age', '1y-', '--every', '10-14', '--prey', 'adult-mouse');
for (const ago of [24, 14, 5]) tell(ago, 'refused', 'C-9', 'adult-mouse');
for (const [ago, grams] of [[92, '402'], [71, '396'], [40, '380'], [20, '364'], [1, '348']]) tell(ago, 'weighed', 'C-13', grams);
tell(1, 'ill', 'C-18', 'mites');
tell(7, 'treated', 'C-18', 'salve', 'repeat', '7');
tell(3, 'shed', 'C-21', 'stuck', 'tail');
tell(2, 'opaque', 'C-30');
book.run('fast', 'set', 'C-36', day(10), day(-40), '--why', 'cooling');
// The eggs of the year: one clutch about to hatch, one dam about to lay.
tell(92, 'paired', 'C-5', 'C-3');
tell(61, 'laid', 'C-3', '14+2');
tell(60, 'incubated', 'C-3', '28');
tell(50, 'paired', 'C-20', 'C-12');
tell(48, 'separated', 'C-20');
tell(12, 'shed', 'C-12');
book.run('log', 'offered', '26-3', 'fuzzy');

const kColours = { 1: 'color:#fff;font-weight:700', 2: 'color:#8a8f98', 32: 'color:#8fd18a', 33: 'color:#e8c35a', 31: 'color:#ff8d7a', 36: 'color:#7fd0e8' };
/** What a terminal shows, as HTML: the styles of cli/terminal.cpp. */
const asHtml = (text) => text.replace(/[&<]/g, (one) => ({ '&': '&amp;', '<': '&lt;' })[one])
  .replace(/\x1b\[([\d;]*)m/g, (_, codes) => (codes === '0' ? '</span>' : `<span style="${codes.split(';').map((code) => kColours[code]).join(';')}">`));
const list = book.run('today').trim();
await drawn(join(out, 'today.png'), 'background:#12161d;color:#d5d8de;font:14px/19px "DejaVu Sans Mono",monospace;padding:18px', `<pre style="margin:0"><span style="color:#8a8f98">$ rackside today</span>\n${asHtml(list)}</pre>`, 1800);

// ---- an invented year, of which the next three are

const season = new Book('season');
season.run('demo', 'season');

// ---- a rack's sheet, an animal's story

season.run('today', '--sheet', join(folder, 'sheet.pdf'), '--rack', 'B');
execFileSync('pdftoppm', ['-r', '100', '-png', '-singlefile', join(folder, 'sheet.pdf'), join(out, 'sheet')]);
season.run('animal', 'edit', 'C-1', '--name', 'Sorrel');
season.run('says', 'C-1', 'sire', 'C-30');
season.run('says', 'C-1', 'dam', 'C-6');
season.run('log', 'regurgitated', 'C-1', '--at', `${day(153)} 19:30`);
for (const ago of [100, 93]) season.run('log', 'treated', 'C-1', 'salve', '--at', `${day(ago)} 19:30`);
season.run('show', 'C-1', '--svg', join(folder, 'story.svg'));
await drawn(join(out, 'story.png'), '', readFileSync(join(folder, 'story.svg'), 'utf8').replace('<svg ', '<svg style="display:block" '), 1000);

// ---- hatchling cards on their tubs

const clutches = JSON.parse(season.run('--json', 'clutches', '--all')).filter((one) => one.young.length >= 6);
const young = clutches[0].young.slice(0, 6);
season.run('demo', 'photo', ...young, '--as', 'hatchling', '--size', '52x29', '--seed', '4', '--out', join(folder, 'tubs.jpg'));
execFileSync('ffmpeg', ['-v', 'error', '-y', '-i', join(folder, 'tubs.jpg'), '-vf', 'scale=1280:-2', '-q:v', '4', join(out, 'tubs.jpg')]);

await browser.close();
rmSync(folder, { recursive: true });
