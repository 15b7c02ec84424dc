// The picking list of a room, a floor or the day: ticked off as it is loaded, what is short is noted and told at the desk.

import { useState } from 'preact/hooks';
import { html } from '../html.js';
import { Caution, Mark, Problem } from '../parts/parts.js';
import { mayWrite, titleOf } from '../record_screens.js';
import { notHereFor } from '../ordering/not_here.js';
import { expectedText } from '../ordering/expected.js';
import { choiceText, counted, say } from '../words.js';
import {
  BETWEEN,
  CONTAINERS,
  containerOf,
  isPart,
  pickingList,
  shortParts,
  pickedParts,
} from './picking_list.js';
import { ListOfDay } from './scope.js';
import { SparesUsed } from './spares_used.js';

/** @typedef {import('./picking_list.js').PickingLine} PickingLine */

/** @param {{site: Site}} props */
export function Picking({ site }) {
  return html`<${ListOfDay} site=${site} title=${say('today.picking')}>
    ${(/** @type {import('./read_day.js').Day} */ day, /** @type {import('../crew/jobs.js').Job[]} */ jobs) =>
      html`<${Lines} site=${site} lines=${pickingList(jobs, day.pickings)} notHere=${notHereFor(day, new Set(jobs.map(({ room }) => room.id)))} />
        <${SparesUsed} jobs=${jobs} day=${day.day} />`}
  <//>`;
}

/** @typedef {import('../ordering/not_here.js').NotHere} NotHere */

/** @param {{site: Site, lines: PickingLine[], notHere: Map<string, NotHere>}} props */
function Lines({ site, lines, notHere }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [shortOf, setShortOf] = useState('');
  const parts = lines.filter(({ sort }) => isPart(sort));
  const waste = lines.filter(({ sort }) => !isPart(sort));
  /** @param {Array<{room: string, value: Value}>} told */
  const save = async (told) => {
    setError(null);
    try {
      await site.save(told.map((each) => picking(site, each)));
      setShortOf('');
    } catch (problem) {
      setError(problem);
    }
  };
  /** @param {PickingLine} line */
  const row = (line) =>
    html`<${Line} key=${keyOf(line)} line=${line} notHere=${isPart(line.sort) ? notHere.get(line.item) : undefined} locked=${!mayWrite(site, 'picking')} typing=${shortOf === keyOf(line)}
      onPicked=${(/** @type {boolean} */ ticked) => save(pickedParts(line, ticked))}
      onShort=${(/** @type {number} */ short) => save(shortParts(line, short))}
      onType=${() => setShortOf(shortOf === keyOf(line) ? '' : keyOf(line))} />`;
  return html`
    <p class="measure" role="status">${say('picking.ticked-of', { ticked: parts.filter(({ ticked }) => ticked).length, lines: parts.length })}</p>
    <p class="muted small">${say('picking.for-what-is-left')}</p>
    ${notHere.size > 0 && html`<p class="notice">${say('picking.some-not-here')} <a href=${`/s/${site.id}/stock`}>${say('place.stock')}</a></p>`}
    <${Problem} error=${error} />
    <section class="stack" aria-label=${say('picking.take-along')}>
      <h2>${say('picking.take-along')}</h2>
      <ul class="rows">${parts.map(row)}</ul>
      <p class="muted small">${say('picking.caps-at-most')}</p>
    </section>
    ${
      waste.length > 0 &&
      html`<section class="stack" aria-label=${say('picking.containers')}>
      <h2>${say('picking.containers')}</h2>
      ${CONTAINERS.map((each) => html`<${OneContainer} key=${each} container=${each} lines=${waste.filter((line) => containerOf(line) === each)} row=${row} />`)}
      <p class="muted small">${say('picking.waste-rules')}</p>
    </section>`
    }`;
}

/** What goes in one container, with the caution that is for it. @param {{container: import('./picking_list.js').Container, lines: PickingLine[], row: (line: PickingLine) => Child}} props */
function OneContainer({ container, lines, row }) {
  if (lines.length === 0) return null;
  return html`<section class="stack" aria-label=${say(`picking.container-${container}`)}>
    <h3>${say(`picking.container-${container}`)}</h3>
    <${Caution}>${say(`picking.caution-${container}`)}<//>
    <ul class="rows">${lines.map(row)}</ul>
  </section>`;
}

/** @param {PickingLine} line */
const keyOf = ({ sort, item }) => `${sort}|${item}`;

