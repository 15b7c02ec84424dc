// What was fitted otherwise than released, what it does to order and light, and the manager's word on it; spares used.

import { useState } from 'preact/hooks';
import { sparesUsed } from '../../../rules/installing/as_fitted.js';
import {
  differenceState,
  differs,
  fittedFingerprint,
  UNANSWERED,
} from '../../../rules/installing/outcomes.js';
import { newestOf } from '../../../rules/since_release/standing.js';
import { facet, Survey } from '../../../rules/survey.js';
import { store } from '../../../store/store.js';
import { notedIn } from '../../crew/jobs.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { Chips } from '../../inputs/fields.js';
import { byOrder } from '../../newest.js';
import { SayMore, saidOn, Talk } from '../../parts/conversation.js';
import { Facts, Mark } from '../../parts/parts.js';
import { Photos } from '../../parts/photos.js';
import { mayRead, mayWrite, titleOf } from '../../record_screens.js';
import { fixturePath } from '../../scanning/find_label.js';
import { choiceText, counted, say, timeText } from '../../words.js';
import { Desk, Table } from '../parts.js';
import { effectOf, orderChange, sparesOrdered } from './fitted_effects.js';

/** @typedef {import('./fitted_effects.js').Effect} Effect */
/** @typedef {import('./fitted_effects.js').FittedItem} FittedItem */
/** @typedef {{record: RecordView<'installation'>, group: RecordView<'group'>, room: RecordView<'room'> | undefined, mark: string, state: string, effect: Effect, words: RecordView<'difference_answer'>[]}} FittedRead */
/** @typedef {{code: string, more: number, used: number, spares: number | null}} ItemLine */

const FIRST = 40;

/** @param {Site} site */
async function readFitted(site) {
  const survey = new Survey(await site.everything());
  const catalogue = new Map(
    /** @type {RecordView<'catalogue_item'>[]} */ (survey.ofType('catalogue_item')).map((item) => [
      facet(item, 'identity').code,
      item,
    ]),
  );
  /** @type {RecordView<'installation'>[]} */
  const last = [];
  /** @type {FittedRead[]} */
  const lines = [];
  for (const group of /** @type {RecordView<'group'>[]} */ (survey.ofType('group'))) {
    for (const { record } of notedIn(survey, group).values()) {
      last.push(record);
      if (differs(record)) lines.push(fittedRead(survey, group, record, catalogue));
    }
  }
  lines.sort(
    (a, b) => Number(b.state === UNANSWERED) - Number(a.state === UNANSWERED) || byOrder(a.record, b.record),
  );
  return { lines, items: itemLines(site, survey, lines, last) };
}

/** @param {Survey} survey @param {RecordView<'group'>} group @param {RecordView<'installation'>} record @param {import('./fitted_effects.js').Catalogue} catalogue @returns {FittedRead} */
function fittedRead(survey, group, record, catalogue) {
  // It is held against what the crew had in hand; a later release has cards of its own.
  const told = /** @type {RecordView<'conversion'> | undefined} */ (
    survey.get(facet(record, 'identity').conversion) ?? newestOf(survey, group)
  );
  return {
    record,
    group,
    room: /** @type {RecordView<'room'> | undefined} */ (survey.roomOf(group)),
    mark: facet(survey.kindOf(group), 'identity').mark ?? '',
    state: differenceState(survey, record),
    effect: effectOf(record, told, group, catalogue),
    words: /** @type {RecordView<'difference_answer'>[]} */ (
      survey.children(record, 'difference_answer')
    ).sort(byOrder),
  };
}

/** Items of which more or fewer were fitted, or spares used. What is sent back is not fitted so. @param {Site} site @param {Survey} survey @param {FittedRead[]} lines @param {RecordView<'installation'>[]} last @returns {ItemLine[]} */
function itemLines(site, survey, lines, last) {
  const used = sparesUsed(last);
  const more = new Map(
    orderChange(lines.filter(({ state }) => state !== 'sent-back').map(({ effect }) => effect)).map(
      (each) => [each.code, each.more],
    ),
  );
  const releases = new Map(
    /** @type {RecordView<'release'>[]} */ (survey.ofType('release')).map((each) => [each.id, each]),
  );
  const sums = /** @type {RecordView<'release_sums'>[]} */ (survey.ofType('release_sums'));
  const ordered = mayRead(site, 'release_sums') && sums.length > 0 ? sparesOrdered(sums, releases) : null;
  return [...new Set([...more.keys(), ...Object.keys(used)])].sort().map((code) => ({
    code,
    more: more.get(code) ?? 0,
    used: used[code] ?? 0,
    spares: ordered ? (ordered.get(code) ?? 0) : null,
  }));
}

