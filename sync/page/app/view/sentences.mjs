// Entries and questions as people say them.

import { phone } from '../phone.mjs';
import { clock, day, grams, number, say, has } from '../words/say.mjs';
import { seenAt } from '../aisle/overlay.mjs';
import { itemsText, preyText } from './session.mjs';
import { saidText } from './when.mjs';

const label = (id) => phone.aisle.label(id);

/** "ate 2 × small rat" @param {string} kind @param {object} [own] */
export function eventText(kind, own = {}) {
  if (['fed', 'refused', 'offered'].includes(kind) && own.items) return say('did.meal', { did: say(`did.${kind}`), items: itemsText(own.items) });
  if (kind === 'shed' && own.stuck && own.stuck !== 'unknown') return say('did.shed_stuck_at', { where: own.stuck });
  if (kind === 'shed') return say(own.stuck ? 'did.shed_stuck' : 'did.shed');
  if (kind === 'laid' && own.good !== undefined) return say('did.laid_counted', { good: own.good, slugs: own.slugs ?? 0 });
  if (kind === 'weighed') return say('did.weighed', { grams: grams(own.grams_tenths) });
  if (kind === 'treated' && own.with) return say('did.treated', { with: own.with });
  if (kind === 'incubated' && own.celsius_tenths !== undefined) return say('did.incubated_at', { celsius: number(own.celsius_tenths / 10, 1) });
  if (kind === 'ill' && own.signs) return say('did.ill_signs', { signs: own.signs });
  if (kind === 'candled' && own.good !== undefined) return say('did.candled_counted', { good: own.good, bad: own.bad ?? 0 });
  if (['pipped', 'hatched'].includes(kind) && own.count) return say(`did.${kind}_counted`, { count: own.count, egg: own.egg });
  if (kind === 'sexed' && own.sex) return say('did.sexed_as', { sex: say(`sex.${own.sex}`) });
  if (kind === 'palpated' && own.follicles_mm !== undefined) return say('did.palpated_mm', { mm: own.follicles_mm });
  if (kind === 'stocked' && own.prey) return say(own.counted ? 'did.stocked_counted' : own.count < 0 ? 'did.stocked_thrown' : 'did.stocked_came', { count: Math.abs(own.count), prey: preyText(own.prey) });
  return has(`did.${kind}`) ? say(`did.${kind}`) : kind;
}

/** Of whom an own entry is: the animals, else the place. */
export function ofWhom(entry) {
  const animals = entry.about?.animals ?? [];
  const ids = animals.length > 0 ? animals : entry.draft.of ?? [];
  if (entry.kind === 'ate' && entry.draft.own?.rack) return say('did.rest_of', { rack: label(entry.draft.own.rack) });
  const named = ids.map(label).join(' + ');
  return named || label(entry.draft.place);
}

export const entryText = (entry) => `${ofWhom(entry)} ${eventText(entry.kind, entry.draft.own)}${entry.kind === 'moved' ? ` ${label(entry.draft.place)}` : ''}`;

/** When an own entry was seen, where a person said so, else when it was entered. */
export const whenText = (entry) => (entry.draft.said ? say('when.seen', { when: saidText(entry.draft.said, seenAt(entry)) }) : clock(entry.wall));

// ---- questions

/** Once or twice is asked, not whether it ate. */
export const isDoubled = (question) => question.answers.includes('twice');

export function questionText(question) {
  const subject = label(question.subject);
  if (question.rule === 'feeding') return say(isDoubled(question) ? 'ask.fed_twice' : 'ask.check_tub', { subject });
  if (question.rule === 'field') return say('ask.field', { subject, field: question.detail?.field ?? '' });
  if (question.rule === 'whereabouts' && question.members.length === 1) return say('ask.whereabouts_one', { subject });
  return has(`ask.${question.rule}`) ? say(`ask.${question.rule}`, { subject }) : `${subject}: ${question.rule}`;
}

export function beliefText(question) {
  if (question.rule === 'feeding') return say(isDoubled(question) ? 'belief.fed_twice' : 'belief.check_tub');
  if (question.rule === 'laying') return say('belief.laying', { good: question.detail?.good ?? 0, slugs: question.detail?.slugs ?? 0 });
  if (question.rule === 'whose') return say(question.members[0]?.kind === 'treated' ? 'belief.both' : 'belief.whose');
  return has(`belief.${question.rule}`) ? say(`belief.${question.rule}`) : question.outcome ?? '';
}

function memberOf(question, ref) {
  return question.members.find((member) => member.ref === ref);
}

export function answerText(question, answer) {
  if (answer === 'open') return say('answer.open');
  const member = memberOf(question, answer);
  if (member) return accountSentence(member);
  if (question.rule === 'whose') return answer === 'nobody' ? say('answer.nobody') : label(answer);
  if (question.rule === 'field') return answer.replaceAll('"', '');
  const key = `answer.${question.rule}.${answer}`;
  return has(key) ? say(key, { together: question.detail?.together ?? '' }) : has(`answer.${answer}`) ? say(`answer.${answer}`) : answer;
}

function accountSentence(member) {
  const at = member.place ? ` ${label(member.place)}` : '';
  return `${eventText(member.kind, member.own)}${['moved', 'paired'].includes(member.kind) ? at : ''}`;
}

/** "Sefa, 19:05: ate small rat" */
export function accountText(member) {
  const who = member.by ?? say('account.somebody');
  const when = Date.now() - member.at < 20 * 3_600_000 ? clock(member.at) : `${day(member.at)} ${clock(member.at)}`;
  return say('account.line', { who, when, sure: Boolean(member.sure), what: accountSentence(member) });
}
