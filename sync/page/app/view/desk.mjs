// The hub's own screen, or any wide one: what happens now, who is where, what is asked, what is due, at one glance.

import { phone } from '../phone.mjs';
import { clock, number, say } from '../words/say.mjs';
import { h } from './dom.mjs';
import { go } from './route.mjs';
import { devicesBlock, loadDevices } from './more.mjs';
import { claimText, dueSums, rackButton } from './lists.mjs';
import { openQuestions, questionCard } from './questions.mjs';

function feedLine(mark) {
  const whom = (mark.of ?? mark.shown ?? [mark.place]).filter(Boolean).map((id) => phone.aisle.label(id)).join(' + ');
  return h('li', null, h('small', null, clock(mark.heard)), ' ', h('b', null, phone.aisle.label(mark.by) || say('account.somebody')), ' ', say(`kind.${mark.kind}`), ' ', whom);
}

export function deskView() {
  const view = h('main.page.desk');
  const update = () => {
    const questions = openQuestions();
    view.replaceChildren(
      h('h1', null, say('nav.desk')),
      h('section.block', null, h('h2', null, say('desk.now')), phone.aisle.feed.length === 0 ? h('p.hint', null, say('desk.quiet')) : h('ul.plainlist', { 'aria-live': 'polite' }, phone.aisle.feed.slice(0, 20).map(feedLine))),
      h('section.block', null, h('h2', null, say('nav.today')), dueSums(Date.now()), h('ul.racks', null, phone.aisle.racks.map((rack) => h('li', null, rackButton(rack, claimText(rack.id)))))),
      h('section.block', null, h('h2', null, say('nav.questions'), ` (${number(questions.length)})`), questions.length === 0 ? h('p.hint', null, say('questions.none')) : questions.slice(0, 6).map(questionCard)),
      devicesBlock(update) || '',
      phone.link.role === 'keeper' ? h('section.block', null, h('h2', null, say('labels.labels')), h('p.hint', null, say('labels.desk')), h('button.quiet.wide', { type: 'button', onclick: () => go('labels') }, say('labels.title'))) : '',
    );
  };
  update();
  if (phone.link.role === 'keeper') loadDevices(update);
  return { view, update };
}
