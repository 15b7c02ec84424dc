// A table to be edited in place: arrows and Tab go from cell to cell, Enter edits, Escape leaves a cell as it was.

import { useEffect, useRef, useState } from 'preact/hooks';
import { html } from '../../html.js';
import { FieldInput } from '../../inputs/fields.js';
import { Problem } from '../../parts/parts.js';
import { say } from '../../words.js';

/**
 * @typedef {import('../../forms/field_checks.js').Field} Field
 * @typedef {{row: number, column: number}} Place
 * @typedef {object} GridColumn
 * @property {string} head
 * @property {Field | null} field null: a column that is only read
 * @property {boolean} number set to the right
 *
 * @typedef {object} GridRow
 * @property {string} id
 * @property {string} title of the row, in its first cell
 * @property {string} href where the first cell leads
 * @property {unknown[]} values by column
 * @property {string[]} texts by column, as they are read
 */

/** Where a key leads from a cell. @type {Record<string, [number, number]>} */
const STEPS = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };

/**
 * @param {object} props
 * @param {string} props.caption
 * @param {string} props.first head of the first column
 * @param {GridColumn[]} props.columns the others
 * @param {GridRow[]} props.rows
 * @param {{by: number, down: boolean}} props.order
 * @param {(by: number) => void} props.onOrder
 * @param {((row: number, column: number, value: unknown) => Promise<unknown>) | null} props.onSave null: only to be read
 * @param {'in' | 'mm'} props.units
 */
export function Grid({ caption, first, columns, rows, order, onOrder, onSave, units }) {
  const [at, setAt] = useState(/** @type {Place} */ ({ row: 0, column: 0 }));
  const [edited, setEdited] = useState(/** @type {Place | null} */ (null));
  /** Whether the cell that is pressed had been chosen before: pressed again it is edited. */
  const again = useRef(false);
  const table = useRef(/** @type {HTMLTableElement | null} */ (null));
  const here = { row: Math.min(at.row, rows.length - 1), column: at.column };
  /** @param {Place} place */
  const focus = ({ row, column }) => {
    const cell = table.current?.tBodies[0]?.rows[row]?.cells[column];
    /** @type {HTMLElement | null | undefined} */ (cell?.querySelector('a') ?? cell)?.focus();
  };
  /** @param {Place} place */
  const go = (place) => {
    setAt(place);
    focus(place);
  };
  /** @param {Place} place */
  const leave = (place) => {
    setEdited(null);
    requestAnimationFrame(() => focus(place));
  };
  /** @param {Place} place */
  const mayEdit = ({ column }) => onSave !== null && column > 0 && columns[column - 1].field !== null;
  /** @param {KeyboardEvent} event @param {Place} place */
  const press = (event, place) => {
    if (edited) return;
    const step = event.key === 'Tab' ? [0, event.shiftKey ? -1 : 1] : STEPS[event.key];
    if (event.key === 'Enter' && mayEdit(place)) {
      event.preventDefault();
      setEdited(place);
    } else if (step) {
      const next = { row: place.row + step[0], column: place.column + step[1] };
      const inside = next.row in rows && next.column >= 0 && next.column <= columns.length;
      // Tab leaves at the end of a row: nobody has to walk through a thousand cells.
      if (!inside && event.key === 'Tab') return;
      event.preventDefault();
      if (inside) go(next);
    }
  };
  /** @param {Place} place */
  const handles = (place) => ({
    onKeyDown: (/** @type {KeyboardEvent} */ event) => press(event, place),
    onFocus: () => edited || (at.row === place.row && at.column === place.column) || setAt(place),
  });
  /** @param {Place} place */
  const tab = ({ row, column }) => (row === here.row && column === here.column ? 0 : -1);
  const look = (/** @type {number} */ column) => (columns[column].number ? 'number' : undefined);
  return html`<div class="table-box stacks" role="region" aria-label=${caption}>
    <table role="grid" class="edited" ref=${table} aria-label=${caption} aria-rowcount=${rows.length + 1}>
      <thead role="rowgroup"><tr role="row">
        ${[first, ...columns.map(({ head }) => head)].map(
          (
            head,
            place,
          ) => html`<th scope="col" role="columnheader" class=${place > 0 ? look(place - 1) : undefined} aria-sort=${order.by === place - 1 ? (order.down ? 'descending' : 'ascending') : 'none'}>
            <button type="button" class="button plain" onClick=${() => onOrder(place - 1)}>${head}${order.by === place - 1 ? (order.down ? ' ↓' : ' ↑') : ''}</button></th>`,
        )}
      </tr></thead>
      <tbody role="rowgroup">${rows.map(
        ({ id, title, href, values, texts }, row) => html`<tr role="row" key=${id}>
          <th scope="row" role="rowheader"><a href=${href} tabindex=${tab({ row, column: 0 })} ...${handles({ row, column: 0 })}>${title}</a></th>
          ${columns.map((column, index) => {
            const place = { row, column: index + 1 };
            if (edited && edited.row === row && edited.column === index + 1) {
              return html`<td role="gridcell" class="being-edited" tabindex="-1"><${Cell} field=${column.field} value=${values[index]} units=${units}
                onSave=${(/** @type {unknown} */ next) => onSave?.(row, index, next)} onLeave=${() => leave(place)} /></td>`;
            }
            return html`<td role="gridcell" class=${look(index)} data-head=${column.head} tabindex=${tab(place)}
              aria-readonly=${mayEdit(place) ? undefined : 'true'} ...${handles(place)} onPointerDown=${(
                /** @type {Event} */ event,
              ) => {
                again.current = document.activeElement === event.currentTarget;
              }} onClick=${() => again.current && mayEdit(place) && setEdited(place)}>${texts[index]}</td>`;
          })}
        </tr>`,
      )}</tbody>
    </table>
  </div>`;
}

/**
 * One cell while it is edited.
 *
 * @param {{field: Field, value: unknown, units: 'in' | 'mm', onSave: (value: unknown) => Promise<unknown>, onLeave: () => void}} props
 */
function Cell({ field, value, units, onSave, onLeave }) {
  const [now, setNow] = useState(value);
  const [unread, setUnread] = useState(
    /** @type {import('../../forms/field_checks.js').Problem | null} */ (null),
  );
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const form = useRef(/** @type {HTMLFormElement | null} */ (null));
  useEffect(() => {
    const input = form.current?.querySelector('input, select, textarea');
    if (input instanceof HTMLElement) input.focus();
    if (input instanceof HTMLInputElement) input.select();
  }, []);
  const save = async (/** @type {Event} */ event) => {
    event.preventDefault();
    if (unread) return setError(unread);
    setError(null);
    try {
      if (now !== value) await onSave(now);
      onLeave();
    } catch (problem) {
      setError(problem);
    }
  };
  /** @param {KeyboardEvent} event */
  const press = (event) => {
    event.stopPropagation();
    if (event.key === 'Escape') onLeave();
  };
  return html`<form class="stack cell" ref=${form} onSubmit=${save} onKeyDown=${press} novalidate>
    <${FieldInput} name="cell" field=${field} value=${value} units=${units}
      onChange=${(
        /** @type {unknown} */ next,
        /** @type {import('../../forms/field_checks.js').Problem | null | undefined} */ problem,
      ) => {
        setNow(next);
        setUnread(problem ?? null);
      }} />
    <${Problem} error=${error} />
    <div class="side-by-side"><button class="button main">${say('catalogue.save')}</button>
      <button type="button" class="button" onClick=${onLeave}>${say('catalogue.leave')}</button></div>
  </form>`;
}
