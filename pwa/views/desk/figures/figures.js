// Which figures are reckoned with, where is each from and how sure is it, and what does this site set in its place?

import { useEffect, useState } from 'preact/hooks';
import { figureTitle } from '../../coded_text.js';
import { draftOf } from '../../drafts.js';
import { KeptForm } from '../../forms/kept_form.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { numberText } from '../../numbers.js';
import { Mark, Problem, Row } from '../../parts/parts.js';
import { useHeard } from '../../parts/when_heard.js';
import { mayWrite } from '../../record_screens.js';
import { choiceText, counted, say } from '../../words.js';
import { Answer, Desk, useServer } from '../parts.js';
import { figureId } from './figure_id.js';
import { OwnRows } from './own_rows.js';

/** Ways of knowing that are no more than somebody's word. */
const NOT_SURE = ['from memory', 'common practice'];
const isSure = (/** @type {FigureTold} */ { how_known: known }) =>
  !NOT_SURE.some((word) => known.startsWith(word));

/** @param {{site: Site}} props */
export function Figures({ site }) {
  const [wanted, setWanted] = useState('');
  const [which, setWhich] = useState(/** @type {Which} */ ('all'));
  const held = useLive(() => site.all('figure'), [site.id]);
  const unsent = unsentOf(held ?? []);
  const state = JSON.stringify(held?.map(({ id, seen, mine }) => [id, seen.value, Boolean(mine.value)]));
  const answer = useServer(held ? `/api/sites/${site.id}/figures` : null, [state]);
  return html`<${Desk} site=${site} at="/figures" title=${say('desk.figures-and-sources')}>
    <p>${say('figures.about')}</p>
    <search class="stack">
      <div class="field"><label for="wanted">${say('desk.find-a-figure')}</label>
        <input id="wanted" type="search" value=${wanted} autocomplete="off" placeholder=${say('desk.t8-4-ft-corridor-lux')}
          onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setWanted(event.currentTarget.value)} /></div>
      <div class="field"><label for="which">${say('page.show')}</label>
        <select id="which" onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => setWhich(/** @type {Which} */ (event.currentTarget.value))}>
          ${Object.entries(WHICH).map(([name, words]) => html`<option value=${name} selected=${name === which}>${say(words)}</option>`)}
        </select></div>
    </search>
    ${mayWrite(site, 'site', 'settings') && html`<ul class="rows"><${Row} href=${`/s/${site.id}/record/${site.id}/settings`} title=${say('desk.settings-of-the-site')} detail=${say('figures.settings')} /></ul>`}
    <${Answer} answer=${answer}>${(/** @type {SiteFigures} */ told) => html`
      <${NotUsed} notUsed=${told.not_used} />
      <${OwnRows} site=${site} notUsed=${told.rows_not_used} offered=${told.offered} />
      <${Tables} site=${site} tables=${found(told.tables, wanted, which)} open=${wanted.trim() !== '' || which !== 'all'} unsent=${unsent} />`}
    <//>
  <//>`;
}

/** @typedef {'all' | 'not-sure' | 'own'} Which */
/** @typedef {{table: string, row: string, figure: string}} FigureWhere */
/** What was set here and is not sent yet, by address. @typedef {Map<string, ValueOf<'figure', 'value'>>} Unsent */
/** @type {Record<Which, string>} */
const WHICH = { all: 'desk.which.all', 'not-sure': 'desk.which.not-sure', own: 'desk.which.own' };
/** @type {Record<Which, (figure: FigureTold) => boolean>} */
const IS = { all: () => true, 'not-sure': (figure) => !isSure(figure), own: (figure) => figure.own !== null };

/** Tables with only the rows and figures in which every wanted word stands. @param {FigureTable[]} tables @param {string} wanted @param {Which} which */
function found(tables, wanted, which) {
  const words = wanted.toLowerCase().split(/\s+/).filter(Boolean);
  /** @param {FigureTable} table @param {FigureRow} row @param {FigureTold} figure */
  const holds = (table, row, figure) => {
    const text = [
      figureTitle(table.title),
      choiceText(row.row),
      figureTitle(figure.title),
      figure.figure,
      figure.source,
      figure.edition,
      figure.how_known,
    ]
      .join(' ')
      .toLowerCase();
    return IS[which](figure) && words.every((word) => text.includes(word));
  };
  return tables
    .map((table) => ({
      ...table,
      rows: table.rows
        .map((row) => ({
          ...row,
          figures: row.figures.filter((figure) => holds(table, row, figure)),
        }))
        .filter((row) => row.figures.length > 0),
    }))
    .filter((table) => table.rows.length > 0);
}

