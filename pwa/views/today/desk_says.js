// What the desk says to what was noted last on a fixture: do it so, do it again, wait; and the crew's word back.

import {
  byPlace,
  DONE_AGAIN,
  differenceState,
  problemState,
  UNANSWERED,
  wordsOn,
} from '../../rules/installing/outcomes.js';
import { Survey } from '../../rules/survey.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { SayMore, saidOn, Talk } from '../parts/conversation.js';
import { mayWrite } from '../record_screens.js';
import { choiceText, say } from '../words.js';

/** @typedef {import('../parts/conversation.js').Said} Said */

/** @param {Site} site @param {RecordView<'installation'>} newest */
async function readSaid(site, newest) {
  const below = await site.children(newest.id);
  const survey = new Survey(/** @type {ViewRecord[]} */ ([newest, ...below]));
  const problem = newest.facets.identity?.outcome === 'problem';
  // All that was said about a problem stands with the problem below: here only what was answered last.
  const answers = survey.children(newest, 'problem_answer').sort(byPlace);
  return {
    problem,
    last: answers.at(-1)?.facets.identity?.words,
    state: problem ? problemState(survey, newest) : differenceState(survey, newest),
    words: /** @type {Said[]} */ (
      problem ? wordsOn(survey, newest) : survey.children(newest, 'difference_answer')
    ),
  };
}

/** @param {{site: Site, newest: RecordView<'installation'> | undefined}} props */
export function DeskSays({ site, newest }) {
  const read = useLive(async () => (newest ? readSaid(site, newest) : null), [newest]);
  if (!newest || !read || !(read.problem || read.state === DONE_AGAIN)) return null;
  const answered = read.state !== UNANSWERED;
  return html`<section class=${`notice stack ${answered ? 'bad' : ''}`} aria-label=${say('talk.the-desk-says')}>
    <h2>${answered ? say('talk.the-manager-says', { answer: choiceText(read.state) }) : say('talk.no-answer-yet')}</h2>
    ${read.problem ? read.last && html`<p>${read.last}</p>` : html`<${Talk} words=${read.words} />`}
    ${
      read.problem &&
      mayWrite(site, 'problem_reply') &&
      html`<details><summary class="turn">${say('talk.say-more')}</summary>
      <${SayMore} label=${say('talk.words-to-the-desk')} button=${say('page.save')} needsWords=${true}
        onSaid=${(/** @type {string} */ words) => site.save([saidOn(site, 'problem_reply', newest.id, { words })])} />
    </details>`
    }
  </section>`;
}
