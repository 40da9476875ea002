// Makes a film for the fake camera from pictures that the program itself prints: uncompressed YUV4MPEG2, which Chromium
// plays in a loop. Each label stands on grey, a little soft and with noise, as a cheap camera sees it in a dim aisle.

import { readFileSync, writeFileSync } from 'node:fs';
import { inflateSync } from 'node:zlib';

const kWidth = 640;
const kHeight = 480;
const kRate = 10;

/** A grey PNG without interlace, one or eight bits a pixel. Source: PNG specification, third edition, 9 and 7.2. */
function readPng(path) {
  const file = readFileSync(path);
  let at = 8;
  let header;
  const data = [];
  while (at < file.length) {
    const length = file.readUInt32BE(at);
    const type = file.toString('latin1', at + 4, at + 8);
    const body = file.subarray(at + 8, at + 8 + length);
    if (type === 'IHDR') header = { width: body.readUInt32BE(0), height: body.readUInt32BE(4), bits: body[8], colour: body[9] };
    if (type === 'IDAT') data.push(body);
    at += 12 + length;
  }
  if (header.colour !== 0) throw new Error(`${path} is not grey`);
  const stride = Math.ceil((header.width * header.bits) / 8);
  const raw = inflateSync(Buffer.concat(data));
  const rows = unfiltered(raw, stride, header.height);
  const pixel = header.bits === 8 ? (x, y) => rows[y][x] : (x, y) => ((rows[y][x >> 3] >> (7 - (x & 7))) & 1) * 255;
  return { ...header, pixel };
}

function unfiltered(raw, stride, height) {
  const rows = [];
  let above = new Uint8Array(stride);
  for (let y = 0; y < height; y += 1) {
    const filter = raw[y * (stride + 1)];
    const row = Uint8Array.from(raw.subarray(y * (stride + 1) + 1, (y + 1) * (stride + 1)));
    for (let x = 0; x < stride; x += 1) {
      const [left, up, corner] = [x > 0 ? row[x - 1] : 0, above[x], x > 0 ? above[x - 1] : 0];
      row[x] += [0, left, up, (left + up) >> 1, paeth(left, up, corner)][filter];
    }
    rows.push(row);
    above = row;
  }
  return rows;
}

function paeth(a, b, c) {
  const [pa, pb, pc] = [b - c, a - c, a + b - 2 * c].map(Math.abs);
  return pa <= pb && pa <= pc ? a : pb <= pc ? b : c;
}

/** A frame's brightness: the picture in the middle, over most of the height. */
function frameOf(picture) {
  const luma = Buffer.alloc(kWidth * kHeight, 96);
  const scale = Math.min((kHeight * 0.9) / picture.height, (kWidth * 0.9) / picture.width);
  const [w, h] = [Math.floor(picture.width * scale), Math.floor(picture.height * scale)];
  const [left, top] = [(kWidth - w) >> 1, (kHeight - h) >> 1];
  for (let y = 0; y < h; y += 1) {
    for (let x = 0; x < w; x += 1) {
      // Four samples a pixel soften the edges.
      let sum = 0;
      for (const [dx, dy] of [[0.2, 0.2], [0.8, 0.2], [0.2, 0.8], [0.8, 0.8]])
        sum += picture.pixel(Math.min(picture.width - 1, Math.floor((x + dx) / scale)), Math.min(picture.height - 1, Math.floor((y + dy) / scale)));
      luma[(top + y) * kWidth + left + x] = 40 + sum * 0.16;
    }
  }
  let state = 12345;
  for (let i = 0; i < luma.length; i += 1) {
    state = (Math.imul(state, 1103515245) + 12345) >>> 0;
    luma[i] = Math.max(0, Math.min(255, luma[i] + ((state >>> 16) % 13) - 6));
  }
  return luma;
}

/**
 * @param {string} path @param {(string | undefined)[]} scenes pictures in order, undefined for an empty aisle
 * @param {number} seconds of each
 */
export function makeFilm(path, scenes, seconds = 2) {
  const grey = Buffer.alloc((kWidth * kHeight) / 2, 128);
  const parts = [Buffer.from(`YUV4MPEG2 W${kWidth} H${kHeight} F${kRate}:1 Ip A1:1 C420jpeg\n`)];
  for (const scene of scenes) {
    const luma = scene ? frameOf(readPng(scene)) : Buffer.alloc(kWidth * kHeight, 60);
    for (let i = 0; i < seconds * kRate; i += 1) parts.push(Buffer.from('FRAME\n'), luma, grey);
  }
  writeFileSync(path, Buffer.concat(parts));
}
