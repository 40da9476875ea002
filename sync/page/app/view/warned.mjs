// What is said loudly (cautions) and softly (notices), as lists.

import { say } from '../words/say.mjs';
import { h, icon } from './dom.mjs';

/** @param {[string, object][]} lines @param {'cautions' | 'notices'} tag */
export function warningList(lines, tag) {
  return lines.length > 0 && h(`ul.${tag}`, null, lines.map(([key, args]) => h('li', null, tag === 'cautions' && icon('warning'), h('span', null, say(key, args)))));
}

/** Both of an entry. @param {{warnings: [string, object][], notices: [string, object][]} | undefined} told */
export const warnedOf = (told) => (told ? [warningList(told.warnings, 'cautions'), warningList(told.notices, 'notices')] : []);