/** @param {{site: Site}} props */
export function Fitted({ site }) {
  const [most, setMost] = useState(FIRST);
  const read = useLive(() => readFitted(site), [site.id]);
  const open = read?.lines.filter(({ state }) => state === UNANSWERED).length ?? 0;
  return html`<${Desk} site=${site} at="/fitted" title=${say('place.fitted')}>
    ${read && html`<p class="strong" role="status">${read.lines.length === 0 ? say('fitted.none') : say('fitted.waiting', { open, fixtures: counted(read.lines.length, 'fixture') })}</p>`}
    ${read && read.items.length > 0 && html`<${Items} items=${read.items} />`}
    ${read?.lines.slice(0, most).map((each) => html`<${OneFixture} key=${each.record.id} site=${site} of=${each} />`)}
    ${read && read.lines.length > most && html`<button type="button" class="button" onClick=${() => setMost(most * 4)}>${say('page.show-more-left', { left: read.lines.length - most })}</button>`}
  <//>`;
}

/** @param {{items: ItemLine[]}} props */
function Items({ items }) {
  return html`<${Table} caption=${say('fitted.by-item')} numbers=${[1, 2, 3]} stacks
    heads=${[say('fitted.item'), say('fitted.more-or-fewer'), say('fitted.spares-used'), say('fitted.spares-left')]}
    rows=${items.map(({ code, more, used, spares }) => [code, more > 0 ? `+${more}` : more, used, spares === null ? '–' : say('fitted.left-of', { left: spares - used, spares })])} />
    <p class="muted small">${say('fitted.order-help')}</p>`;
}

/** @param {FittedItem} item */
const itemText = ({ code, number, setting_ma: ma, rows, serials, spare }) =>
  [
    `${number} × ${code}`,
    ma !== undefined && `${ma} mA`,
    rows?.length && say('fitted.in-rows', { rows }),
    serials?.length && say('fitted.serials', { serials }),
    spare && say('fitted.from-spares'),
  ]
    .filter(Boolean)
    .join(', ');

/** @param {{items: FittedItem[]}} props */
const ItemList = ({ items }) =>
  html`<ul>${items.map((each, at) => html`<li key=${at}>${itemText(each)}</li>`)}</ul>`;

/** @param {Effect} effect */
const lightText = ({ lightPct }) =>
  lightPct === null ? say('fitted.light-not-known') : say('fitted.light-pct', { pct: lightPct });

/** @param {{site: Site, of: FittedRead}} props */
function OneFixture({ site, of: { record, group, room, mark, state, effect, words } }) {
  const { position, noted_at: at } = facet(record, 'identity');
  const { reason, note } = facet(record, 'as_fitted');
  const title = say('today.fixture', { room: room ? titleOf(room) : '', mark, position });
  const more = orderChange([effect]).map(({ code, more: n }) => `${n > 0 ? '+' : '−'}${Math.abs(n)} ${code}`);
  return html`<article class="card" aria-label=${title}>
    <h2><a class="tall" href=${fixturePath(site.id, group.id, Number(position ?? 1))}>${title}</a></h2>
    <p class="marks"><${Mark} look=${state === 'accepted' ? 'done' : 'attention'}>${choiceText(state)}<//></p>
    <${Facts} facts=${[
      [say('fitted.released'), html`<${ItemList} items=${effect.released} />`],
      [say('fitted.as-fitted'), html`<${ItemList} items=${effect.fitted} />`],
      [say('fitted.order'), more.join(', ') || say('fitted.same-order')],
      [say('fitted.light'), lightText(effect)],
      ...(reason || note
        ? [[say('fitted.why'), [reason && choiceText(reason), note].filter(Boolean).join(': ')]]
        : []),
    ]} />
    <p class="muted small">${store.whoSaid(record)}, ${timeText(at ?? record.at.identity ?? '')}</p>
    <${Photos} site=${site} subject=${record.id} />
    <${Talk} words=${words} />
    ${state === UNANSWERED && mayWrite(site, 'difference_answer') && html`<${Answering} site=${site} record=${record} />`}
  </article>`;
}

/** @param {{site: Site, record: RecordView<'installation'>}} props */
function Answering({ site, record }) {
  const [answer, setAnswer] = useState('');
  /** @param {string} words */
  const save = (words) => {
    if (!answer) return Promise.reject({ code: 'problems.choose' });
    if (answer === 'sent-back' && !words) return Promise.reject({ code: 'fitted.say-why' });
    const value = { answer, answers: fittedFingerprint(record), ...(words && { words }) };
    return site.save([saidOn(site, 'difference_answer', record.id, value)]);
  };
  return html`<${SayMore} label=${say('problems.in-words')} button=${say('problems.answer')} needsWords=${false} onSaid=${save}>
    <${Chips} name="answer" title=${say('problems.your-answer')} help=${say('fitted.answer-help')} value=${answer} onChange=${setAnswer}
      choices=${site.spec.records.difference_answer.facets.identity.fields.answer.choices} />
  <//>`;
}
