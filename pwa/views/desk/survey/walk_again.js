// Which cavities are read again, lot by lot, and what the second readings say.

import { useState } from 'preact/hooks';
import { html } from '../../html.js';
import { Mark } from '../../parts/parts.js';
import { mayWrite } from '../../record_screens.js';
import { choiceText, lengthText, say } from '../../words.js';
import { number, Table } from '../parts.js';
import { Acceptance } from './pictures.js';

/** As the server has them where nothing else is asked. */
const RISKS = { good_pct: 1, bad_pct: 10, good_refused_pct: 5, bad_accepted_pct: 10 };
/** @type {Record<string, 'done' | 'attention' | ''>} */
const LOOK = { accepted: 'done', refused: 'attention', 'to-read': '' };

/** @param {{site: Site, lots: LotTold[]}} props */
export function ReadAgain({ site, lots }) {
  return html`<section class="stack" aria-label=${say('walk.again')}>
    <h2>${say('walk.again')}</h2>
    <p>${say('walk.again-about')}</p>
    ${lots.length === 0 && html`<p class="muted">${say('walk.no-lots')}</p>`}
    ${lots.map((lot) => html`<${Lot} key=${`${lot.by} ${lot.instrument}`} site=${site} lot=${lot} />`)}
    ${lots.length > 0 && html`<p class="muted small">${say('walk.risks', RISKS)}</p>`}
  </section>`;
}

/** @param {{site: Site, lot: LotTold}} props */
function Lot({ site, lot }) {
  const name = say('walk.lot', { by: lot.by, instrument: choiceText(lot.instrument) });
  return html`<div class="card">
    <p><span class="strong">${name}</span> <${Mark} look=${LOOK[lot.state]}>${say(`walk.${lot.state}`)}<//></p>
    <p>${say('walk.sample', { sample: lot.sample, readings: number(lot.readings), most_wrong: lot.most_wrong })} ${say('walk.progress', { read: lot.read, wrong: lot.wrong, left: lot.left })}</p>
    ${lot.state !== 'to-read' && html`<p class=${lot.state === 'refused' ? 'notice strong' : ''}>${say(`walk.${lot.state}-about`)}</p>`}
    ${lot.state === 'refused' && html`<${OfKinds} site=${site} lot=${lot} />`}
    <${Spread} site=${site} lot=${lot} />
    <${Folded} title=${say('walk.list')}>${() => html`<${List} site=${site} lot=${lot} />`}<//>
    <${Folded} title=${say('walk.curve')}>${() => html`<${Acceptance} curve=${lot.curve} />
      <${Table} caption=${say('walk.curve')} numbers=${[0, 1]} heads=${[say('walk.share-wrong'), say('walk.chance')]} rows=${lot.curve.map(([share, chance]) => [number(share, 1), number(chance * 100, 1)])} />`}<//>
  </div>`;
}

/** What is left of a refused lot, kind by kind: each is held back by itself. @param {{site: Site, lot: LotTold}} props */
function OfKinds({ site, lot }) {
  return html`<ul>${lot.kinds.map(
    ({ kind, mark, left, unsettled, stands }) => html`<li key=${kind}>
      ${say(stands ? 'walk.of-kind-stands' : 'walk.of-kind', { kind: mark, left, unsettled })}
      ${!stands && left + unsettled > 0 && html`<${ToKind} site=${site} kind=${kind}>${say('walk.let-stand', { kind: mark })}<//>`}</li>`,
  )}</ul>`;
}

/** To where a manager decides on a kind's second readings. @param {{site: Site, kind: string, children: Child}} props */
function ToKind({ site, kind, children }) {
  if (!mayWrite(site, 'kind', 'repeats')) return null;
  return html`<a class="button" href=${`/s/${site.id}/record/${kind}/repeats`}>${children}</a>`;
}

/** Nothing is in it until it is opened. @param {{title: string, children: () => Child}} props */
function Folded({ title, children }) {
  const [opened, setOpened] = useState(false);
  return html`<details onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpened(event.currentTarget.open)}>
    <summary>${title}</summary>${opened && html`<div class="stack">${children()}</div>`}</details>`;
}

/** @param {{site: Site, lot: LotTold}} props */
function Spread({ site, lot: { spread, kinds } }) {
  if (!spread) return null;
  const facts = {
    pairs: spread.pairs,
    seen: lengthText(spread.seen_ticks),
    assumed: lengthText(spread.assumed_ticks),
  };
  return html`<p>${say('walk.spread', facts)} ${spread.is_greater === false && say('walk.spread-fine')}</p>
    ${
      spread.is_greater &&
      html`<p class="notice">${say('walk.spread-greater', facts)}</p>
      ${kinds.map(({ kind, mark }) => html`<${ToKind} key=${kind} site=${site} kind=${kind}>${say('walk.enter-spread', { kind: mark })}<//>`)}`
    }`;
}

/** @param {AgainTold} again */
function saidOf({ again_ticks: again, is_wrong: wrong, length_ticks: first }) {
  if (again === null) return say('walk.not-yet');
  const facts = { first: lengthText(first), again: lengthText(again) };
  return say(wrong ? 'walk.is-wrong' : 'walk.agrees', facts);
}

/** What was read is not told before it is read again: who knows it reads it into the tape. @param {{site: Site, lot: LotTold}} props */
function List({ site, lot }) {
  const more = (lot.state === 'refused' ? lot.readings : lot.sample) - lot.again.length;
  return html`<ul class="rows">${lot.again.map(
    (
      each,
    ) => html`<li key=${`${each.group} ${each.position} ${each.row} ${each.cavity}`}><a class="row" href=${`/s/${site.id}/room/${each.room}`}>
      <span class="strong">${each.room_name} · ${each.mark}</span> ${say('walk.place', { position: each.position, row: each.row, cavity: each.cavity })} · ${saidOf(each)}</a></li>`,
  )}</ul>${more > 0 && html`<p class="muted">${say('walk.more-in-list', { left: more })}</p>`}`;
}
