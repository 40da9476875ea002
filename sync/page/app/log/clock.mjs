// The phone's raw clock: the wall as it stands, right or wrong, and the time since this page was loaded.

import { randomHex } from '../base/bytes.mjs';

const run = randomHex(8);

/** @returns {import('./event.mjs').ClockReading} */
export const readClock = () => ({ wall: Date.now(), run, ms: Math.round(performance.now()) });

/** How far the wall clock ran away from the page's own counter between two readings of one run. */
export const drift = (a, b) => b.wall - b.ms - (a.wall - a.ms);
