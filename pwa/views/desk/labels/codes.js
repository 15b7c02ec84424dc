// Codes for the fixtures that are converted, and blank ones to be bound on the way.

import { useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { store } from '../../../store/store.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { Problem } from '../../parts/parts.js';
import { titleOf } from '../../record_screens.js';
import { inFloorOrder } from '../../surveying/survey.js';
import { counted, say } from '../../words.js';

/**
 * Ask the server for codes; what it made comes to this device with the next sync.
 *
 * @param {string} path @param {() => void} onMade
 */
function useMaking(path, onMade) {
  const [made, setMade] = useState(/** @type {number | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  /** @param {object} body */
  const make = async (body) => {
    setBusy(true);
    setError(null);
    try {
      const told = /** @type {{made: number}} */ (await askServer(path, { method: 'POST', body }));
      setMade(told.made);
      store.syncNow();
      onMade();
    } catch (refused) {
      setError(refused);
    }
    setBusy(false);
  };
  return { made, error, busy, make };
}

/** @param {{site: Site, onMade: () => void}} props */
export function MakeCodes({ site, onMade }) {
  const [floor, setFloor] = useState('');
  const floors = inFloorOrder(useLive(() => site.all('floor'), [site.id]) ?? []);
  const { made, error, busy, make } = useMaking(`/api/sites/${site.id}/labels`, onMade);
  return html`<div class="field"><label for="codes-for">${say('desk.for')}</label>
      <select id="codes-for" value=${floor} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => setFloor(event.currentTarget.value)}>
        <option value="">${say('desk.the-whole-site')}</option>
        ${floors.map((each) => html`<option key=${each.id} value=${each.id}>${titleOf(each)}</option>`)}
      </select></div>
    <button type="button" class="button main" disabled=${busy} onClick=${() => make(floor ? { floor } : {})}>${say('desk.make-codes-for-fixtures-that')}</button>
    ${made !== null && html`<p role="status" class="strong">${made ? say('desk.made', { made: counted(made, 'code') }) : say('desk.none-made')}</p>`}
    <${Problem} error=${error} />`;
}

/** @param {{site: Site, onMade: () => void}} props */
export function BlankCodes({ site, onMade }) {
  const [count, setCount] = useState('30');
  const { made, error, busy, make } = useMaking(`/api/sites/${site.id}/labels/blank`, onMade);
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    make({ count: /^\d+$/.test(count.trim()) ? Number(count) : 0 });
  };
  return html`<details><summary>${say('label-desk.blank')}</summary>
    <p class="small muted">${say('label-desk.blank-about')}</p>
    <form class="field" onSubmit=${submit}>
      <label for="blank-count">${say('label-desk.blank-count')}</label>
      <div class="unit-beside">
        <input id="blank-count" inputmode="numeric" autocomplete="off" value=${count} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => setCount(event.currentTarget.value)} />
        <button class="button" disabled=${busy}>${say('label-desk.make-blank')}</button>
      </div>
      ${made !== null && html`<p role="status" class="strong">${say('label-desk.blank-made', { made: counted(made, 'code') })}</p>`}
      <${Problem} error=${error} />
    </form></details>`;
}
