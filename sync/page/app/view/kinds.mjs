// The kinds that can be entered on the phone: what each asks for. A kind is added by a row here and its words.

/**
 * `form`: plain saves at once; the others open a sheet. `correct`: what the saved band offers instead, by one tap.
 * `as`: the log's kind, where the button is a variety of it.
 * @type {Record<string, {form: string, group?: 'food'|'body'|'season'|'eggs'|'tub'|'fate', correct?: string[], as?: string}>}
 */
export const kKinds = {
  fed: { form: 'meal', group: 'food', correct: ['refused'] },
  offered: { form: 'meal', group: 'food', correct: ['refused'] },
  refused: { form: 'meal', group: 'food', correct: ['fed'] },
  leftover: { form: 'plain', group: 'food' },
  ate: { form: 'plain', group: 'food' },
  regurgitated: { form: 'plain', group: 'food' },
  shed: { form: 'plain', group: 'body', correct: ['shed_stuck'] },
  shed_stuck: { form: 'stuck', group: 'body', as: 'shed' },
  opaque: { form: 'plain', group: 'body' },
  cleared: { form: 'plain', group: 'body' },
  weighed: { form: 'grams', group: 'body' },
  treated: { form: 'remedy', group: 'body' },
  ill: { form: 'signs', group: 'body' },
  well: { form: 'plain', group: 'body' },
  sexed: { form: 'sex', group: 'body' },
  noted: { form: 'note', group: 'body' },
  paired: { form: 'partner', group: 'season' },
  separated: { form: 'plain', group: 'season' },
  locked: { form: 'plain', group: 'season' },
  palpated: { form: 'mm', group: 'season' },
  ovulated: { form: 'plain', group: 'season' },
  gravid: { form: 'plain', group: 'season' },
  laid: { form: 'eggs', group: 'eggs' },
  incubated: { form: 'celsius', group: 'eggs' },
  candled: { form: 'candled', group: 'eggs' },
  pipped: { form: 'young', group: 'eggs' },
  hatched: { form: 'young', group: 'eggs' },
  watered: { form: 'plain', group: 'tub' },
  cleaned: { form: 'plain', group: 'tub' },
  moved: { form: 'place', group: 'tub' },
  held: { form: 'plain', group: 'fate' },
  reserved: { form: 'buyer', group: 'fate' },
  sold: { form: 'sure', group: 'fate' },
  left: { form: 'sure', group: 'fate' },
  died: { form: 'sure', group: 'fate' },
};

export const kQuick = ['fed', 'offered', 'refused', 'shed', 'paired', 'laid'];
export const kGroups = ['food', 'body', 'season', 'eggs', 'tub', 'fate'];
/** What is told of eggs: of a clutch's code, or a box's. */
export const kOfEggs = ['candled', 'incubated', 'pipped', 'hatched', 'noted'];
/** What a round can give to every scan. */
export const kRoundKinds = ['fed', 'offered', 'refused', 'leftover', 'watered', 'cleaned'];

/** The log's kind of a button. */
export const kindOf = (button) => kKinds[button]?.as ?? button;

export const isMeal = (kind) => kKinds[kind]?.form === 'meal';
