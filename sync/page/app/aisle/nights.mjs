// Days and feeding nights are those of the collection's zone, not of this phone. Says what core/time says.

const kMinute = 60_000;
const kDay = 24 * 60 * kMinute;
/** From five in the morning on, people plan the coming evening. */
const kDayTurns = 7 * 60 * kMinute;

/** @typedef {{zone: [number, number][], night_start: number}} Settings */

/** @param {Settings} settings @param {number} at */
export function minutesEast({ zone }, at) {
  let minutes = zone[0]?.[1] ?? 0;
  for (const [from, value] of zone) if (from <= at) minutes = value;
  return minutes;
}

const local = (settings, at) => at + minutesEast(settings, at) * kMinute;

/** Days since 1970-01-01. @param {Settings} settings @param {number} at */
export const dayOf = (settings, at) => Math.floor(local(settings, at) / kDay);

/** The number of the feeding night that holds an instant. @param {Settings} settings @param {number} at */
export function nightOf(settings, at) {
  const minute = Math.floor((local(settings, at) - dayOf(settings, at) * kDay) / kMinute);
  return dayOf(settings, at) - (minute < settings.night_start ? 1 : 0);
}

/** The night that people mean by "tonight". @param {Settings} settings @param {number} at */
export const tonight = (settings, at) => nightOf(settings, at + kDayTurns);

/** The first instant at which clocks there show that minute of a day; where they pass over it, the end of the gap. */
export function instantOf(settings, day, minute) {
  const wanted = day * kDay + minute * kMinute;
  const zone = settings.zone.length > 0 ? settings.zone : [[0, 0]];
  const found = zone.map(([, east]) => wanted - east * kMinute).filter((at) => local(settings, at) === wanted);
  if (found.length > 0) return Math.min(...found);
  const after = zone.find(([from, east], i) => i > 0 && from + zone[i - 1][1] * kMinute <= wanted && wanted < from + east * kMinute);
  return after?.[0] ?? wanted - minutesEast(settings, wanted) * kMinute;
}

/**
 * When it was seen, of a time as an event's `said` carries it; a day alone means its noon.
 * @param {Settings} settings @param {{ago_min?: number, day?: string, clock?: string} | undefined} said @param {number} now
 */
export function instantSaid(settings, said, now) {
  if (said?.ago_min !== undefined) return now - said.ago_min * kMinute;
  if (said?.day === undefined) return now;
  const [hours, minutes] = (said.clock ?? '12:00').split(':').map(Number);
  return instantOf(settings, dayNumber(said.day), hours * 60 + minutes);
}

/** "2026-11-25" as a day number, also "2025-06" and "2025"; undefined for anything else. @param {string} text */
export function dayNumber(text = '') {
  const whole = text.length === 4 ? `${text}-07-01` : text.length === 7 ? `${text}-01` : text;
  if (!/^\d{4}-\d{2}-\d{2}$/.test(whole)) return undefined;
  const at = Date.parse(`${whole}T00:00:00Z`);
  return Number.isNaN(at) ? undefined : at / kDay;
}

export { kDay, kMinute };
