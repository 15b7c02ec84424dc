// Problems of the crews as a conversation: what was found, in words and photos, and what the manager answers.

import { useState } from 'preact/hooks';
import { passedOver, problemState, UNANSWERED, WAITS, wordsOn } from '../../../rules/installing/outcomes.js';
import { facet, Survey } from '../../../rules/survey.js';
import { store } from '../../../store/store.js';
import { notedIn } from '../../crew/jobs.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { Chips } from '../../inputs/fields.js';
import { byOrder } from '../../newest.js';
import { SayMore, saidOn, Talk } from '../../parts/conversation.js';
import { Mark } from '../../parts/parts.js';
import { Photos } from '../../parts/photos.js';
import { mayWrite, titleOf } from '../../record_screens.js';
import { fixturePath } from '../../scanning/find_label.js';
import { choiceText, counted, say, timeText } from '../../words.js';
import { Desk } from '../parts.js';
import { minutesOpen, openText } from './time_open.js';

/** @typedef {import('../../parts/conversation.js').Said} Said */
/** @typedef {{record: RecordView<'installation'>, group: RecordView<'group'>, room: RecordView<'room'> | undefined, mark: string, position: number, state: string, waits: boolean, after: RecordView<'installation'> | undefined, words: Said[]}} ProblemRead */

const [OPEN, ALL] = ['open', 'all-of-them'];
/** More are drawn only when asked for. */
const FIRST = 40;

/** Every problem, those that wait first, the oldest of them at the top. @param {Site} site @returns {Promise<ProblemRead[]>} */
async function readProblems(site) {
  const survey = new Survey(await site.everything());
  const found = survey.ofType('group').flatMap((each) => {
    const group = /** @type {RecordView<'group'>} */ (each);
    const last = notedIn(survey, group);
    const noted = /** @type {RecordView<'installation'>[]} */ (survey.children(group, 'installation'));
    const hidden = new Set(passedOver(noted));
    return noted
      .filter((record) => facet(record, 'identity').outcome === 'problem')
      .map((record) => problemRead(survey, group, record, last, hidden.has(record)));
  });
  return found.sort((a, b) => Number(b.waits) - Number(a.waits) || byOrder(a.record, b.record));
}

/** @param {Survey} survey @param {RecordView<'group'>} group @param {RecordView<'installation'>} record @param {ReturnType<typeof notedIn>} last @param {boolean} passed only other people noted something after it @returns {ProblemRead} */
function problemRead(survey, group, record, last, passed) {
  const position = Number(facet(record, 'identity').position ?? 0);
  const state = problemState(survey, record);
  const newest = last.get(position)?.record;
  const isHidden = passed && state === UNANSWERED;
  return {
    record,
    group,
    room: /** @type {RecordView<'room'> | undefined} */ (survey.roomOf(group)),
    mark: facet(survey.kindOf(group), 'identity').mark ?? '',
    position,
    state,
    waits: isHidden || (WAITS.includes(state) && newest?.id === record.id),
    after: isHidden ? newest : undefined,
    words: /** @type {Said[]} */ (wordsOn(survey, record)),
  };
}

/** @param {{site: Site}} props */
export function Problems({ site }) {
  const [which, setWhich] = useState(OPEN);
  const [most, setMost] = useState(FIRST);
  const every = useLive(() => readProblems(site), [site.id]);
  const waiting = every?.filter(({ waits }) => waits) ?? [];
  const shown = which === OPEN ? waiting : (every ?? []);
  return html`<${Desk} site=${site} at="/problems" title=${say('place.problems')}>
    ${every && html`<p class="strong" role="status">${waiting.length > 0 ? say('problems.waiting', { problems: counted(waiting.length, 'problem') }) : say('problems.none')}</p>`}
    <${Chips} name="which" title=${say('page.show')} choices=${[OPEN, ALL]} value=${which} onChange=${setWhich} />
    ${shown.slice(0, most).map((each) => html`<${OneProblem} key=${each.record.id} site=${site} of=${each} />`)}
    ${shown.length > most && html`<button type="button" class="button" onClick=${() => setMost(most * 4)}>${say('page.show-more-left', { left: shown.length - most })}</button>`}
  <//>`;
}

/** @param {{site: Site, of: ProblemRead}} props */
function OneProblem({ site, of: { record, group, room, mark, position, state, waits, after, words } }) {
  const { problem, reason, noted_at: at } = facet(record, 'identity');
  const title = say('today.fixture', { room: room ? titleOf(room) : '', mark, position });
  const from = at ?? record.at.identity ?? '';
  const answered = words.filter(({ type }) => type === 'problem_answer').at(-1);
  const until = waits ? new Date().toISOString() : (answered?.at.identity ?? from);
  return html`<article class="card" aria-label=${title}>
    <h2><a class="tall" href=${fixturePath(site.id, group.id, position)}>${title}</a></h2>
    <p class="marks">
      <${Mark} look=${waits ? 'attention' : ''}>${choiceText(state)}<//>
      <${Mark}>${say(waits ? 'problems.open-for' : 'problems.was-open-for', { time: openText(minutesOpen(from, until)) })}<//>
    </p>
    ${reason && html`<p class="strong">${choiceText(reason)}</p>`}
    ${problem && html`<p>${problem}</p>`}
    <p class="muted small">${store.whoSaid(record)}, ${timeText(from)}</p>
    ${after && html`<p class="notice bad">${say('problems.passed-over', { person: store.whoSaid(after), outcome: choiceText(facet(after, 'identity').outcome ?? '') })}</p>`}
    <${Photos} site=${site} subject=${record.id} />
    <${Talk} words=${words} />
    ${waits && mayWrite(site, 'problem_answer') && html`<${Answering} site=${site} installation=${record.id} />`}
  </article>`;
}

/** @param {{site: Site, installation: string}} props */
function Answering({ site, installation }) {
  const [answer, setAnswer] = useState('');
  /** @param {string} words */
  const save = (words) => {
    if (!answer) return Promise.reject({ code: 'problems.choose' });
    return site.save([saidOn(site, 'problem_answer', installation, { answer, ...(words && { words }) })]);
  };
  return html`<${SayMore} label=${say('problems.in-words')} button=${say('problems.answer')} needsWords=${false} onSaid=${save}>
    <${Chips} name="answer" title=${say('problems.your-answer')} help=${say('problems.answer-help')} value=${answer} onChange=${setAnswer}
      choices=${site.spec.records.problem_answer.facets.identity.fields.answer.choices} />
  <//>`;
}
