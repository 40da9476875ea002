// What a read code is called on the screen.

import { phone } from '../phone.mjs';
import { isOfEggs } from '../aisle/compose.mjs';
import { say } from '../words/say.mjs';

/** "Clutch of C-3, box 2 of 3"; of all else the label. @param {string} code */
export function nameOf(code) {
  const { label, of, box = 0, boxes = 1 } = (isOfEggs(code) && phone.aisle.codes.get(code)) || {};
  if (!of) return phone.aisle.label(code);
  return say(boxes > 1 ? 'eggs.box_of' : 'eggs.clutch_of', { dam: label ?? of, box, boxes });
}
