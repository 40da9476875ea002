// Decodes pictures beside the page, so that no tap waits for it. Only this file may compile WebAssembly.

import { prepareZXingModule, readBarcodes } from '/library/reader/index.js';

/** @type {import('/library/reader/index.js').ReaderOptions} */
const options = { formats: ['QRCode'], tryHarder: true, tryInvert: false, maxNumberOfSymbols: 4 };

const ready = prepareZXingModule({
  overrides: { locateFile: () => '/library/reader.wasm' },
  fireImmediately: true,
});
ready.then(
  () => postMessage({ ready: true }),
  (error) => postMessage({ missing: String(error) }),
);

let canvas;

/** The pixels of a picture; drawing it here keeps that off the page too. */
function pixelsOf(picture) {
  if (picture instanceof ImageData) return picture;
  if (canvas?.width !== picture.width || canvas?.height !== picture.height)
    canvas = new OffscreenCanvas(picture.width, picture.height);
  const context = canvas.getContext('2d', { willReadFrequently: true });
  context.drawImage(picture, 0, 0);
  picture.close();
  return context.getImageData(0, 0, canvas.width, canvas.height);
}

onmessage = async (event) => {
  const { id, picture } = event.data;
  try {
    await ready;
    const found = await readBarcodes(pixelsOf(picture), options);
    postMessage({ id, texts: found.filter((one) => one.isValid).map((one) => one.text) });
  } catch (error) {
    postMessage({ id, texts: [], failed: String(error) });
  }
};
