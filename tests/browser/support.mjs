// What the browser tests share: a real hub with a made-up collection, and Debian's Chromium that trusts the hub's own
// authority, imported as a person would. Certificate errors are never ignored.

import { execFileSync, spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { get } from 'node:http';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';

export const root = join(dirname(fileURLToPath(import.meta.url)), '../..');
export const program = process.argv[2] ?? join(root, 'build/rackside');

const kFlags = ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
  '--disable-background-networking', '--disable-component-update', '--disable-sync'];

const kPatience = Number(process.env.RACKSIDE_BROWSER_PATIENCE ?? 30_000);
const phones = [];

let passed = 0;
let failed = 0;
const cleanups = [];

/** Runs one test; what it throws is its failure. */
export async function test(name, work) {
  const only = process.env.RACKSIDE_BROWSER_ONLY;
  if (only && !name.includes(only)) return;
  const begun = Date.now();
  try {
    await work();
    passed += 1;
    console.log(`ok     ${name} (${Date.now() - begun} ms)`);
  } catch (error) {
    failed += 1;
    console.log(`FAILED ${name}\n       ${String(error.stack ?? error).replaceAll('\n', '\n       ')}`);
    for (const phone of phones) await phone.tell();
  }
}

/** Ends the run with the line that tests/run counts. */
export async function finish() {
  for (const work of cleanups.reverse()) await work();
  console.log(`${passed} passed, ${failed} failed`);
  process.exit(failed > 0 ? 1 : 0);
}

export function same(actual, expected, what = '') {
  const [a, b] = [actual, expected].map((value) => JSON.stringify(value));
  if (a !== b) throw new Error(`${what} expected ${b}, got ${a}`);
}
export function holds(condition, what) {
  if (!condition) throw new Error(what);
}

export function temporaryFolder() {
  const folder = mkdtempSync(join(tmpdir(), 'rackside-browser-'));
  cleanups.push(() => rmSync(folder, { recursive: true, force: true, maxRetries: 5 }));
  return folder;
}

/** Tries until it holds; for what happens elsewhere. */
export async function eventually(check, what, patience = 15_000) {
  const end = Date.now() + patience;
  let problem;
  do {
    try {
      if (await check()) return;
      problem = 'it does not hold';
    } catch (error) {
      problem = error;
    }
    await new Promise((resolve) => setTimeout(resolve, 60));
  } while (Date.now() < end);
  throw new Error(`${what}: ${problem}`);
}

// ---- the hub

export class Hub {
  constructor({ racks = [['A', 6], ['B', 4]], animals = kAnimals } = {}) {
    this.folder = temporaryFolder();
    this.book = join(this.folder, 'hub.book');
    this.run('init', 'Ottoline');
    for (const [name, places] of racks) this.run('rack', 'add', name, '--places', String(places));
    cleanups.push(() => this.stop());
    if (!animals) return;
    writeFileSync(join(this.folder, 'animals.csv'), animals);
    this.run('animal', 'import', join(this.folder, 'animals.csv'));
  }

  run(...words) {
    return execFileSync(program, ['--book', this.book, ...words], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'] });
  }

  json(...words) {
    return JSON.parse(this.run('--json', ...words));
  }

  code(shortId) {
    return this.json('show', shortId).code;
  }

  /** Starts it; the second time at the same ports, as phones need. */
  async start(extra = []) {
    const ports = this.url ? [new URL(this.url).port, new URL(this.trustUrl).port] : ['0', '0'];
    const words = ['--book', this.book, '--json', 'serve', '--listen', '127.0.0.1', '--port', ports[0], '--join-port', ports[1], ...extra];
    this.process = spawn(program, words, { stdio: ['ignore', 'pipe', 'pipe'] });
    this.complaints = '';
    this.process.stderr.on('data', (data) => (this.complaints += data));
    const said = await new Promise((resolve, reject) => {
      let text = '';
      this.process.stdout.on('data', (data) => {
        text += data;
        if (text.includes('\n')) resolve(JSON.parse(text));
      });
      this.process.on('exit', () => reject(new Error(`the hub ended: ${this.complaints}`)));
    });
    this.url = said.url;
    this.trustUrl = said.trust_url;
    this.sha256 = said.authority_sha256;
  }

  async stop(signal = 'SIGTERM') {
    if (!this.process || this.process.exitCode !== null || this.process.signalCode !== null) return;
    const ended = new Promise((resolve) => this.process.once('exit', resolve));
    this.process.kill(signal);
    await ended;
  }

  invite(person, role = 'helper') {
    return this.json('invite', '--name', person, '--role', role);
  }

  /** What the hub's book holds of a thing, newest first. */
  story(shortId) {
    return this.json('history', shortId, '--limit', '100000');
  }

  async authority() {
    return new Promise((resolve, reject) => {
      get(`${this.trustUrl}authority.crt`, (answer) => {
        const parts = [];
        answer.on('data', (part) => parts.push(part));
        answer.on('end', () => resolve({ type: answer.headers['content-type'], bytes: Buffer.concat(parts) }));
      }).on('error', reject);
    });
  }
}

export const kAnimals = `short,species,sex,at,genes,prey,name
C-1,corn snake,female,A-01,amelanistic,small-rat,Marigold
C-2,corn snake,male,A-02,anerythristic,adult-mouse,
C-3,corn snake,female,A-03,het amelanistic,small-rat,
C-4,corn snake,male,A-04,,adult-mouse,
C-5,corn snake,female,B-01,,fuzzy,
C-6,corn snake,male,B-02,,fuzzy,
`;

// ---- the phone

export class Phone {
  /** A browser of its own: home folder, profile, trust store. */
  static async create({ authority, film, flags = [], colour = 'dark', size = { width: 390, height: 844 }, locale = 'en-GB', context = {} } = {}) {
    const phone = new Phone();
    phones.push(phone);
    phone.home = temporaryFolder();
    phone.options = { film, flags, colour, size, locale, context };
    mkdirSync(join(phone.home, '.pki/nssdb'), { recursive: true });
    const store = `sql:${join(phone.home, '.pki/nssdb')}`;
    execFileSync('certutil', ['-d', store, '-N', '--empty-password']);
    if (authority) phone.trust(authority);
    cleanups.push(() => phone.close());
    await phone.open();
    return phone;
  }

