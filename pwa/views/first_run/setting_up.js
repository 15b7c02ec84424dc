// What a site says of itself above its rooms: that it is archived, that it has no catalogue, what is still to be set up.

import { useLive, useStatus } from '../hooks.js';
import { html } from '../html.js';
import { Mark } from '../parts/parts.js';
import { mayWrite } from '../record_screens.js';
import { say, timeText } from '../words.js';
import { isSetUp, stepsOf } from './steps.js';

const KEEPERS = new Set(['manager', 'owner']);
/** What a step says of itself. */
const MARKS = { done: 'set-up.done-mark', open: 'set-up.open', optional: 'set-up.optional' };

/** @param {{site: Site}} props */
export function SiteNotices({ site }) {
  useStatus();
  // That it was deleted stands on each of its screens.
  if (site.engine.isGone) return null;
  const archived = site.entry.archived_at;
  if (archived)
    return html`<p class="notice">${say('sites.archived-since', { time: timeText(archived) })}</p>`;
  // Before that it would be said of all that it is lacking.
  if (!site.engine.heard) return null;
  if (KEEPERS.has(site.role)) return html`<${SettingUp} site=${site} />`;
  // To who does not survey it says nothing, and who may not read a catalogue knows of none.
  return mayWrite(site, 'group') && html`<${NoCatalogue} site=${site} />`;
}

/** @param {{site: Site}} props */
function NoCatalogue({ site }) {
  const items = useLive(() => site.all('catalogue_item'), [site.id]);
  return items?.length === 0 && html`<p class="notice">${say('set-up.no-catalogue')}</p>`;
}

/** What the steps look at, from this phone. @param {Site} site @returns {Promise<import('./steps.js').SetUp>} */
async function readSetUp(site) {
  const [floors, rooms, items, prices, money, own] = await Promise.all([
    site.all('floor'),
    site.all('room'),
    site.all('catalogue_item'),
    site.all('price'),
    site.all('money'),
    site.get(site.id),
  ]);
  return {
    floors: floors.length,
    rooms: rooms.length,
    items,
    prices,
    money: money[0],
    own: /** @type {RecordView<'site'> | undefined} */ (own),
    people: (site.entry.people ?? []).filter(({ role }) => role !== null).length,
    titles: titlesOf(site),
  };
}

/** @param {Site} site @returns {Record<string, string>} */
function titlesOf({ spec: { records } }) {
  const fields = { ...records.money.facets.identity.fields, ...records.site.facets.settings.fields };
  return Object.fromEntries(Object.entries(fields).map(([name, { title }]) => [name, title]));
}

/** The steps of a site that is not set up yet; nothing once it is. @param {{site: Site}} props */
export function SettingUp({ site }) {
  const found = useLive(() => readSetUp(site), [site.id]);
  if (!found) return null;
  const steps = stepsOf(found);
  if (isSetUp(steps)) return null;
  const done = steps.filter(({ missing }) => missing === null).length;
  // Once there are rooms they come first: the steps fold into one line.
  return html`<section aria-label=${say('set-up.title')}><details class="points" open=${found.rooms === 0}>
    <summary>${say('set-up.title')}: ${say('set-up.done', { done, of: steps.length })}</summary>
    <div class="stack"><p class="small muted">${say('set-up.meanwhile')}</p>
    <ol class="set-up-steps">
      ${steps.map((step) => html`<${StepRow} key=${step.id} step=${step} href=${`/s/${site.id}${step.path}`} />`)}
    </ol>
    ${found.items.length === 0 && html`<p class="small">${say('set-up.no-catalogue')}</p>`}</div>
  </details></section>`;
}

/** @param {{step: import('./steps.js').Step, href: string}} props */
function StepRow({ step: { id, missing, needed }, href }) {
  const mark = missing === null ? 'done' : needed ? 'open' : 'optional';
  return html`<li class="set-up-step">
    <a class="row" href=${href} data-step=${id} data-done=${missing === null}>
      <span>
        <span class="title">${say(`set-up.${id}`)}</span>
        ${missing && html`<span class="detail strong">${say(missing.code, missing.facts)}</span><span class="detail">${say(`set-up.${id}-why`)}</span>`}
      </span>
      <span class="end"><${Mark} look=${missing === null ? 'done' : ''}>${say(MARKS[mark])}<//></span>
    </a>
  </li>`;
}

/** What an owner does first, before there is a site. */
export function FirstSteps() {
  return html`<section class="card" aria-labelledby="first-steps">
    <h2 id="first-steps">${say('set-up.first-title')}</h2>
    <p>${say('set-up.first-about')}</p>
    <a class="button main wide" href="/sites/new">${say('sites.make')}</a>
    <ol class="set-up-steps">
      ${['catalogue', 'rooms', 'money', 'settings', 'people'].map(
        (id) => html`<li class="set-up-step row" key=${id}>
          <span><span class="title">${say(`set-up.${id}`)}</span><span class="detail">${say(`set-up.${id}-why`)}</span></span>
          <span class="end">${say('set-up.after')}</span>
        </li>`,
      )}
    </ol>
  </section>`;
}
