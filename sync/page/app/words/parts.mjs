// Small parts of texts, shared by the tables.

export const n = (count, one, many) => `${count} ${count === 1 ? one : many}`;

/** How long ago, of whole days. */
export const span = (days) => (days <= 0 ? 'less than a day' : n(days, 'day', 'days'));
export const spanInGerman = (days) => (days <= 0 ? 'weniger als einem Tag' : n(days, 'Tag', 'Tagen'));

/** Tenths of a gram. */
export const weight = (tenths) => `${tenths >= 1000 ? Math.round(tenths / 10) : tenths / 10} g`;

/** The date of a day's number, as everybody reads it: "2026-12-03". */
export const date = (dayNumber) => new Date(dayNumber * 86_400_000).toISOString().slice(0, 10);

const kFasts = { cooling: 'Kühlung', breeding: 'Zucht', veterinarian: 'Tierarzt', shipping: 'Versand', other: 'anderes' };
/** Why it is not fed on purpose, in German: core/husbandry/facts.h. */
export const fastWord = (why) => kFasts[why] ?? why;