/** What was set here and is not sent yet, by address. @param {RecordView<'figure'>[]} held records of figures @returns {Unsent} */
function unsentOf(held) {
  const mine = held.filter((record) => record.mine.value);
  return new Map(
    mine.map(({ facets }) => [addressOf(/** @type {FigureWhere} */ (facets.identity)), facets.value ?? {}]),
  );
}

/** @param {FigureWhere} figure `table`, `row` and `figure` */
const addressOf = ({ table, row, figure }) => [table, row, figure].join('/');

/** Figures that were set for rows that the tables have no more. @param {{notUsed: OwnFigure[]}} props */
function NotUsed({ notUsed }) {
  return notUsed.map(
    (each) =>
      html`<p class="notice bad" key=${each.record}>${each.table}, ${choiceText(each.row)}, ${each.figure}: ${say('figures.set-here', each)} ${say('figures.not-used')} ${each.wrong && say(each.wrong.code, each.wrong.facts)}</p>`,
  );
}

/** @param {{site: Site, tables: FigureTable[], open: boolean, unsent: Unsent}} props */
function Tables({ site, tables, open, unsent }) {
  if (!tables.length) return html`<p role="status">${say('figures.none-here')}</p>`;
  return tables.map(
    (table) =>
      html`<${Table} key=${`${table.table} ${open}`} site=${site} table=${table} open=${open} unsent=${unsent} />`,
  );
}

/** One table; its rows are drawn when it is opened. @param {{site: Site, table: FigureTable, open: boolean, unsent: Unsent}} props */
function Table({ site, table, open, unsent }) {
  const [opened, setOpened] = useState(open);
  const figures = table.rows.flatMap((row) => row.figures);
  const [sure, own] = [figures.filter(isSure).length, figures.filter(IS.own).length];
  const told = [
    counted(table.rows.length, 'row'),
    counted(figures.length, 'figure'),
    sure < figures.length && say('desk.from-memory-or-common-practice', { unsure: figures.length - sure }),
    own > 0 && say('desk.set-for-this-site', { own }),
  ];
  return html`<details class="points" open=${opened} onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpened(event.currentTarget.open)}>
    <summary>${figureTitle(table.title)}: ${told.filter(Boolean).join(', ')}</summary>
    ${
      opened &&
      html`<div class="stack">
      ${table.fixed && html`<p class="muted">${say(table.fixed)}</p>`}
      ${table.rows.map(
        (row) => html`<section class="card" key=${row.row} aria-label=${choiceText(row.row)}>
        <h2>${choiceText(row.row)}</h2>
        ${sameSource(row.figures).map((figures) => html`<${OfOneSource} key=${figures[0].figure} site=${site} where=${{ table: table.table, row: row.row }} figures=${figures} unsent=${unsent} />`)}
      </section>`,
      )}
    </div>`
    }
  </details>`;
}

/** Figures of a row in runs that share their source. @param {FigureTold[]} figures @returns {FigureTold[][]} */
function sameSource(figures) {
  /** @type {FigureTold[][]} */
  const runs = [];
  for (const figure of figures) {
    const [before] = runs.at(-1) ?? [];
    const same =
      before &&
      /** @type {const} */ (['source', 'edition', 'how_known']).every(
        (name) => before[name] === figure[name],
      );
    if (same) runs.at(-1)?.push(figure);
    else runs.push([figure]);
  }
  return runs;
}

/** @param {{site: Site, where: Omit<FigureWhere, 'figure'>, figures: FigureTold[], unsent: Unsent}} props */
function OfOneSource({ site, where, figures, unsent }) {
  const [{ source, edition, how_known: known }] = figures;
  return html`<div class="figures">
    ${figures.map((figure) => html`<${Figure} key=${figure.figure} site=${site} where=${{ ...where, figure: figure.figure }} figure=${figure} unsent=${unsent} />`)}
    <p class="small muted"><${Mark} look=${isSure(figures[0]) ? '' : 'attention'}>${choiceText(known)}<//> ${say('desk.source-and-edition', { source, edition })}</p>
  </div>`;
}

