// Who did what: entries of a site's audit, or of the firm's, the newest first; what an entry holds is opened on it.

import { useEffect, useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { store } from '../../../store/store.js';
import { html } from '../../html.js';
import { Page } from '../../parts/page.js';
import { Problem } from '../../parts/parts.js';
import { deedOf } from '../../syncing/operation_text.js';
import { phoneName } from '../../syncing/phone_name.js';
import { counted, say, timeText } from '../../words.js';
import { Desk } from '../parts.js';

/** @typedef {{number: number, at: string, what: string, person: string | null, sender: string | null, device: string | null, entered_first: string | null, entered_last: string | null, operations: number, facts: Record<string, unknown>, hash: string}} AuditEntry */
/** @typedef {{entries: AuditEntry[], people: Record<string, string>, more: boolean, number: number, hash: string}} AuditPage */
/** @typedef {{id: string, person: string, device: string, entered: string, type: string, facet: string, kind: 'set' | 'remove' | 'restore', result: string}} AuditOperation */

/** What can be asked for by itself. */
const SORTS = [
  'pushed',
  'settled',
  'people',
  'links',
  'releasing',
  'export',
  'sites',
  'restored',
  'rewritten',
];
const SORTS_OF_FIRM = [
  'signed-in',
  'sign-in-refused',
  'people',
  'links',
  'own',
  'sites',
  'export',
  'restored',
];

/** Where the firm's audit is asked for, and the screen above it. */
const OF_FIRM = { address: '/api/audit', above: '/people' };

/** @param {{site: Site}} props */
export function Audit({ site }) {
  return html`<${Desk} site=${site} at="/audit" title=${say('audit.title')}>
    <${Entries} address=${`/api/sites/${site.id}/audit`} sorts=${SORTS} site=${site} />
  <//>`;
}

export function FirmAudit() {
  const owner = store.person?.owner === true;
  return html`<${Page} title=${say('audit.title')} back=${OF_FIRM.above} look="desk">
    ${owner ? html`<p>${say('audit.firm-help')}</p><${Entries} address=${OF_FIRM.address} sorts=${SORTS_OF_FIRM} />` : html`<p>${say('people.only-owners')}</p>`}
  <//>`;
}

/** @param {{address: string, sorts: string[], site?: Site}} props */
function Entries({ address, sorts, site }) {
  const [wanted, setWanted] = useState(/** @type {Record<string, string>} */ ({}));
  const [pages, setPages] = useState(/** @type {AuditPage[]} */ ([]));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const query = new URLSearchParams(Object.entries(wanted).filter(([, value]) => value)).toString();
  useEffect(() => {
    const gone = new AbortController();
    askServer(`${address}?${query}`, { signal: gone.signal }).then(
      (told) => {
        setError(null);
        setPages([/** @type {AuditPage} */ (told)]);
      },
      (refused) => gone.signal.aborted || setError(refused),
    );
    return () => gone.abort();
  }, [address, query]);
  const older = async () => {
    const before = pages.at(-1)?.entries.at(-1)?.number;
    try {
      const told = await askServer(`${address}?${query}&before=${before}`);
      setPages((had) => [...had, /** @type {AuditPage} */ (told)]);
    } catch (refused) {
      setError(refused);
    }
  };
  const entries = pages.flatMap((page) => page.entries);
  const names = new Map(pages.flatMap((page) => Object.entries(page.people)));
  return html`<section class="stack" aria-label=${say('audit.title')}>
    <p class="muted">${say('audit.help')}</p>
    <${Filters} wanted=${wanted} sorts=${sorts} names=${names} onChange=${setWanted} />
    <p><a class="button" href=${`${address}.csv`} download>${say('audit.as-a-file')}</a></p>
    <${Problem} error=${error} />
    ${pages.length === 0 && !error && html`<p role="status">${say('desk.asking-the-server')}</p>`}
    ${pages.length > 0 && entries.length === 0 && html`<p>${say('audit.none')}</p>`}
    <ul class="rows">${entries.map((entry) => html`<${Entry} key=${entry.number} entry=${entry} names=${names} address=${address} site=${site} />`)}</ul>
    ${pages.at(-1)?.more && html`<p><button type="button" class="button" onClick=${older}>${say('audit.older')}</button></p>`}
    ${pages[0] && html`<p class="muted">${say('audit.end', { number: pages[0].number })} <code class="audit-hash">${pages[0].hash}</code></p>`}
  </section>`;
}

/** @param {{wanted: Record<string, string>, sorts: string[], names: Map<string, string>, onChange: (wanted: Record<string, string>) => void}} props */
function Filters({ wanted, sorts, names, onChange }) {
  /** @param {string} name */
  const set = (name) => (/** @type {{currentTarget: HTMLInputElement | HTMLSelectElement}} */ event) =>
    onChange({ ...wanted, [name]: event.currentTarget.value });
  const people = [...names].sort(([, one], [, other]) => one.localeCompare(other));
  return html`<div class="audit-filters">
    <label class="field"><span class="label">${say('audit.what')}</span>
      <select class="input" value=${wanted.what ?? ''} onChange=${set('what')}>
        <option value="">${say('audit.everything')}</option>
        ${sorts.map((sort) => html`<option key=${sort} value=${sort}>${say(`audit.sort.${sort}`)}</option>`)}
      </select></label>
    <label class="field"><span class="label">${say('audit.who')}</span>
      <select class="input" value=${wanted.person ?? ''} onChange=${set('person')}>
        <option value="">${say('audit.everybody')}</option>
        ${people.map(([id, name]) => html`<option key=${id} value=${id}>${name}</option>`)}
      </select></label>
    <label class="field"><span class="label">${say('audit.first-day')}</span><input class="input" type="date" value=${wanted.first_day ?? ''} onChange=${set('first_day')} /></label>
    <label class="field"><span class="label">${say('audit.last-day')}</span><input class="input" type="date" value=${wanted.last_day ?? ''} onChange=${set('last_day')} /></label>
  </div>`;
}

/** @param {{entry: AuditEntry, names: Map<string, string>, address: string, site?: Site}} props */
function Entry({ entry, names, address, site }) {
  const [operations, setOperations] = useState(/** @type {AuditOperation[] | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const open = async (/** @type {{currentTarget: HTMLDetailsElement}} */ event) => {
    if (!event.currentTarget.open || operations) return;
    try {
      /** @type {{operations: AuditOperation[]}} */
      const told = await askServer(`${address}/${entry.number}`);
      setOperations(told.operations);
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<li class="row-text" data-entry=${entry.number}>
    <span class="strong">${whatText(entry.what)}</span>
    <span class="detail">${whoText(entry, names)}</span>
    <span class="detail">${say('audit.arrived', { time: timeText(entry.at) })}${entry.entered_first ? ` · ${say('audit.entered', { time: enteredText(entry) })}` : ''}${entry.device ? ` · ${phoneName(entry.device)}` : ''}</span>
    ${factsText(entry, names) && html`<span class="detail">${factsText(entry, names)}</span>`}
    ${
      entry.operations > 0 &&
      (site
        ? html`<details onToggle=${open}><summary class="audit-open">${counted(entry.operations, 'entry')}</summary>
      <${Problem} error=${error} />
      <ul class="rows">${(operations ?? []).map((each) => html`<${Operation} key=${each.id} told=${each} site=${site} names=${names} />`)}</ul></details>`
        : html`<span class="detail">${counted(entry.operations, 'entry')}</span>`)
    }
  </li>`;
}

/** @param {{told: AuditOperation, site: Site, names: Map<string, string>}} props */
function Operation({ told, site, names }) {
  const title = site.spec.records[told.type]?.title ?? told.type;
  const who = names.get(told.person) ?? store.personName(told.person);
  return html`<li class="row-text">
    <span>${title}: ${deedOf(site, told)}</span>
    <span class="detail">${who}, ${timeText(told.entered)}, ${phoneName(told.device)}</span>
    ${told.result !== 'applied' && html`<span class="detail">${say(`audit.result.${told.result}`)}</span>`}
  </li>`;
}

/** Whether there are words of a code. @param {string} code */
const known = (code) => code in store.tables.words;

/** @param {string} what */
const whatText = (what) =>
  known(`audit.what.${what}`) ? say(`audit.what.${what}`) : say('audit.what.other', { value: what });

/** Who did it, and who handed it in where that is somebody else. @param {AuditEntry} entry @param {Map<string, string>} names */
function whoText({ person, sender }, names) {
  const name = (/** @type {string | null} */ id) => (id ? (names.get(id) ?? say('phone.somebody')) : '');
  if (!person && !sender) return say('audit.nobody');
  if (!person) return say('audit.several-handed-in', { name: name(sender) });
  return person === sender || !sender
    ? name(person)
    : say('audit.handed-in', { name: name(person), by: name(sender) });
}

/** @param {AuditEntry} entry */
const enteredText = ({ entered_first: first, entered_last: last }) =>
  first === last || !last ? timeText(first ?? '') : `${timeText(first ?? '')} – ${timeText(last)}`;

/** @param {AuditEntry} entry @param {Map<string, string>} names */
const factsText = ({ facts }, names) =>
  Object.entries(facts)
    .filter(([name]) => known(`audit.fact.${name}`))
    .map(([name, value]) => say(`audit.fact.${name}`, { value: names.get(String(value)) ?? String(value) }))
    .join(' · ');