  /** Imports the authority as a person does in the phone's settings. */
  trust(authority) {
    const file = join(this.home, 'authority.crt');
    writeFileSync(file, authority);
    execFileSync('certutil', ['-d', `sql:${join(this.home, '.pki/nssdb')}`, '-A', '-n', 'rackside', '-t', 'C,,', '-i', file]);
  }

  async open() {
    const { film, flags, colour, size, locale, context } = this.options;
    const camera = film ? ['--use-fake-ui-for-media-stream', '--use-fake-device-for-media-stream', `--use-file-for-fake-video-capture=${film}`] : [];
    this.context = await chromium.launchPersistentContext(join(this.home, 'profile'), {
      executablePath: '/usr/bin/chromium',
      headless: true,
      args: [...kFlags, ...camera, ...flags],
      env: { ...process.env, HOME: this.home },
      viewport: size,
      locale,
      colorScheme: colour,
      hasTouch: true,
      ...context,
    });
    this.context.setDefaultTimeout(kPatience);
    this.page = this.context.pages()[0] ?? (await this.context.newPage());
    this.watch(this.page);
  }

  watch(page) {
    this.complaints ??= [];
    page.on('pageerror', (error) => this.complaints.push(String(error)));
    page.on('console', (message) => {
      if (message.type() === 'error' && !/Failed to load resource|net::ERR/.test(message.text())) this.complaints.push(message.text());
    });
    page.on('request', (request) => {
      const host = new URL(request.url()).hostname;
      if (!['127.0.0.1', ''].includes(host)) this.complaints.push(`a request to ${request.url()}`);
    });
  }

  /** What a failed test leaves on the screen. */
  async tell() {
    const text = await this.page?.locator('#root').innerText({ timeout: 1000 }).catch(() => undefined);
    if (text) console.log(`       at ${this.page.url()}: ${text.replace(/\s+/g, ' ').slice(0, 400)}\n       ${this.complaints.join('\n       ')}`);
  }

  async close() {
    await this.context?.close().catch(() => {});
    this.context = undefined;
  }

  /** As a phone whose battery is pulled: no handler runs. */
  async kill() {
    const pid = this.browserPid();
    const closed = new Promise((resolve) => this.context.once('close', resolve));
    // All of its processes at once: one that lives on for a moment would still hold the store's lock.
    process.kill(-pid, 'SIGKILL');
    await closed;
    await eventually(() => !this.isRunning(pid), 'the browser is dead');
    this.context = undefined;
  }

  isRunning(group) {
    const listing = execFileSync('ps', ['-eo', 'pgid,stat'], { encoding: 'utf8' });
    return listing.split('\n').some((line) => Number(line.trim().split(/\s+/)[0]) === group && !/Z/.test(line));
  }

  browserPid() {
    const listing = execFileSync('ps', ['-eo', 'pid,args'], { encoding: 'utf8' });
    const line = listing.split('\n').find((one) => one.includes(`--user-data-dir=${join(this.home, 'profile')}`) && !one.includes('--type='));
    return Number(line.trim().split(/\s+/)[0]);
  }

  /** Joins by the typed code. */
  async join(hub, invitation) {
    const { page } = this;
    await page.goto(`${hub.url}/`);
    await page.getByLabel('Join code').fill(invitation.code);
    await page.getByRole('button', { name: 'Join', exact: true }).click();
    await page.locator('.finder').waitFor();
    await this.sent();
  }

  async sent() {
    await this.page.locator('.state.online').waitFor();
  }

  /** One exchange now, copy included. */
  async exchange() {
    await this.page.evaluate(async () => (await import('/phone.mjs')).phone.sync());
  }

  /** A code, typed by hand. */
  async type(code) {
    const { page } = this;
    await page.evaluate(() => (location.hash = '#/type'));
    await page.getByLabel('Type a code').fill(code);
    await page.getByRole('button', { name: 'Open' }).click();
  }

  async go(screen) {
    await this.page.evaluate((to) => (location.hash = `#/${to}`), screen);
  }

  async tap(name, options = {}) {
    await this.page.getByRole('button', { name, ...options }).first().click();
  }

  saved() {
    return this.page.locator('.saved').first();
  }

  /** The page's copy for offline is complete and the decoder loaded: on a slow machine both come after the first screen. */
  async isWhole() {
    await this.page.evaluate(async () => {
      await navigator.serviceWorker.ready;
      const { decode, decoder } = await import('/scan/camera.mjs');
      do await decode(new ImageData(8, 8));
      while (decoder.isMissing && (await new Promise((resolve) => setTimeout(resolve, 100, true))));
    });
  }

  noComplaints() {
    same(this.complaints, [], 'the page complained:');
  }
}

export const readBytes = (path) => readFileSync(path);
export { join };
