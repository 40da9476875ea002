// Packs the page into the program: node embed.mjs PAGE_FOLDER OUT_FOLDER
// Writes OUT/page.bin, all files compressed one behind the other, and OUT/page_table.inc, one row a file. The files are
// listed here by folder; what npm brings is named one by one. Everything is compressed once, at the build.

import { createHash } from 'node:crypto';
import { mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { gzipSync } from 'node:zlib';

const [page, out] = process.argv.slice(2);

const kTypes = {
  '.html': 'text/html; charset=utf-8',
  '.mjs': 'text/javascript; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.wasm': 'application/wasm',
  '.webmanifest': 'application/manifest+json',
};

/** Every file below a folder, in one order on every machine. */
function filesBelow(folder) {
  return readdirSync(folder)
    .sort()
    .flatMap((name) => {
      const path = join(folder, name);
      return statSync(path).isDirectory() ? filesBelow(path) : [path];
    });
}

function typeOf(path) {
  const ending = path.slice(path.lastIndexOf('.'));
  if (!(ending in kTypes)) throw new Error(`embed: no type is known for ${path}`);
  return kTypes[ending];
}

/** [address, file] of everything that the secure page is made of. */
function appFiles() {
  const library = join(page, 'node_modules/zxing-wasm/dist');
  return [
    ...filesBelow(join(page, 'app')).map((path) => ['/' + relative(join(page, 'app'), path), path]),
    ['/library/reader/index.js', join(library, 'es/reader/index.js')],
    ['/library/share.js', join(library, 'es/share.js')],
    ['/library/reader.wasm', join(library, 'reader/zxing_reader.wasm')],
  ];
}

/** The plain page speaks the same words and wears the same colours. */
function trustFiles() {
  const shared = { '/say.mjs': 'words/say.mjs', '/words.mjs': 'words/words.mjs', '/entry_words.mjs': 'words/entry_words.mjs', '/desk_words.mjs': 'words/desk_words.mjs', '/parts.mjs': 'words/parts.mjs', '/dom.mjs': 'view/dom.mjs', '/icon.svg': 'icon.svg', '/palette.css': 'palette.css', '/light.css': 'light.css' };
  const own = filesBelow(join(page, 'trust')).map((path) => ['/' + relative(join(page, 'trust'), path), path]);
  return [...own, ...Object.entries(shared).map(([address, path]) => [address, join(page, 'app', path)])];
}

const hashOf = (bytes) => createHash('sha256').update(bytes).digest('hex').slice(0, 16);

/** The worker that keeps the page offline is told what there is and which version it is: it changes when anything does. */
function withVersion(files) {
  const worker = files.find((file) => file.address === '/service_worker.js');
  const others = files.filter((file) => file !== worker);
  const version = hashOf(Buffer.from(others.map((file) => file.address + hashOf(file.bytes)).join() + worker.bytes));
  const list = others.map((file) => (file.address === '/index.html' ? '/' : file.address));
  const text = worker.bytes.toString('utf8').replace('__VERSION__', version).replace("'__FILES__'", JSON.stringify(list));
  worker.bytes = Buffer.from(text);
  return files;
}

function load([address, path]) {
  return { address, bytes: readFileSync(path), type: typeOf(path) };
}

/** The bundle's rows and bytes, appended to `blob`. */
function packed(files, blob) {
  return files.map((file) => {
    const zipped = gzipSync(file.bytes, { level: 9 });
    zipped[9] = 255; // the system that compressed it is not said, so that every machine makes the same bytes
    const row = `    {"${file.address}", "${file.type}", "\\"${hashOf(file.bytes)}\\"", ${blob.size}, ${zipped.length}},`;
    blob.parts.push(zipped);
    blob.size += zipped.length;
    return row;
  });
}

mkdirSync(out, { recursive: true });
const blob = { parts: [], size: 0 };
const app = packed(withVersion(appFiles().map(load)), blob);
const trust = packed(trustFiles().map(load), blob);
writeFileSync(join(out, 'page.bin'), Buffer.concat(blob.parts));
writeFileSync(
  join(out, 'page_table.inc'),
  ['// Made by sync/page/serve/embed.mjs.', `constexpr std::array<Row, ${app.length}> kApp = {{`, ...app, '}};',
    `constexpr std::array<Row, ${trust.length}> kTrust = {{`, ...trust, '}};', ''].join('\n'),
);
