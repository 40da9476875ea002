// What the hub does for the page beyond the book: photos that a phone cannot read itself, labels from the keeper's desk,
// the devices as the keeper sees them.

import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { eventually, finish, holds, Hub, join, Phone, same, test } from './support.mjs';

const hub = new Hub();
await hub.start();
const authority = (await hub.authority()).bytes;

const sheet = join(hub.folder, 'sheet');
hub.run('label', 'places', 'A', '--out', `${sheet}.pdf`, '--no-record');
execFileSync('pdftoppm', ['-r', '150', '-jpeg', '-singlefile', `${sheet}.pdf`, sheet]);
const whole = { name: 'rack.jpg', mimeType: 'image/jpeg', buffer: readFileSync(`${sheet}.jpg`) };
const single = join(hub.folder, 'single.png');
hub.run('label', 'png', 'A-03', '--out', single);

const choose = async (phone, file) => {
  await phone.go('photo');
  await phone.page.locator('input[type=file]').setInputFiles(file);
};

/** A photo of A-03 so blurred that the phone reads nothing: how much that takes is found by trying. */
async function blurred(phone) {
  const bytes = await phone.page.evaluate(async (base64) => {
    const { decode } = await import('/scan/camera.mjs');
    const source = await createImageBitmap(new Blob([Uint8Array.from(atob(base64), (c) => c.charCodeAt(0))], { type: 'image/png' }));
    for (let blur = 1; blur < 30; blur += 0.5) {
      const canvas = new OffscreenCanvas(source.width * 3, source.height * 3);
      const context = canvas.getContext('2d');
      context.fillStyle = '#fff';
      context.fillRect(0, 0, canvas.width, canvas.height);
      context.filter = `blur(${blur}px)`;
      context.drawImage(source, source.width, source.height);
      const picture = await createImageBitmap(canvas);
      if ((await decode(picture)).length > 0) continue;
      const blob = await canvas.convertToBlob({ type: 'image/png' });
      return [...new Uint8Array(await blob.arrayBuffer())];
    }
    return [];
  }, readFileSync(single).toString('base64'));
  return { name: 'blurred.png', mimeType: 'image/png', buffer: Buffer.from(bytes) };
}

const phone = await Phone.create({ authority });
const { page } = phone;
await phone.join(hub, hub.invite('Sefa'));
const hard = await blurred(phone);

await test('what the phone reads itself needs no hub', async () => {
  await choose(phone, single);
  await page.locator('.card').waitFor();
  holds((await page.locator('.card .place').textContent()).includes('A-03'), 'the tub is in view');
});

await test('a photo that the phone cannot read is read by the hub', async () => {
  holds(hard.buffer.length > 0, 'a blur was found that defeats the phone');
  await choose(phone, hard);
  await page.locator('.card').waitFor();
  holds((await page.locator('.card .place').textContent()).includes('A-03'), 'the tub is in view');
});

await test('of many labels the hub finds those that the phone missed', async () => {
  await choose(phone, whole);
  await phone.tap('Let the hub look for more');
  await page.getByText('The hub read 6 labels.').waitFor();
  same(await page.locator('.result .found li').count(), 6);
  await page.locator('.result .found button').nth(4).click();
  await page.locator('.card').waitFor();
});

await test('a photo without a label says what to do', async () => {
  const blank = await page.evaluate(async () => {
    const canvas = new OffscreenCanvas(300, 300);
    canvas.getContext('2d').fillRect(0, 0, 300, 300);
    return [...new Uint8Array(await (await canvas.convertToBlob({ type: 'image/jpeg' })).arrayBuffer())];
  });
  await choose(phone, { name: 'dark.jpg', mimeType: 'image/jpeg', buffer: Buffer.from(blank) });
  await page.getByText('There is no label in it.').waitFor();
  await choose(phone, { name: 'note.txt', mimeType: 'text/plain', buffer: Buffer.from('no picture') });
  await page.getByText('This is no photo that can be read.').waitFor();
});

