// Speaks the person's language. All texts stand in words.mjs, one row each, one column a language.

import { kLanguages, kWords } from './words.mjs';

let column = 0;
let tag = 'en';
const dates = new Map();

/** @param {string} wanted a language of the table, or "auto" */
export function speak(wanted) {
  const wishes = wanted && wanted !== 'auto' ? [wanted] : [...navigator.languages, 'en'];
  const found = wishes.find((wish) => kLanguages.some((one) => one.tag === wish.split('-')[0])) ?? 'en';
  const language = found.split('-')[0];
  column = Math.max(0, kLanguages.findIndex((one) => one.tag === language));
  tag = found;
  dates.clear();
  document.documentElement.lang = language;
  document.documentElement.dir = kLanguages[column].direction ?? 'ltr';
}

/** @param {string} key @param {object} [args] */
export function say(key, args = {}) {
  const row = kWords[key];
  if (!row) return key;
  const text = row[column] ?? row[0];
  return typeof text === 'function' ? text(args) : text;
}

export const has = (key) => key in kWords;

function format(name, options) {
  if (!dates.has(name)) dates.set(name, new Intl.DateTimeFormat(tag, options));
  return dates.get(name);
}

/** The region of the person's language, as "US"; empty where it names none. */
export const region = () => /-([A-Z]{2})\b/.exec(tag)?.[1] ?? '';

/** "19:05" */
export const clock = (at) => format('clock', { hour: '2-digit', minute: '2-digit' }).format(at);
/** "25 Nov" */
export const day = (at) => format('day', { day: 'numeric', month: 'short' }).format(at);
export const number = (value, digits = 0) =>
  new Intl.NumberFormat(tag, { minimumFractionDigits: 0, maximumFractionDigits: digits }).format(value);
export const grams = (tenths) => say('unit.grams', { grams: number(tenths / 10, 1) });

/** "40 min ago", "yesterday 19:05", "25 Nov": how people say when. */
export function ago(at, now = Date.now()) {
  const minutes = Math.round((now - at) / 60_000);
  if (minutes < 1) return say('ago.now');
  if (minutes < 60) return say('ago.minutes', { minutes });
  if (minutes < 24 * 60) return say('ago.hours', { hours: Math.round(minutes / 60) });
  if (minutes < 7 * 24 * 60) return say('ago.days', { days: Math.round(minutes / (24 * 60)) });
  return day(at);
}