/** @param {{site: Site, where: FigureWhere, figure: FigureTold, unsent: Unsent}} props */
function Figure({ site, where, figure, unsent }) {
  const [setting, setSetting] = useState(false);
  const waiting = unsent.get(addressOf(where));
  const { own } = figure;
  const maySet = figure.least !== null && mayWrite(site, 'figure', 'value');
  return html`<div class="figure">
    <p><span>${titleOf(figure)}</span> <span class="measure strong">${withUnit(figure.value, figure.unit)}</span></p>
    ${own && html`<p class="notice">${say('figures.set-here', { ...own, value: withUnit(own.value, figure.unit) })}${own.source && ` (${own.source})`}${own.wrong && ` ${say('figures.not-used')} ${say(own.wrong.code, own.wrong.facts)}`}</p>`}
    ${waiting && html`<p class="notice">${waiting.value === undefined ? say('figures.unsent-none') : say('figures.unsent', { value: withUnit(waiting.value, figure.unit) })}</p>`}
    ${maySet && !setting && html`<button type="button" class="button" onClick=${() => setSetting(true)}>${own ? say('desk.change') : say('desk.set-for-this-site-title')}<span class="visually-hidden">: ${titleOf(figure)}, ${choiceText(where.row)}</span></button>`}
    ${
      setting &&
      html`<${SetFigure} site=${site} where=${where} figure=${figure} onDone=${() => setSetting(false)} />`
    }
  </div>`;
}

/** A figure of a list by its title and what tells it from its like: 'Mains watts …: 2'. @param {FigureTold} figure */
function titleOf({ title: english, figure }) {
  const title = figureTitle(english);
  const which = figure
    .split('/')
    .slice(1)
    .filter((/** @type {string} */ part) => part !== 'lux')
    .map(choiceText)
    .join(' ');
  return which ? `${title}: ${which}` : title;
}

/** @param {number} value @param {string} unit */
const withUnit = (value, unit) =>
  [numberText(value, 0, 6), unit !== 'share' && unit].filter(Boolean).join('\u00a0');

/** @param {{site: Site, where: FigureWhere, figure: FigureTold, onDone: () => void}} props */
function SetFigure({ site, where, figure, onDone }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [form, setForm] = useState(/** @type {OpenForm | null} */ (null));
  const heard = useHeard(site);
  useEffect(() => {
    if (!heard) return;
    // What was set before rows had codes for names stands under an id of its own.
    const known = figure.own?.record ?? figureId(site.id, where);
    Promise.resolve(known).then(async (id) => setForm(await site.form(id, 'value')));
  }, [heard]);
  if (!form) return null;
  const { fields } = site.spec.records.figure.facets.value;
  const { title, unit, whole } = figure;
  // A figure that may be set has its limits.
  const { least, most } = /** @type {{least: number, most: number}} */ (figure);
  const limited = {
    ...fields,
    value: {
      ...fields.value,
      title: figureTitle(title),
      unit,
      min: least,
      max: most,
      type: whole ? 'integer' : 'decimal',
      help: say('figures.limits', { least: withUnit(least, unit), most: withUnit(most, unit) }),
    },
  };
  const name = `${form.record}.value`;
  /** @param {Value} value @param {string | null} seen */
  const save = async (value, seen) => {
    const about = { record: form.record, type: 'figure' };
    const identity = form.type
      ? []
      : [{ ...about, facet: 'identity', value: { parent: site.id, ...where }, seen: null }];
    await site.save([...identity, { ...about, facet: 'value', value, seen }]);
    done();
  };
  const done = () => {
    draftOf(site.id, name).forget();
    onDone();
  };
  const given = { fields: limited, value: form.value, save: say('desk.set-for-this-site-title') };
  return html`<section class="stack" aria-label=${say('desk.set', { figure: titleOf(figure) })}>
    <${KeptForm} site=${site} name=${name} seen=${form.seen} onSave=${save} form=${given} />
    <${Problem} error=${error} />
    <div class="side-by-side">
      ${form.value.value !== undefined && html`<button type="button" class="button" onClick=${() => save({}, form.seen).catch(setError)}>${say('desk.take-the-tables-figure-again')}</button>`}
      <button type="button" class="button plain" onClick=${done}>${say('desk.leave-it')}</button>
    </div>
  </section>`;
}
