// One file being brought in: what has to be said of it, what is wrong in it, what it would change; then yes, no, or back again.

import { useState } from 'preact/hooks';
import { html } from '../../html.js';
import { Mark, Problem } from '../../parts/parts.js';
import { choiceText, keptLengthText, say } from '../../words.js';
import { Table } from '../parts.js';

/** States in which the server is at work on a file. */
const AT_WORK = ['reading', 'looking', 'writing', 'undoing'];
/** States in which a file waits for somebody. */
const OPEN = ['reading', 'looking', 'asking', 'ready', 'writing'];

/** @param {string} state */
export const isAtWork = (state) => AT_WORK.includes(state);
/** @param {string} state */
export const isOpen = (state) => OPEN.includes(state);

/** @typedef {(what: string, body?: unknown) => Promise<void>} Act */

/** @param {{told: FileState, columns: FileColumn[], onAct: Act, error: unknown, busy: boolean}} props */
export function FileIn({ told, columns, onAct, error, busy }) {
  const { state, counts } = told;
  const looked = state === 'asking' || state === 'ready';
  const differs = counts.new + counts.changed > 0;
  return html`<section class="card" aria-label=${say('files.this')}>
    <h2>${told.name || say(`files.kind.${told.kind}`)}</h2>
    <p role="status"><${Mark} look=${look(state)}>${say(`files.state.${state}`)}<//> ${told.rows > 0 && isAtWork(state) && say('files.progress', { row: told.row, rows: told.rows })}</p>
    ${told.rows > 0 && isAtWork(state) && html`<progress max=${told.rows} value=${told.row} aria-label=${say('files.this')}></progress>`}
    ${state === 'wrong' && html`<p class="problem" role="alert">${told.wrong ? say(told.wrong.code, told.wrong.facts) : say('files.stopped')}</p>`}
    ${state === 'done' && told.wrong && html`<p class="problem" role="alert">${say(told.wrong.code, told.wrong.facts)}</p>`}
    ${(told.notes ?? []).map((note) => html`<p class="notice" key=${note.code}>${say(note.code, note.facts)}</p>`)}
    ${looked && (told.questions ?? []).map((question) => html`<${Ask} key=${`${question.about} ${question.head}`} question=${question} onAct=${onAct} busy=${busy} />`)}
    ${looked && html`<${Problems} told=${told} />`}
    ${looked && (told.columns ?? []).length > 0 && html`<${Columns} told=${told} columns=${columns} onAct=${onAct} busy=${busy} />`}
    ${(state === 'ready' || state === 'done') && html`<p class="strong">${differs ? say('files.counts', counts) : say('files.nothing')}</p>`}
    ${state === 'ready' && differs && html`<${Lines} told=${told} />`}
    ${told.undone && html`<p role="status">${say('files.undone', { n: told.undone.taken_back })} ${told.undone.left.length > 0 && say('files.kept', { n: told.undone.left.length })}</p>`}
    <${Problem} error=${error} />
    <div class="side-by-side">
      ${state === 'ready' && differs && html`<button type="button" class="button main" disabled=${busy} onClick=${() => onAct('accept')}>${say('files.accept')}</button>`}
      ${[...OPEN, 'wrong'].includes(state) && state !== 'writing' && html`<button type="button" class="button" disabled=${busy} onClick=${() => onAct('cancel')}>${say('files.cancel')}</button>`}
      ${state === 'done' && html`<button type="button" class="button" disabled=${busy} onClick=${() => onAct('undo')}>${say('files.undo')}</button>`}
    </div>
    ${state === 'done' && html`<p class="muted">${say('files.undo-help')}</p>`}
  </section>`;
}

/** @param {number} row */
const rowText = (row) => say('files.row-n', { row });

/** @param {string} state */
const look = (state) => (state === 'done' ? 'done' : ['asking', 'wrong'].includes(state) ? 'attention' : '');

/** What only a person knows, as buttons to be pressed. @param {{question: FileQuestion, onAct: Act, busy: boolean}} props */
function Ask({ question, onAct, busy }) {
  const { about, head, choices } = question;
  /** @param {string} choice */
  const body = (choice) => {
    if (about === 'sheet') return { sheet: choice };
    if (about === 'unit') return { columns: { [head]: { unit: choice } } };
    return { decimal: choice.at(-2) };
  };
  return html`<fieldset class="field notice">
    <legend>${say(question.code, question.facts)}</legend>
    <div class="chips">${choices.map((choice) => html`<button type="button" class="button" disabled=${busy} key=${choice} onClick=${() => onAct('answer', body(choice))}>${choice}</button>`)}</div>
  </fieldset>`;
}

