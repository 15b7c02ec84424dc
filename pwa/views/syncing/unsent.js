// What is only on this phone: what waits, what the server did not take and why, photos, and all of it as a file.

import { useState } from 'preact/hooks';
import { store } from '../../store/store.js';
import { FacetForm } from '../forms/facet_form.js';
import { useUnits } from '../forms/units.js';
import { useLive, useStatus } from '../hooks.js';
import { html } from '../html.js';
import { deedOf, headOf, readHere, saidBy, titleFor, whereOf } from './operation_text.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { Photo } from '../parts/photos.js';
import { parentPath } from '../record_screens.js';
import { counted, say, timeText } from '../words.js';

/** @param {{site: Site}} props */
export function Unsent({ site }) {
  const read = useLive(async () => {
    const unsent = await site.unsent();
    const { operations, refused, held, recovered } = unsent;
    return { ...unsent, here: await readHere(site, [...operations, ...refused, ...held, ...recovered]) };
  }, []);
  const status = useStatus();
  if (!read) return null;
  const { operations, refused, held, photos, recovered, here } = read;
  const nothing = operations.length + refused.length + photos.length === 0;
  return html`<${Page} title=${say('sync.not-sent-yet')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}>
    <p>${say(nothing ? 'readings.all-sent' : 'readings.unsent-kept')}</p>
    ${
      refused.length > 0 &&
      html`<section class="stack" aria-label=${say('sync.not-taken-by-the-server')}>
      <h2>${say('page.the-server-did-not-take')}</h2>
      ${refused.map((op) => html`<${Refused} key=${op.id} site=${site} op=${op} here=${here} />`)}
    </section>`
    }
    ${held.length > 0 && html`<${Held} site=${site} held=${held} here=${here} />`}
    ${
      operations.length > 0 &&
      html`<section class="stack" aria-label=${say('sync.entries-that-wait')}>
      <h2>${counted(operations.length, 'entry')}</h2>
      <ul class="rows">${operations.map((op) => html`<${Waiting} key=${op.id} site=${site} op=${op} here=${here} />`)}</ul>
    </section>`
    }
    ${
      photos.length > 0 &&
      html`<section class="stack" aria-label=${say('sync.photos-that-wait')}>
      <h2>${counted(photos.length, 'photo')}</h2>
      <ul class="photos">${photos.map((photo) => html`<li key=${photo.sha256}><${Photo} site=${site} sha256=${photo.sha256} alt=${say('sync.photo-of', { at: timeText(photo.at) })} /></li>`)}</ul>
    </section>`
    }
    ${status.photosWait && html`<button class="button wide" onClick=${() => store.sendPhotos()}>${say('sync.send-the-photos-now-whatever')}</button>`}
    ${recovered.length > 0 && html`<${Recovered} site=${site} rows=${recovered} here=${here} />`}
    ${!nothing && html`<${ToFile} site=${site} />`}
  <//>`;
}

/** What has arrived and waits for a manager: nothing is to be done about it here. @param {{site: Site, held: Operation[], here: import('./operation_text.js').Here}} props */
function Held({ site, held, here }) {
  return html`<section class="stack" aria-label=${say('readings.held-title')}>
    <h2>${say('readings.held-title')}</h2>
    <p>${say('readings.held-about')}</p>
    <ul class="rows">${held.map((op) => html`<${Waiting} key=${op.id} site=${site} op=${op} here=${here} />`)}</ul>
  </section>`;
}

/** @param {{site: Site, op: Operation, here: import('./operation_text.js').Here}} props */
function Waiting({ site, op, here }) {
  const record = here.get(op.record);
  return html`<li>
    <a class="row" href=${record ? parentPath(site, record) : `/s/${site.id}`}>
      <span><span class="title">${headOf(site, op, record)}</span><span class="detail">${whereOf(here, [op], op)}</span><span class="detail">${saidBy(site, op)}</span></span>
      <span class="end">${timeText(op.device_time)}</span>
    </a>
  </li>`;
}