await test('away from the hub a photo is kept, and read when the hub is near again', async () => {
  await hub.stop();
  await choose(phone, hard);
  await page.getByText('The photo is kept, and the hub reads it').waitFor();
  await page.getByText('Kept photos (1)').waitFor();
  await phone.close();
  await phone.open();
  await phone.page.goto(`${hub.url}/`);
  await phone.page.locator('.idle').waitFor();
  await phone.go('photo');
  await phone.page.getByText('Waits for the hub').waitFor();
  await hub.start();
  await phone.exchange();
  await phone.page.getByText('read by the hub').waitFor();
  await phone.go('scan');
  await phone.tap('Photo (1 read)');
  await phone.page.locator('.keptphoto .found button').first().click();
  await phone.page.locator('.card').waitFor();
  await phone.go('photo');
  await phone.tap('Delete the photo');
  await eventually(async () => (await phone.page.locator('.keptphoto').count()) === 0, 'the photo is gone');
});

await test('only so many photos are kept, and that is said', async () => {
  const said = await phone.page.evaluate(async () => {
    const { photos } = await import('/scan/photos.mjs');
    photos.notBefore = Infinity;
    for (let i = 0; i < 20; i += 1) await photos.keep({ bytes: new ArrayBuffer(10), type: 'image/jpeg' });
    try {
      await photos.keep({ bytes: new ArrayBuffer(10), type: 'image/jpeg' });
    } catch (error) {
      return error.key;
    }
    return 'kept';
  });
  same(said, 'photo.full');
  same(await phone.page.evaluate(async () => (await import('/scan/photos.mjs')).photos.kept.length), 20);
});

await test('one that cannot be read costs only itself', async () => {
  await phone.page.evaluate(async () => {
    const { photos } = await import('/scan/photos.mjs');
    photos.notBefore = 0;
    await photos.sendKept();
  });
  // Of twenty bad ones each has its own outcome; the others were asked all the same.
  await eventually(async () => {
    await phone.exchange();
    return phone.page.evaluate(async () => (await import('/scan/photos.mjs')).photos.kept.filter((one) => one.problem).length > 5);
  }, 'each has an outcome');
});

await test('a keeper prints labels from the desk', async () => {
  const desk = await Phone.create({ authority, size: { width: 1280, height: 800 } });
  await desk.join(hub, hub.invite('Ottoline', 'keeper'));
  await desk.go('desk');
  await desk.page.getByRole('button', { name: 'Print labels' }).click();
  await desk.page.getByRole('button', { name: 'Rack A' }).click();
  await desk.page.getByRole('button', { name: 'Make the PDF (6 labels)' }).click();
  await desk.page.getByText('6 labels on 1 page, each one read back.').waitFor();
  const [download] = await Promise.all([desk.page.waitForEvent('download'), desk.page.getByRole('link', { name: 'Save the PDF' }).click()]);
  const path = join(hub.folder, 'saved.pdf');
  await download.saveAs(path);
  same(readFileSync(path).subarray(0, 5).toString(), '%PDF-');
  same(hub.json('label', 'prints')[0].codes.length, 6);
  await desk.page.getByRole('switch', { name: 'Only what changed' }).click();
  await desk.page.getByRole('button', { name: /Make the PDF/ }).click();
  await desk.page.getByText('nothing changed since these labels were printed last').waitFor();
  await desk.page.getByRole('button', { name: 'Animal cards' }).click();
  await desk.page.getByRole('searchbox').fill('C-5');
  await desk.page.locator('.found button').first().click();
  await desk.page.getByRole('button', { name: 'C-5 ✕' }).waitFor();
  desk.noComplaints();
  await desk.close();
});

await test('the keeper sees who, last seen, unsent and clock, and retires one', async () => {
  const desk = await Phone.create({ authority, size: { width: 1280, height: 800 } });
  await desk.join(hub, hub.invite('Ottoline', 'keeper'));
  const lost = hub.invite('Bram');
  const other = await Phone.create({ authority });
  await other.join(hub, lost);
  await other.exchange();
  await desk.go('desk');
  const line = desk.page.locator('.device', { hasText: 'Bram' });
  await line.getByText('here now').waitFor();
  await line.getByText('all sent').waitFor();
  await line.getByText('clock right').waitFor();
  await other.close();
  await line.getByRole('button', { name: 'Retire Bram' }).click();
  await desk.page.locator('dialog').getByRole('button', { name: 'Retire' }).click();
  await line.getByText('retired').waitFor();
  await desk.close();
});

await phone.close();
await finish();
