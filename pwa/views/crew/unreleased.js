// A fixture for which nothing is released: why, as far as this phone knows it, and what can hurt in it all the same.

import { SECOND_SOURCE } from '../../rules/constants.js';
import { facet } from '../../rules/survey.js';
import { html } from '../html.js';
import { Caution, Facts } from '../parts/parts.js';
import { Photos } from '../parts/photos.js';
import { titleOf } from '../record_screens.js';
import { choiceText, say } from '../words.js';

/** @typedef {{code: string, facts: Facts}} Said */
/** @typedef {{group: RecordView<'group'>, kind?: RecordView<'kind'>, room?: RecordView<'room'>}} Read */

const NOT_SEEN = 'not-seen';
/** What has to be seen before a release, by facet and field, and the code of its name. @type {Array<['kind' | 'group' | 'room', string, string, string]>} */
const WANTED = [
  ['kind', 'lamps', 'fitted', 'crew.unseen.fitted'],
  ['kind', 'wiring', 'feeds', 'crew.unseen.feeds'],
  ['kind', 'wiring', 'neighbour_leads', 'crew.unseen.neighbour-leads'],
  ['group', 'supply', 'volts', 'crew.unseen.volts'],
  ['group', 'duty', 'emergency', 'crew.unseen.emergency'],
  ['room', 'surroundings', 'hazardous', 'crew.unseen.hazardous'],
];
/** Reason and hazard of what is in the sockets. @type {Record<string, string>} */
const FITTED = {
  'led-tube-on-mains': 'led-on-mains',
  'led-tube-on-the-ballast': 'led-on-ballast',
  'led-tube-on-own-driver': 'led-on-driver',
  'built-in-led': 'built-in-led',
  none: 'no-lamps',
};
const NO_ONE_KNOWS_WHY = 'crew.why.no-conversion';

/** @param {Read} read @param {'kind' | 'group' | 'room'} of @param {string} name @param {string} field @returns {string} */
const told = (read, of, name, field) =>
  facet(/** @type {ViewRecord | undefined} */ (read[of]), name)[field] ?? NOT_SEEN;

/** @param {boolean} holds @param {string} code @param {Facts} [facts] @returns {Said[]} */
const when = (holds, code, facts = {}) => (holds ? [{ code, facts }] : []);

/**
 * Why nothing is released, from the records on this phone; the plan itself is not here.
 *
 * @param {Read} read @returns {Said[]} at least one
 */
export function whyNot(read) {
  const { decision, reason } = facet(read.group, 'decision');
  const feeds = told(read, 'kind', 'wiring', 'feeds');
  const fitted = FITTED[told(read, 'kind', 'lamps', 'fitted')];
  const missing = WANTED.filter(([of, name, field]) => told(read, of, name, field) === NOT_SEEN);
  const found = [
    ...when(
      ['leave-as-is', 'defer'].includes(decision ?? ''),
      reason ? 'crew.why.decided-because' : 'crew.why.decided',
      { decision, reason },
    ),
    ...when(fitted !== undefined, `crew.why.${fitted}`),
    ...when(feeds === 'two' || feeds === 'more', 'crew.why.feeds', { feeds }),
    ...when(told(read, 'room', 'surroundings', 'hazardous') === 'yes', 'crew.why.hazardous'),
    ...when(told(read, 'kind', 'ballast', 'leaking') === 'yes', 'crew.why.leaking'),
    ...when(told(read, 'kind', 'wiring', 'earth') === 'missing', 'crew.why.no-earth'),
    ...when(missing.length > 0, 'crew.why.not-seen', { missing: missing.map(([, , , what]) => say(what)) }),
  ];
  return found.length > 0 ? found : [{ code: NO_ONE_KNOWS_WHY, facts: {} }];
}

/**
 * What can hurt in a fixture that stays as it is. What nobody has seen counts as live.
 *
 * @param {Read} read @returns {string[]} codes
 */
export function hazards(read) {
  const fitted = told(read, 'kind', 'lamps', 'fitted');
  const feeds = told(read, 'kind', 'wiring', 'feeds');
  const emergency = told(read, 'group', 'duty', 'emergency');
  /** @type {Array<[boolean, string]>} */
  const all = [
    [told(read, 'room', 'surroundings', 'hazardous') === 'yes', 'hazardous'],
    [fitted === 'led-tube-on-mains', 'led-on-mains'],
    [fitted === 'led-tube-on-the-ballast', 'led-on-ballast'],
    [fitted === 'led-tube-on-own-driver', 'led-on-driver'],
    [fitted === 'built-in-led', 'built-in-led'],
    [fitted === NOT_SEEN, 'sockets-not-seen'],
    [feeds === 'two' || feeds === 'more', 'feeds'],
    [feeds === NOT_SEEN, 'feeds-not-seen'],
    [told(read, 'group', 'supply', 'shared_neutral') === 'yes', 'shared-neutral'],
    [told(read, 'kind', 'ballast', 'leaking') === 'yes', 'leaking'],
    [told(read, 'kind', 'wiring', 'earth') === 'missing', 'no-earth'],
    [emergency === 'battery-in-fixture', 'battery'],
    [SECOND_SOURCE.includes(String(emergency)), 'second-source'],
  ];
  return all.filter(([holds]) => holds).map(([, name]) => `crew.hazard.${name}`);
}

/** @param {{site: Site, read: GroupRead, withdrawn: boolean}} props `withdrawn`: it was released, and called back */
export function NotReleased({ site, read, withdrawn }) {
  const { volts = NOT_SEEN, panel = NOT_SEEN, circuit = NOT_SEEN } = facet(read.group, 'supply');
  const dangers = hazards(read);
  return html`<section class="card" aria-label=${say('crew.not-released-title')}>
    <h2>${say('crew.nothing-is-released-for-this')} ${withdrawn ? say('crew.any-more') : say('crew.yet')}</h2>
    <p>${say('crew.not-released')}</p>
    ${!withdrawn && html`<ul class="step-lines" aria-label=${say('crew.why-not')}>${whyNot(read).map(({ code, facts }) => html`<li key=${code}>${say(code, facts)}</li>`)}</ul>`}
    <${Caution}>
      <ul class="stack" aria-label=${say('crew.what-can-hurt-in-it')}>
        ${dangers.map((code) => html`<li key=${code}>${say(code)}</li>`)}
        <li>${say('crew.hazard.always')}</li>
      </ul>
    <//>
    <${Facts} facts=${[
      [say('page.kind'), read.kind ? titleOf(read.kind) : say('crew.not-known')],
      [say('crew.supply'), volts === NOT_SEEN ? choiceText(volts) : `${choiceText(volts)} V`],
      [say('crew.panel-circuit'), `${choiceText(panel)}, ${choiceText(circuit)}`],
    ]} />
    <${Photos} site=${site} subject=${read.group.id} />
  </section>`;
}