/** @param {{told: FileState}} props */
function Problems({ told }) {
  const problems = told.problems ?? [];
  if (!problems.length) return null;
  const all = told.problems_in_all ?? problems.length;
  return html`<div class="stack" role="alert">
    <p class="problem">${say('files.problems', { n: all })}</p>
    <${Table} stacks caption=${say('files.to-mend')} heads=${[say('files.row'), say('files.column'), say('files.what-is-wrong')]}
      rows=${problems.map(({ row, column, head, code, facts }) => [rowText(row), column ? `${column} (${head})` : '–', say(code, facts)])} />
    ${all > problems.length && html`<p class="muted">${say('files.more', { n: all - problems.length })}</p>`}
  </div>`;
}

/** Which column means what; any can be said by hand. @param {{told: FileState, columns: FileColumn[], onAct: Act, busy: boolean}} props */
function Columns({ told, columns, onAct, busy }) {
  const heads = told.columns ?? [];
  const doubtful = (told.problems ?? []).some(
    ({ code }) => code.startsWith('files.column-') || code === 'files.no-head',
  );
  const [open, setOpen] = useState(doubtful || heads.some(({ column, by_hand: said }) => !column && !said));
  const taken = heads.filter(({ column }) => column).length;
  return html`<details class="points" open=${open} onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpen(event.currentTarget.open)}>
    <summary>${say('files.columns', { taken, of: heads.length })}</summary>
    <div class="stack">${heads.map((each) => html`<${Head} key=${`${each.letters} ${each.column} ${each.unit}`} head=${each} columns=${columns} onAct=${onAct} busy=${busy} />`)}</div>
  </details>`;
}

/** @param {{head: FileHead, columns: FileColumn[], onAct: Act, busy: boolean}} props */
function Head({ head, columns, onAct, busy }) {
  const id = `head-${head.letters}`;
  const samples = head.samples.length > 0 ? say('files.samples', { samples: head.samples.join(' · ') }) : '';
  /** @param {{column?: string, unit?: string}} said */
  const put = (said) => onAct('answer', { columns: { [head.head]: said } });
  return html`<div class="side-by-side">
    <div class="field"><label for=${id}>${say('files.head-is', { letters: head.letters, head: head.head })}</label>
      <select id=${id} disabled=${busy} value=${head.column} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => put({ column: event.currentTarget.value })}>
        <option value="" selected=${!head.column}>${say('files.not-taken-column')}</option>
        ${columns.map((each) => html`<option value=${each.name} selected=${each.name === head.column}>${each.title}${each.must ? ' *' : ''}</option>`)}
      </select>
      ${samples && html`<p class="help">${samples}</p>`}</div>
    ${
      head.units.length > 0 &&
      html`<div class="field"><label for=${`${id}-unit`}>${say('files.unit')}</label>
      <select id=${`${id}-unit`} disabled=${busy} value=${head.unit} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => put({ unit: event.currentTarget.value })}>
        ${!head.unit && html`<option value="" selected>${say('files.unit-in-cells')}</option>`}
        ${head.units.map((unit) => html`<option value=${unit} selected=${unit === head.unit}>${unit}</option>`)}
      </select></div>`
    }
  </div>`;
}

/** What would be made and changed. @param {{told: FileState}} props */
function Lines({ told }) {
  const lines = told.lines ?? [];
  const all = told.lines_in_all ?? lines.length;
  return html`<${Table} stacks caption=${say('files.would')} heads=${[say('files.row'), say('files.which'), say('files.becomes'), say('files.changes')]}
      rows=${lines.map(({ row, state, what, fields }) => [rowText(row), what, say(`files.row.${state}`), fields.map((each) => say('files.from-to', { title: each.title, before: valueText(each.field, each.from), after: valueText(each.field, each.to) })).join(' ')])} />
    ${all > lines.length && html`<p class="muted">${say('files.more', { n: all - lines.length })}</p>`}`;
}

/** A field's value as people read it. @param {string} field @param {unknown} value @returns {string} */
function valueText(field, value) {
  if (value === null || value === undefined) return say('files.none');
  if (Array.isArray(value)) return value.map((each) => valueText('', each)).join(', ');
  if (field.endsWith('_ticks') && typeof value === 'number') return keptLengthText(value);
  if (typeof value === 'boolean') return choiceText(value ? 'yes' : 'no');
  return choiceText(value);
}
