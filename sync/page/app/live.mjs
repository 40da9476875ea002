// Hears what others record while the hub is near: a stream read with fetch, so that the token stays in a header.

import { ask } from './log/exchange.mjs';

const kAgainFirst = 1_000;
const kAgainMost = 30_000;
const kSilence = 25_000; // the hub sends a line feed every ten seconds
const kCopySoon = 1_500;

/** @param {import('./phone.mjs').phone} phone */
export function listen(phone) {
  let wait = kAgainFirst;
  let running = false;

  async function hear() {
    const ending = new AbortController();
    let watch = setTimeout(() => ending.abort(), kSilence);
    try {
      const answer = await ask('/v1/live', { token: phone.link.token, signal: ending.signal });
      const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
      let rest = '';
      for (;;) {
        const { value, done } = await reader.read();
        if (done) return;
        wait = kAgainFirst;
        clearTimeout(watch);
        watch = setTimeout(() => ending.abort(), kSilence);
        const lines = (rest + value).split('\n');
        rest = lines.pop();
        for (const line of lines) if (line) take(JSON.parse(line));
      }
    } finally {
      clearTimeout(watch);
      ending.abort();
    }
  }

  function take(line) {
    if (line.claims) phone.aisle.claims = new Map(line.claims.map((claim) => [claim.rack, claim]));
    if (line.claim) phone.aisle.claims.set(line.claim.rack, line.claim);
    if (line.freed) phone.aisle.claims.delete(line.freed);
    if (line.mark) mark(line.mark);
    phone.changed();
  }

  function mark(mark) {
    const device = mark.ref.split(':')[0];
    const known = { ...mark, device, heard: Date.now() };
    for (const id of [...(mark.of ?? []), ...(mark.shown ?? []), mark.place].filter(Boolean)) phone.aisle.marks.set(id, known);
    phone.aisle.feed = [known, ...phone.aisle.feed].slice(0, 50);
    if (device !== phone.head.device) phone.syncSoon(kCopySoon);
  }

  async function keepHearing() {
    if (running) return;
    running = true;
    while (phone.joined && document.visibilityState === 'visible') {
      try {
        await hear();
      } catch {
        // the hub is away: tried again below
      }
      await new Promise((resolve) => setTimeout(resolve, wait));
      wait = Math.min(wait * 2, kAgainMost);
    }
    running = false;
  }

  document.addEventListener('visibilitychange', keepHearing);
  window.addEventListener('online', keepHearing);
  keepHearing();
}
