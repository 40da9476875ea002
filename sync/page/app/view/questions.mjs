// Questions: what accounts disagree about, what is believed meanwhile, and one tap that settles it.

import { phone } from '../phone.mjs';
import { number, say } from '../words/say.mjs';
import { h, icon } from './dom.mjs';
import { accountText, answerText, beliefText, isDoubled, questionText } from './sentences.mjs';
import { nightOf } from '../aisle/nights.mjs';
import { signal } from './signals.mjs';

let everyone = false;
let settled; // {questions, answer} just now

/** Whether a question is about something that this phone's helper told. */
export const concernsMe = (question) =>
  phone.link?.role === 'keeper' || question.members.some((member) => member.by_code === phone.by || member.ref.startsWith(phone.head?.device ?? '-'));

/** Those of one rule, rack, night and outcome: they come as one. */
function groupOf(question) {
  const animal = phone.aisle.animals.get(question.subject);
  const place = animal ? phone.aisle.placeOf(animal) : question.subject;
  const rack = phone.aisle.places.get(place)?.rack ?? '';
  return { key: [question.rule, question.outcome, rack, nightOf(phone.aisle.settings, question.at)].join(), rack };
}

export function openQuestions() {
  const all = [...phone.aisle.questions.values()];
  return everyone ? all : all.filter(concernsMe);
}

async function answer(questions, text) {
  await phone.settle(questions, text);
  settled = { questions, answer: text };
  signal('saved');
}

function answerButtons(questions) {
  const [first] = questions;
  return h('div.answers', null, first.answers.map((one) => h('button.act', { type: 'button', onclick: () => answer(questions, one) }, h('b', null, answerText(first, one)))));
}

export function questionCard(question) {
  return h('article.question', null,
    h('h3', null, questionText(question)),
    h('ul', null, question.members.map((member) => h('li', null, accountText(member)))),
    h('p.belief', null, h('b', null, say('questions.belief')), ' ', beliefText(question)),
    phone.mayWrite && answerButtons([question]));
}

/** Answers that mean the same for all of a group: not the name of an event or an animal. */
const isCommon = (questions) => questions[0].rule === 'feeding' && questions.length > 1;

export function questionsView() {
  const view = h('main.page');
  const update = () => {
    const groups = new Map();
    for (const question of openQuestions()) {
      const { key, rack } = groupOf(question);
      if (!groups.has(key)) groups.set(key, { rack, questions: [] });
      groups.get(key).questions.push(question);
    }
    const others = [...phone.aisle.questions.values()].filter((question) => !concernsMe(question)).length;
    view.replaceChildren(
      ...[
        h('h1', null, say('nav.questions')),
        settled && h('section.saved', { role: 'status' }, h('p', null, icon('check'), h('b', null, say('questions.settled')), ' ', answerText(settled.questions[0], settled.answer)),
          h('button.undo', { type: 'button', onclick: async () => { await phone.settle(settled.questions, 'open'); settled = undefined; phone.aisle.rebuild(); update(); } }, icon('undo'), say('saved.undo'))),
        groups.size === 0 && h('p.hint', null, say('questions.none')),
        [...groups.values()].map(({ rack, questions }) =>
          h('section', null,
            isCommon(questions) && h('div.alike', null, h('h2', null, say('questions.alike', { rack: phone.aisle.label(rack), count: questions.length, text: say(isDoubled(questions[0]) ? 'ask.twice_many' : 'ask.check_many') })), phone.mayWrite && answerButtons(questions)),
            questions.map(questionCard))),
        (others > 0 || everyone) && h('button.quiet.wide', { type: 'button', onclick: () => { everyone = !everyone; update(); } }, everyone ? say('questions.mine') : say('questions.others', { count: number(others) })),
      ].flat(2).filter(Boolean),
    );
  };
  update();
  return { view, update };
}
