// Which emergency fixtures were tested, by whom, and which are due: to look through, and to take away and print.

import { html } from '../../html.js';
import { Mark } from '../../parts/parts.js';
import { choiceText, counted, say, timeText } from '../../words.js';
import { Answer, Desk, Table, useServer } from '../parts.js';

/** @type {Record<string, 'done' | 'attention' | ''>} */
const LOOK = { passed: 'done', failed: 'attention', 'too short': 'attention' };

/** @param {{site: Site}} props */
export function EmergencyTests({ site }) {
  const answer = useServer(`/api/sites/${site.id}/emergency-tests`, []);
  return html`<${Desk} site=${site} at="/emergency" title=${say('desk.emergency-tests')}>
    <${Answer} answer=${answer}>${(/** @type {EmergencyTests} */ told) => html`<${Told} site=${site} told=${told} />`}<//>
  <//>`;
}

/** @param {{site: Site, told: EmergencyTests}} props */
function Told({ site, told }) {
  if (!told.lines.length) return html`<p class="notice">${say('desk.no-emergency')}</p>`;
  return html`<section class="card" aria-label=${say('desk.emergency-tests')}>
    <p class="strong">${say(told.open ? 'desk.emergency-open' : 'desk.emergency-passed', { open: told.open, fixtures: counted(told.fixtures, 'emergency-fixture') })}</p>
    <p class="muted">${say('desk.emergency-help')}</p>
    <a class="button" href=${`/api/sites/${site.id}/emergency-tests.csv`} download>${say('desk.emergency-tests-as-a-table')}</a>
    <${Table} caption=${say('desk.tests-in-the-order-of')} stacks
      heads=${[say('page.fixture'), say('page.emergency'), say('desk.duration-test'), say('desk.indicator'), say('desk.lasted'), say('page.due-on'), say('desk.by'), say('desk.note')]}
      rows=${told.lines.map(rowOf)} />
  </section>`;
}

/** Minutes that it lasted, and that were wanted. @param {EmergencyLine} line */
const lasted = ({ minutes, wanted_min: wanted }) =>
  wanted
    ? say('desk.minutes-of-wanted', { minutes: minutes ?? '–', wanted })
    : minutes === null
      ? '–'
      : `${minutes} min`;

/** @param {EmergencyLine} line */
const rowOf = (line) => [
  say('desk.fixture', { room_name: line.room_name, mark: line.mark, position: line.position }),
  [choiceText(line.duty), line.pack ?? line.second_source].filter(Boolean).join(': '),
  html`<${Mark} look=${LOOK[line.state] ?? ''}>${choiceText(line.state)}<//>`,
  choiceText(line.indicator ?? '–'),
  lasted(line),
  line.due_on ?? '–',
  line.by ? `${line.by}, ${timeText(line.noted_at ?? '')}` : '–',
  line.note ?? '',
];
