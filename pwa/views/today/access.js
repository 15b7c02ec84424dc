// Platform runs: the day's fixtures by how they are reached, so that a platform is moved once.

import { html } from '../html.js';
import { Caution, Mark } from '../parts/parts.js';
import { titleOf } from '../record_screens.js';
import { choiceText, counted, keptLengthText, say } from '../words.js';
import { runsOf } from './access_runs.js';
import { ListOfDay } from './scope.js';

/** @typedef {import('./access_runs.js').Run} Run */
/** @typedef {import('./read_day.js').Day} Day */

/** What is to be known before one climbs. @type {Record<string, string>} */
const CAUTIONS = {
  platform: 'access.caution-platform',
  ladder: 'access.caution-ladder',
  blocked: 'access.blocked',
  'not-seen': 'access.not-seen',
};

/** @param {{site: Site}} props */
export function Access({ site }) {
  return html`<${ListOfDay} site=${site} title=${say('today.access')}>
    ${(/** @type {Day} */ day, /** @type {import('../crew/jobs.js').Job[]} */ jobs) =>
      runsOf(jobs).map((run) => html`<${OfRun} key=${`${run.access}|${run.floor}`} day=${day} run=${run} />`)}
  <//>`;
}

/** @param {{day: Day, run: Run}} props */
function OfRun({ day, run: { access, floor, rooms, left, highestTicks } }) {
  /** @type {RecordView<'floor'> | undefined} */
  const there = /** @type {RecordView<'floor'> | undefined} */ (day.survey.get(floor));
  const title = say('access.on-floor', { access: choiceText(access), floor: there ? titleOf(there) : '' });
  return html`<section class="card" aria-label=${title}>
    <h2>${title}</h2>
    <p>${[
      counted(left, 'fixture'),
      counted(rooms.length, 'room'),
      highestTicks !== null &&
        say('access.highest', { height: keptLengthText(highestTicks, undefined, true) }),
    ]
      .filter(Boolean)
      .join('; ')}</p>
    ${CAUTIONS[access] && html`<${Caution}>${say(CAUTIONS[access])}<//>`}
    <ul class="rows">${rooms.map(
      ({ room, left: here, heightTicks }) => html`<li class="row-text" key=${room.id}>
        <span class="strong">${titleOf(room)}</span>
        <span class="detail">${heightTicks === null ? say('access.height-not-said') : keptLengthText(heightTicks, undefined, true)}</span>
        <span class="marks"><${Mark}>${counted(here, 'fixture')}<//></span>
      </li>`,
    )}</ul>
  </section>`;
}
