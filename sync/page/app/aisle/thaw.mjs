// What to thaw for tonight, from the same facts as what is due: what core/read/freezer says of the book. What the freezer
// holds, only the hub knows.

import { isToBeFed, limitsOf, mealState } from './due.mjs';
import { dayOf, tonight } from './nights.mjs';

/** @typedef {{prey: string, wanted: number, margin: number}} ThawItem */

/**
 * @param {import('./aisle.mjs').Aisle} aisle @param {number} now
 * @returns {{items: ThawItem[], toFeed: number, unknown: number}} `unknown`: to be fed, but nobody said with what
 */
export function thawTonight(aisle, now) {
  const { settings } = aisle;
  const limits = limitsOf(settings);
  const at = { tonight: tonight(settings, now), today: dayOf(settings, now), now };
  const wanted = new Map();
  let toFeed = 0;
  let unknown = 0;
  for (const animal of aisle.animals.values()) {
    // Who visits is separated before it is fed.
    if (animal.gone || animal.visit || !isToBeFed(mealState(animal, limits, at).state)) continue;
    toFeed += 1;
    if (animal.prey) wanted.set(animal.prey, (wanted.get(animal.prey) ?? 0) + (animal.prey_count ?? 1));
    else unknown += 1;
  }
  const items = [...wanted].sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([prey, count]) => ({ prey, wanted: count, margin: Math.ceil((count * limits.thaw_margin_percent) / 100) }));
  return { items, toFeed, unknown };
}