/** What a line is called. @param {PickingLine} line */
const nameOf = ({ sort, item }) =>
  [choiceText(sort), sort === 'ballasts-out' ? ballastText(item) : item && choiceText(item)]
    .filter(Boolean)
    .join(': ');

/** A ballast that is not known to be free of PCBs is kept apart. @param {string} item */
function ballastText(item) {
  const [ballast] = item.split(BETWEEN);
  const apart = containerOf({ sort: 'ballasts-out', item }) === 'ballasts-apart';
  return [choiceText(ballast), apart && say('picking.may-hold-pcbs')].filter(Boolean).join(', ');
}

/** The same in short, where it stands in its list: the code on the part, or what it is. @param {PickingLine} line */
const shortName = ({ sort, item }) => (item === '' ? choiceText(sort) : choiceText(item.split(BETWEEN)[0]));

/** So many at this current, so many at that. @param {import('./picking_list.js').Setting[]} settings @param {number} wanted */
const settingsText = (settings, wanted) =>
  settings
    .map(({ ma, number }) =>
      number === wanted ? say('picking.all-at', { ma }) : say('picking.some-at', { number, ma }),
    )
    .join(', ');

/** For which room how many, or how they are set where it is one room. @param {PickingLine} line @returns {string[]} */
const detailsOf = ({ sort, parts }) =>
  [
    ...(isPart(sort) && sort !== 'cap' && sort !== 'label' ? [choiceText(sort)] : []),
    ...parts.map(({ room, wanted, settings }) => {
      const set = settings.length > 0 ? settingsText(settings, wanted) : '';
      if (parts.length === 1) return set;
      return say('picking.for-room', { room: titleOf(room), wanted }) + (set && `, ${set}`);
    }),
  ].filter(Boolean);

/**
 * One thing: how many, for which rooms, and whether it is loaded.
 *
 * @param {{line: PickingLine, notHere?: NotHere, locked: boolean, typing: boolean, onPicked: (ticked: boolean) => void, onShort: (short: number) => void, onType: () => void}} props
 */
function Line({ line, notHere, locked, typing, onPicked, onShort, onType }) {
  const details = detailsOf(line);
  const name = shortName(line);
  return html`<li class="picking-line">
    <label class="check-line">
      <input type="checkbox" disabled=${locked} checked=${line.ticked} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onPicked(event.currentTarget.checked)} />
      <span><strong class="measure">${line.wanted} ×</strong> <span class=${name.includes(' ') ? 'strong' : 'strong part-code'}>${name}</span>
        ${notHere && html` <${Mark} look="attention">${say('picking.not-here', { pieces: notHere.pieces })}<//>`}
        ${line.short > 0 && html` <${Mark} look="attention">${say('picking.short-by', { short: line.short })}<//>`}
      </span>
    </label>
    ${!locked && isPart(line.sort) && html`<button type="button" class="button" aria-expanded=${typing ? 'true' : 'false'} onClick=${onType} aria-label=${say('picking.short-of', { item: nameOf(line) })}>${say('picking.short')}</button>`}
    ${details.length > 0 && html`<p class="detail">${details.map((each) => html`<span key=${each}>${each}</span>`)}</p>`}
    ${notHere && html`<p class="detail">${expectedText(notHere.expected)}</p>`}
    ${typing && html`<${HowShort} line=${line} onShort=${onShort} />`}
  </li>`;
}

/** @param {{line: PickingLine, onShort: (short: number) => void}} props */
function HowShort({ line, onShort }) {
  const [text, setText] = useState(line.short > 0 ? String(line.short) : '');
  const [wrong, setWrong] = useState(false);
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    const short = Number(text);
    if (text.trim() && Number.isInteger(short) && short >= 0 && short <= line.wanted) onShort(short);
    else setWrong(true);
  };
  return html`<form class="how-short" onSubmit=${submit}>
    <div class="field">
      <label for="short">${say('picking.missing', { pieces: counted(line.wanted, 'piece') })}</label>
      <input id="short" inputmode="numeric" autocomplete="off" value=${text} aria-invalid=${wrong ? 'true' : 'false'} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setText(event.currentTarget.value)} />
      ${wrong && html`<p class="problem" role="alert">${say('picking.short-wrong', { wanted: line.wanted })}</p>`}
    </div>
    <button class="button main">${say('page.save')}</button>
  </form>`;
}

/** @param {Site} site @param {{room: string, value: Value}} told @returns {Draft} */
const picking = (site, { room, value }) => ({
  record: site.newId(),
  type: 'picking',
  facet: 'identity',
  seen: null,
  value: { parent: room, ...value, noted_at: new Date().toISOString() },
});