/** Something the server refused: why, and what can be done; nothing goes without being asked. @param {{site: Site, op: RefusedOperation, here: import('./operation_text.js').Here}} props */
function Refused({ site, op, here }) {
  const units = useUnits(site);
  const [open, setOpen] = useState(/** @type {'edit' | 'drop' | ''} */ (''));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const spec = site.spec.records[op.type]?.facets[op.facet];
  /** @param {Promise<unknown>} deed */
  const act = (deed) => deed.catch(setError);
  return html`<article class="card" data-refused=${op.id}>
    <div><h3>${headOf(site, op, here.get(op.record))}</h3><p class="small">${whereOf(here, [op], op)}</p><p class="muted small">${saidBy(site, op)}</p></div>
    <p class="problem">${op.facts?.detail ?? say(op.code, op.facts ?? {})}</p>
    <${Problem} error=${error} />
    ${open === 'edit' && html`<${FacetForm} fields=${spec.fields} value=${op.to} units=${units} save=${say('sync.send-it-so')} together=${(/** @type {Value} */ value) => site.wrongTogether(op.type, op.facet, value)} onSave=${(/** @type {Value} */ value) => site.retryRefused(op.id, value)} />`}
    ${open === 'drop' && html`<div class="notice stack" role="alertdialog" aria-label=${say('sync.give-it-up')}><p>${say('sync.it-is-then-only-what')}</p><div class="side-by-side"><button class="button danger" onClick=${() => act(site.dropRefused(op.id))}>${say('sync.give-it-up')}</button><button class="button" onClick=${() => setOpen('')}>${say('sync.keep-it')}</button></div></div>`}
    ${
      open === '' &&
      html`<div class="side-by-side">
      ${spec && op.kind === 'set' && html`<button class="button" onClick=${() => setOpen('edit')}>${say('sync.correct-it')}</button>`}
      <button class="button" onClick=${() => act(site.retryRefused(op.id))}>${say('sync.try-again-as-it-is')}</button>
      <button class="button danger" onClick=${() => setOpen('drop')}>${say('sync.give-it-up-asked')}</button>
    </div>`
    }
  </article>`;
}

/** What others had entered and only this phone still knows: a person says whether it is put back. @param {{site: Site, rows: import('../../storage/types.js').Recovered[], here: Map<string, RecordView>}} props */
function Recovered({ site, rows, here }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  /** @param {Promise<unknown>} deed */
  const act = (deed) => deed.then(() => setError(null), setError);
  return html`<section class="stack" aria-label=${say('sync.recovered')}>
    <h2>${say('sync.entries-recovered', { entries: counted(rows.length, 'entry') })}</h2>
    <p>${say('readings.recovered')}</p>
    <button class="button main" onClick=${() => act(site.putBack(rows))}>${say('sync.put-all-of-it-back')}</button>
    <ul class="rows">${rows.map(
      (row) => html`<li class="row-text" key=${row.key} data-recovered=${row.record}>
      <span class="strong">${titleFor(site, row, here.get(row.record))}: ${recoveredDeed(site, row)}</span>
      <span class="detail">${saidBy(site, { ...row, to: row.value })}</span>
      <span class="detail">${store.personName(row.by)}, ${timeText(row.at)}</span>
      <span class="side-by-side"><button class="button" onClick=${() => act(site.putBack([row]))}>${say('sync.put-it-back')}</button><button class="button danger" onClick=${() => act(site.letGo([row]))}>${say('sync.let-it-go')}</button></span>
    </li>`,
    )}</ul>
    <${Problem} error=${error} />
  </section>`;
}

/** @param {Site} site @param {import('../../storage/types.js').Recovered} row */
const recoveredDeed = (site, row) =>
  deedOf(site, row.facet === 'life' ? { kind: row.value.removed ? 'remove' : 'restore' } : row);

/** All that is only on this phone, as a file. @param {{site: Site, onMade?: () => void, help?: string}} props `help`: what it is good for */
export function ToFile({ site, onMade, help = say('readings.file-help') }) {
  const [file, setFile] = useState(/** @type {{url: string, name: string} | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const make = async () => {
    try {
      const blob = await site.saveUnsentToFile();
      const day = new Date().toISOString().slice(0, 16).replace(/[:T]/g, '-');
      const made = { url: URL.createObjectURL(blob), name: `spanwalk-unsent-${day}.json` };
      setFile(made);
      const link = Object.assign(document.createElement('a'), { href: made.url, download: made.name });
      link.click();
      onMade?.();
    } catch (failed) {
      setError(failed);
    }
  };
  return html`<section class="stack" aria-label=${say('sync.as-a-file')}>
    <button class="button wide" onClick=${make}>${say('sync.save-all-to-a-file')}</button>
    <p class="small muted">${help}</p>
    ${file && html`<p role="status"><a href=${file.url} download=${file.name}>${file.name}</a> ${say('sync.is-made')}</p>`}
    <${Problem} error=${error} />
  </section>`;
}
