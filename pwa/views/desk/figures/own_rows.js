// Rows that this site adds to the tables: a lamp, a ballast, a body, a space that they have not; and what other sites offer.

import { useEffect, useState } from 'preact/hooks';
import { draftOf } from '../../drafts.js';
import { KeptForm } from '../../forms/kept_form.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { navigate } from '../../navigate.js';
import { NotFound } from '../../not_found.js';
import { Mark, Problem, Row } from '../../parts/parts.js';
import { useHeard } from '../../parts/when_heard.js';
import { mayWrite } from '../../record_screens.js';
import { choiceText, say } from '../../words.js';
import { Desk } from '../parts.js';

/** @typedef {OfferedRow['sort']} Sort */
/** @typedef {RecordView<'own_row'>} OwnRow */

/** What tells a row of each sort from others. @type {Record<Sort, readonly string[]>} */
const NAMED_BY = {
  lamp: ['diameter', 'nominal_ft', 'lamp_w', 'cap', 'mains'],
  ballast: ['diameter', 'nominal_ft', 'lamp_w', 'ballast', 'mains'],
  body: ['body', 'optic'],
  space: ['space'],
};
const SORTS = /** @type {Sort[]} */ (Object.keys(NAMED_BY));

/** @param {string | undefined} sort @returns {sort is Sort} */
const isSort = (sort) => SORTS.some((each) => each === sort);

/** @param {{[name: string]: unknown} | undefined} said @param {Sort} sort */
const calledOf = (said, sort) =>
  NAMED_BY[sort]
    .map((name) => said?.[name])
    .filter((value) => value !== undefined)
    .map((value) => choiceText(String(value)))
    .join(' · ');

/** @param {OwnRow} row */
function called({ facets }) {
  const sort = facets.identity?.table;
  return sort === undefined ? '' : `${choiceText(sort)}: ${calledOf(facets[sort], sort)}`;
}

/** @param {{site: Site, notUsed: Array<{record: string, row: string, why: string}>, offered: OfferedRow[]}} props */
export function OwnRows({ site, notUsed, offered }) {
  const rows = useLive(() => site.all('own_row'), [site.id]) ?? [];
  const at = `/s/${site.id}/desk/figures/row`;
  const adds = mayWrite(site, 'own_row', 'identity');
  const why = new Map(notUsed.map((each) => [each.record, each.why]));
  return html`<section class="stack" aria-label=${say('world.rows-title')}>
    <h2>${say('world.rows-title')}</h2>
    <p class="muted">${say('world.rows-about')}</p>
    ${rows.length > 0 && html`<ul class="rows">${rows.map((row) => html`<${Row} key=${row.id} href=${`${at}/${row.id}`} title=${called(row)} detail=${[row.facets.identity?.source, why.get(row.id)].filter(Boolean).join('. ')} />`)}</ul>`}
    ${adds && html`<div class="side-by-side">${SORTS.map((sort) => html`<a class="button" key=${sort} href=${`${at}/new/${sort}`}>${say(`world.add-${sort}`)}</a>`)}</div>`}
    ${offered.length > 0 && html`<h3>${say('world.offered-title')}</h3>`}
    ${offered.map((row) => html`<${Offered} key=${row.record} site=${site} row=${row} takes=${adds} />`)}
  </section>`;
}

/** A row of another site: used here only once it is taken. @param {{site: Site, row: OfferedRow, takes: boolean}} props */
function Offered({ site, row, takes }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const source = say('world.taken-from', { source: String(row.facets.identity.source), site: row.site });
  const take = () =>
    site
      .save(
        drafts(
          site,
          site.newId(),
          row.sort,
          { ...row.facets.identity, ...row.facets[row.sort], source, offered: undefined },
          {},
        ),
      )
      .catch(setError);
  return html`<div class="stack">
    <p><span class="strong">${choiceText(row.sort)}: ${calledOf(row.facets[row.sort], row.sort)}</span> <${Mark} look="">${row.site}<//></p>
    <p class="small muted">${String(row.facets.identity.source)}</p>
    <${Problem} error=${error} />
    ${takes && html`<button type="button" class="button" onClick=${take}>${say('world.take-it')}<span class="visually-hidden">: ${calledOf(row.facets[row.sort], row.sort)}</span></button>`}
  </div>`;
}

/**
 * A row as its two facets, as they are saved.
 * @param {Site} site @param {string} id @param {Sort} sort @param {Value} value @param {Record<string, string | null>} seen
 */
function drafts(site, id, sort, value, seen) {
  const { facets } = site.spec.records.own_row;
  /** @param {'identity' | Sort} facet @param {Value} more */
  const draft = (facet, more) => ({
    record: id,
    type: /** @type {const} */ ('own_row'),
    facet,
    value: {
      ...Object.fromEntries(
        Object.keys(facets[facet].fields)
          .filter((name) => value[name] !== undefined)
          .map((name) => [name, value[name]]),
      ),
      ...more,
    },
    seen: seen[facet] ?? null,
  });
  return [draft('identity', { table: sort, parent: site.id }), draft(sort, {})];
}

/** A row to add, or one that is there. @param {{site: Site, params: {sort?: string, id?: string}}} props */
export function OwnRowPage({ site, params: { sort: wanted, id } }) {
  // As it was when the form opened; what arrives meanwhile is for the save to judge.
  const [found, setFound] = useState(
    /** @type {OwnRow | null | undefined} */ (id === undefined ? null : undefined),
  );
  const heard = useHeard(site);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  useEffect(() => {
    if (id !== undefined && heard)
      site.all('own_row').then((rows) => setFound(rows.find((row) => row.id === id) ?? null));
  }, [id, heard]);
  const up = `/s/${site.id}/desk/figures`;
  const sort = id === undefined ? wanted : found?.facets.identity?.table;
  if (found === undefined) return null;
  if (!isSort(sort)) return html`<${NotFound} params=${{}} site=${site} path=${location.pathname} />`;
  const { table: _, ...about } = site.spec.records.own_row.facets.identity.fields;
  const fields = { ...site.spec.records.own_row.facets[sort].fields, ...about };
  const value = { ...found?.facets[sort], ...found?.facets.identity };
  const name = found ? `${found.id}.${sort}` : `new-row.${sort}`;
  const shown = { identity: found?.seen.identity ?? null, [sort]: found?.seen[sort] ?? null };
  /** @param {Value} said @param {Record<string, string | null>} seen */
  const save = async (said, seen) => {
    await site.save(drafts(site, found?.id ?? site.newId(), sort, said, seen));
    draftOf(site.id, name).forget();
    navigate(up, { replace: true });
  };
  const remove = () =>
    site
      .remove(/** @type {OwnRow} */ (found).id)
      .then(() => navigate(up, { replace: true }))
      .catch(setError);
  return html`<${Desk} site=${site} at="/figures" title=${say(`world.add-${sort}`)} back=${up}>
    <p class="muted">${say('world.row-help')}</p>
    <${KeptForm} site=${site} name=${name} seen=${shown} onSave=${save} form=${{ fields, value, save: say('world.save-row') }} />
    <${Problem} error=${error} />
    ${found && html`<button type="button" class="button danger" onClick=${remove}>${say('world.remove-row')}</button>`}
  <//>`;
}
