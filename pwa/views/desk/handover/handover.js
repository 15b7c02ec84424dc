// What a building's owner takes away: how far the conversion is, what is still open, and the report as a file.

import { useState } from 'preact/hooks';
import { html } from '../../html.js';
import { Facts, Problem } from '../../parts/parts.js';
import { say } from '../../words.js';
import { Answer, Desk, number, Share, Table, useServer } from '../parts.js';
import { MadeFiles, useMadeFiles } from './made_files.js';

const FIRST = 40;

/** @param {{site: Site}} props */
export function HandOver({ site }) {
  const answer = /** @type {import('../parts.js').Answered<HandoverTold>} */ (
    useServer(`/api/sites/${site.id}/handover`, [])
  );
  return html`<${Desk} site=${site} at="/handover" title=${say('handover.title')}>
    <p>${say('handover.about')}</p>
    <${Answer} answer=${answer}>${(/** @type {HandoverTold} */ told) => html`
      <${Take} site=${site} />
      <${How} told=${told} />
      <${Accepted} site=${site} told=${told} />
      <${Open} told=${told} />`}<//>
  <//>`;
}

/** The files, made in the background when they are asked for. @param {{site: Site}} props */
function Take({ site }) {
  const [money, setMoney] = useState(false);
  const placeOf = (/** @type {HandoverFileTold} */ file) => ({
    path: `/api/sites/${site.id}/handover.${file.what}?money=${file.with_money ? 'yes' : 'no'}`,
    name: `spanwalk-hand-over.${file.what}`,
  });
  const { files, error, make } = useMadeFiles(`/api/sites/${site.id}/handover/files`, placeOf);
  const ask = (/** @type {string} */ form) => () => make(form, { form, money });
  return html`<section class="card" aria-label=${say('handover.title')}>
    <label class="chip"><input type="checkbox" checked=${money} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => setMoney(event.currentTarget.checked)} /><span>${say('handover.with-money')}</span></label>
    <p class="muted small">${say('handover.with-money-help')}</p>
    <button type="button" class="button main" onClick=${ask('pdf')}>${say('handover.report')}</button>
    <button type="button" class="button" onClick=${ask('xlsx')}>${say('handover.workbook')}</button>
    <p class="muted small">${say('handover.tagged')}</p>
    <${MadeFiles} files=${files} placeOf=${placeOf} />
    <${Problem} error=${error} />
    <a class="button" href=${`/s/${site.id}/desk/proof`}>${say('proof.title')}</a>
  </section>`;
}

/** @param {{told: HandoverTold}} props */
function How({ told }) {
  return html`<section class="card" aria-label=${say('handover.done')}>
    <${Share} title=${say('handover.done')} complete=${told.done} known=${told.fixtures} />
    <${Facts} facts=${[
      [say('handover.releases'), number(told.releases)],
      [say('handover.photos'), number(told.photos)],
      [say('handover.tests'), number(told.tests_open)],
      [say('handover.left-out'), number(told.left_out)],
      [say('handover.closed'), number(told.closed)],
    ]} />
  </section>`;
}

/** Who signed for what. @param {{site: Site, told: HandoverTold}} props */
function Accepted({ site, told }) {
  const file = (/** @type {string} */ id) => `/api/sites/${site.id}/acceptances/${id}.txt`;
  return html`<section class="card" aria-label=${say('handover.accepted')}>
    <h2>${say('handover.accepted')}</h2>
    <p class="muted">${say(told.accepted.length > 0 ? 'handover.accepted-about' : 'handover.accepted-none')}</p>
    ${
      told.accepted.length > 0 &&
      html`<${Table} caption=${say('handover.signatures')} stacks heads=${['covers', 'signed-by', 'stands', 'take-signed'].map((each) => say(`handover.${each}`))}
        rows=${told.accepted.map((each) => [each.covers, say('handover.signature', each), stands(each), html`<a class="tall" href=${file(each.id)}>${each.content.slice(0, SHOWN)}…</a>`])} />`
    }
    <a class="button" href=${`/s/${site.id}/accept`}>${say('handover.to-acceptance')}</a>
  </section>`;
}

/** So many letters of a SHA-256 are read by people. */
const SHOWN = 12;

/** Whether anything has changed since it was signed. @param {HandoverAccepted} each */
function stands({ whole, holds, changes }) {
  if (!whole) return say('acceptance.broken');
  return holds ? say('handover.unchanged') : say('handover.changed', { n: number(changes) });
}

/** @param {{told: HandoverTold}} props */
function Open({ told }) {
  const [most, setMost] = useState(FIRST);
  if (!told.open.length) return html`<p class="notice">${say('handover.nothing-open')}</p>`;
  const shown = told.open.slice(0, most);
  return html`<section class="card" aria-label=${say('handover.open')}>
    <h2>${say('handover.open')}</h2>
    <p class="strong">${say('handover.open-count', { n: number(told.open_in_all) })}</p>
    <p class="muted">${say('handover.open-about')}</p>
    <${Table} caption=${say('handover.open-by-room')} stacks heads=${[say('handover.room'), say('handover.what')]}
      rows=${shown.map(({ floor_name: floor, room_name: room, text }) => [[room, floor].filter(Boolean).join(', '), text])} />
    ${told.open.length > most && html`<button type="button" class="button" onClick=${() => setMost(told.open.length)}>${say('page.show-more-left', { left: told.open.length - most })}</button>`}
  </section>`;
}
