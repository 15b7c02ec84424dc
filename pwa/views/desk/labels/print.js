// Print labels and notices: which, on which paper, and what is told before the printer runs.

import { useEffect, useState } from 'preact/hooks';
import { spaced } from '../../../rules/codes.js';
import { facet, has, positionsOf } from '../../../rules/survey.js';
import { askServer } from '../../../store/desk.js';
import { store } from '../../../store/store.js';
import { useUnits } from '../../forms/units.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { numberText } from '../../numbers.js';
import { Problem } from '../../parts/parts.js';
import { titleOf } from '../../record_screens.js';
import { labelPath } from '../../scanning/find_label.js';
import { groupsOf, inFloorOrder, inWalkOrder } from '../../surveying/survey.js';
import { counted, say } from '../../words.js';
import { useServer } from '../parts.js';
import { isWrong, NUMBERS, queryOf, SHIFTS, wantedOf } from './query.js';
import { dayOf } from '../../today/days.js';

/** @typedef {import('./query.js').PrintForm} PrintForm */
/** @typedef {{id: string, paper: string, columns: number, rows: number, width_mm: number, height_mm: number}} SheetTold */
/**
 * @typedef {object} PrintTold what the server tells before a print
 * @property {number} labels
 * @property {number} pages
 * @property {string | null} address
 * @property {string | null} first_code
 * @property {string | null} first_text
 * @property {number | null} symbol_mm
 * @property {number | null} module_mm
 * @property {number} shortened
 * @property {Array<{where: string, signs: string}>} cannot_print
 * @property {number} cannot_print_in
 * @property {OutdatedTold[]} outdated
 * @property {SheetTold[]} sheets
 * @property {number} places
 * @property {NoticeLanguage[]} languages in which notices are printed
 * @property {string[]} notice_says
 */
/** Labels that say what is not so any more. @typedef {{why: 'release' | 'place' | 'room' | 'kind', said: string, now: string, labels: number}} OutdatedTold */
/** @typedef {{tag: string, reviewed: boolean, regions: string[]}} NoticeLanguage `reviewed`: by somebody of the trade who speaks it */

const SHEETS = ['labels', 'notices', 'both'];
const WHAT = ['new', 'all', 'outdated', 'again', 'blank'];
const SETTLES_MS = 300;
/** Reasons that are listed. */
const OUTDATED_MOST = 6;

/** A value once it has not changed for a moment: the server is not asked at each letter. @param {string} value */
function useSettled(value) {
  const [settled, setSettled] = useState(value);
  useEffect(() => {
    const timer = setTimeout(() => setSettled(value), SETTLES_MS);
    return () => clearTimeout(timer);
  }, [value]);
  return settled;
}

/** What the form begins with: what is not printed yet; or one fixture, where the address names it, printed or not. @returns {PrintForm} */
function begin() {
  const named = new URLSearchParams(location.search);
  const fixture = named.has('group') ? `${named.get('group')} ${named.get('position')}` : '';
  return {
    sheet: 'labels',
    what: fixture ? 'all' : 'new',
    floor: named.get('floor') ?? '',
    room: named.get('room') ?? '',
    fixture,
    paper: 'a4',
    start: '1',
    count: '',
    date: dayOf(new Date()),
    language: store.person?.language ?? 'en',
    region: '',
    numbers: {},
  };
}

/** @param {{site: Site, changed: number, onPrinted: () => void}} props `changed`: rises when there are other labels than before */
export function PrintLabels({ site, changed, onPrinted }) {
  const units = useUnits(site);
  const [form, setForm] = useState(begin);
  const [noted, setNoted] = useState(/** @type {number | null} */ (null));
  const set = (/** @type {Partial<PrintForm>} */ part) => {
    setNoted(null);
    setForm((before) => ({ ...before, ...part }));
  };
  const query = queryOf(form, units);
  const settled = useSettled(query);
  const answer = /** @type {import('../parts.js').Answered<PrintTold>} */ (
    useServer(`/api/sites/${site.id}/labels/print?${settled}`, [changed])
  );
  const printed = (/** @type {number} */ count) => {
    setNoted(count);
    onPrinted();
  };
  const [seen, setSeen] = useState(/** @type {{query: string, error: unknown} | null} */ (null));
  useEffect(() => setSeen({ query: settled, error: answer.error }), [answer]);
  const none = form.sheet !== 'notices' && answer.told?.labels === 0;
  const stops = Boolean(answer.error) || !answer.told || none || query !== seen?.query;
  const pdf = (/** @type {string} */ asked) => `/api/sites/${site.id}/labels.pdf?${asked}`;
  return html`<section class="card" aria-label=${say('label-desk.print')}>
    <h2>${say('label-desk.print')}</h2>
    <${Address} told=${answer.told} />
    <${Outdated} told=${answer.told} chosen=${form.what === 'outdated'} onChoose=${() => set({ what: 'outdated', sheet: 'labels' })} />
    <div class="side-by-side">
      <${Choice} id="print-sheet" title=${say('label-desk.sheet')} value=${form.sheet} among=${SHEETS} said=${(/** @type {string} */ each) => say(`label-desk.sheet.${each}`)} onChange=${(/** @type {string} */ sheet) => set({ sheet })} />
      <${Choice} id="print-what" title=${say('label-desk.what')} value=${form.what} among=${WHAT} said=${(/** @type {string} */ each) => say(`label-desk.what.${each}`)} onChange=${(/** @type {string} */ what) => set({ what })} />
    </div>
    ${form.what !== 'blank' && html`<${Where} site=${site} form=${form} set=${set} />`}
    ${form.sheet !== 'labels' && html`<${OfNotices} form=${form} set=${set} told=${answer.told} />`}
    <${Paper} form=${form} set=${set} units=${units} sheets=${answer.told?.sheets ?? []} />
    <${Problem} error=${withTitle(answer.error)} />
    ${!answer.error && answer.told && html`<${Before} told=${answer.told} what=${form.what} none=${none} />`}
    <div class="side-by-side">
      <a class="button main" aria-disabled=${stops ? 'true' : undefined} href=${stops ? undefined : pdf(query)} target="_blank" rel="noopener">${say('desk.print-labels-pdf')}</a>
      <a class="button" aria-disabled=${answer.error ? 'true' : undefined} href=${answer.error ? undefined : pdf(query.replace(/(^|&)sheet=\w+/, '$1sheet=alignment'))} target="_blank" rel="noopener">${say('label-desk.alignment')}</a>
    </div>
    <p class="small muted">${say('label-desk.at-100')}</p>
    ${form.sheet !== 'notices' && !none && answer.told && site.role !== 'crew' && html`<${NotePrinted} site=${site} form=${form} labels=${answer.told.labels} onPrinted=${printed} />`}
    ${noted !== null && html`<p role="status" class="strong">${say('label-desk.noted', { labels: counted(noted, 'label') })}</p>`}
  </section>`;
}

/** A refusal of a number, with what the number is called here. @param {unknown} error */
function withTitle(error) {
  const { code, facts } = /** @type {{code?: string, facts?: Facts}} */ (error ?? {});
  if (code !== 'label-number-missing') return error;
  return { code, facts: { field: say(`label-desk.number.${facts?.field}`) } };
}

/**
 * What printed labels say and is not so any more, and the way to print these anew.
 *
 * @param {{told: PrintTold | undefined, chosen: boolean, onChoose: () => void}} props
 */
function Outdated({ told, chosen, onChoose }) {
  const outdated = told?.outdated ?? [];
  if (outdated.length === 0) return null;
  const labels = outdated.reduce((all, each) => all + each.labels, 0);
  return html`<section class="notice stack" aria-label=${say('label-desk.outdated')}>
    <p class="strong">${say('label-desk.outdated-counted', { labels: counted(labels, 'label') })}</p>
    <ul class="step-lines">${outdated
      .slice(0, OUTDATED_MOST)
      .map(
        ({ why, said, now, labels: count }) =>
          html`<li key=${`${why} ${said} ${now}`}>${say(said ? `label-desk.outdated-${why}` : `label-desk.outdated-${why}-changed`, { said, now, labels: counted(count, 'label') })}</li>`,
      )}</ul>
    ${outdated.length > OUTDATED_MOST && html`<p>${say('label-desk.outdated-more', { count: outdated.length - OUTDATED_MOST })}</p>`}
    <p>${say('label-desk.outdated-about')}</p>
    ${!chosen && html`<button type="button" class="button" onClick=${onChoose}>${say('label-desk.outdated-choose')}</button>`}
  </section>`;
}

/** What the symbols lead to, and the first label's to the letter. @param {{told: PrintTold | undefined}} props */
function Address({ told }) {
  if (!told) return null;
  return html`${
    told.address
      ? html`<p>${say('label-desk.address', { address: told.address })}</p>`
      : html`<p class="notice" role="note">${say('label-desk.no-address')}</p>`
  }
  ${told.first_text && html`<p>${say('label-desk.first', { code: told.first_code })} <code class="measure">${told.first_text}</code></p>`}`;
}

/** @param {{told: PrintTold, what: string, none: boolean}} props */
function Before({ told, what, none }) {
  if (none) return html`<p class="muted">${say(what === 'new' ? 'label-desk.none-new' : 'no-labels')}</p>`;
  const lacking = told.cannot_print.map(({ where, signs }) => `${where} (${signs})`).join('; ');
  return html`<p role="status">${say('label-desk.so-many', { labels: counted(told.labels, 'label'), pages: counted(told.pages, 'page') })}
      ${told.module_mm !== null && ` ${say('label-desk.symbol', { symbol_mm: numberText(told.symbol_mm ?? 0, 1), module_mm: numberText(told.module_mm, 2) })}`}</p>
    ${told.shortened > 0 && html`<p class="small">${say('label-desk.shortened', { labels: counted(told.shortened, 'label') })}</p>`}
    ${told.cannot_print_in > 0 && html`<p class="notice" role="note">${say('label-desk.cannot-print', { count: told.cannot_print_in, lacking })}</p>`}`;
}

/** @param {{id: string, title: string, value: string, among: readonly string[], said: (each: string) => string, onChange: (value: string) => void}} props */
function Choice({ id, title, value, among, said, onChange }) {
  return html`<div class="field"><label for=${id}>${title}</label>
    <select id=${id} value=${value} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange(event.currentTarget.value)}>
      ${among.map((each) => html`<option key=${each} value=${each}>${said(each)}</option>`)}
    </select></div>`;
}

/** Floor, room, fixture: each narrows the next. @param {{site: Site, form: PrintForm, set: (part: Partial<PrintForm>) => void}} props */
function Where({ site, form, set }) {
  const floors = inFloorOrder(useLive(() => site.all('floor'), [site.id]) ?? []);
  const rooms = inWalkOrder(
    useLive(
      async () =>
        form.floor ? /** @type {RecordView<'room'>[]} */ (await site.children(form.floor, 'room')) : [],
      [site.id, form.floor],
    ) ?? [],
  );
  const fixtures = useLive(() => fixturesOf(site, form.room), [site.id, form.room]) ?? [];
  const chosen = useLive(() => labelsOf(site, form.fixture), [site.id, form.fixture]) ?? [];
  /** @param {string} id @param {string} title @param {string} value @param {Array<[string, string]>} among @param {string} all @param {(value: string) => void} onChange */
  const choose = (
    id,
    title,
    value,
    among,
    all,
    onChange,
  ) => html`<div class="field"><label for=${id}>${title}</label>
    <select id=${id} value=${value} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => onChange(event.currentTarget.value)}>
      <option value="">${all}</option>
      ${among.map(([id_, name]) => html`<option key=${id_} value=${id_}>${name}</option>`)}
    </select></div>`;
  return html`<div class="side-by-side">
      ${choose('floor', say('label-desk.floor'), form.floor, named(floors), say('desk.the-whole-site'), (floor) => set({ floor, room: '', fixture: '' }))}
      ${form.floor && choose('print-room', say('label-desk.room'), form.room, named(rooms), say('label-desk.every-room'), (room) => set({ room, fixture: '' }))}
      ${form.room && choose('print-fixture', say('label-desk.fixture'), form.fixture, fixtures, say('label-desk.every-fixture'), (fixture) => set({ fixture }))}
    </div>
    ${chosen.map((code) => html`<a class="button" key=${code} href=${labelPath(site.id, code)}>${say('label.about-this', { code: spaced(code) })}</a>`)}`;
}

/** @param {RecordView[]} records @returns {Array<[string, string]>} */
const named = (records) => records.map((record) => [record.id, titleOf(record)]);

/** @param {Site} site @param {string} room @returns {Promise<Array<[string, string]>>} `group position`, and what it is called */
async function fixturesOf(site, room) {
  if (!room) return [];
  const groups = await groupsOf(site, room);
  return groups.flatMap(({ group, kind }) =>
    positionsOf(group).map((position) => {
      const facts = { kind: kind?.facets.identity?.mark ?? '', position };
      return /** @type {[string, string]} */ ([
        `${group.id} ${position}`,
        say('label-desk.fixture-of-kind', facts),
      ]);
    }),
  );
}

/** Codes of the labels on a fixture. @param {Site} site @param {string} fixture @returns {Promise<string[]>} */
async function labelsOf(site, fixture) {
  if (!fixture) return [];
  const [group, position] = fixture.split(' ');
  const labels = await site.referring(group, 'label');
  return labels
    .filter((label) => facet(label, 'binding').position === Number(position) && !has(label, 'voided'))
    .map((label) => String(facet(label, 'identity').code));
}

/** @param {{form: PrintForm, set: (part: Partial<PrintForm>) => void, told: PrintTold | undefined}} props */
function OfNotices({ form, set, told }) {
  const languages = told?.languages ?? [];
  const { regions = [], reviewed = true } = languages.find(({ tag }) => tag === form.language) ?? {};
  const language = say(`label-desk.language.${form.language}`);
  /** @param {string} tag */
  const choose = (tag) => {
    const known = languages.find((each) => each.tag === tag)?.regions.includes(form.region);
    set({ language: tag, region: known ? form.region : '' });
  };
  return html`<p class="small muted">${say('label-desk.notice-about')} ${say('label-desk.no-right-to-left')}</p>
    <div class="side-by-side">
      ${form.sheet === 'notices' && html`<${Entry} id="notice-count" title=${say('label-desk.notices-in-all')} value=${form.count} onInput=${(/** @type {string} */ count) => set({ count })} />`}
      <${Entry} id="notice-date" title=${say('label-desk.date')} value=${form.date} onInput=${(/** @type {string} */ date) => set({ date })} />
    </div>
    <div class="side-by-side">
      <${Choice} id="notice-language" title=${say('label-desk.language')} value=${form.language} among=${languages.map(({ tag }) => tag)} said=${(/** @type {string} */ each) => say(`label-desk.language.${each}`)} onChange=${choose} />
      ${regions.length > 0 && html`<${Choice} id="notice-region" title=${say('label-desk.region')} value=${form.region} among=${['', ...regions]} said=${(/** @type {string} */ each) => say(`label-desk.region.${each || 'none'}`)} onChange=${(/** @type {string} */ region) => set({ region })} />`}
    </div>
    ${!reviewed && html`<p class="notice" role="note">${say('label-desk.not-reviewed', { language })}</p>`}
    ${told && html`<details class="notice-says" open=${!reviewed}><summary>${say('label-desk.notice-says')}</summary><div lang=${form.language}>${told.notice_says.map((line) => html`<p key=${line}>${line}</p>`)}</div></details>`}`;
}

/** @param {{id: string, title: string, value: string, wrong?: boolean, onInput: (value: string) => void}} props */
function Entry({ id, title, value, wrong = false, onInput }) {
  return html`<div class="field"><label for=${id}>${title}</label>
    <input id=${id} autocomplete="off" value=${value} aria-invalid=${wrong ? 'true' : 'false'} onInput=${(/** @type {EventOf<HTMLInputElement>} */ event) => onInput(event.currentTarget.value)} /></div>`;
}

/** Paper, its numbers, the first free place, and how far the print is moved. @param {{form: PrintForm, set: (part: Partial<PrintForm>) => void, units: Units, sheets: SheetTold[]}} props */
function Paper({ form, set, units, sheets }) {
  /** @param {string} name */
  const entry = (name) => {
    const value = form.numbers[name] ?? '';
    return html`<${Entry} key=${name} id=${`print-${name}`} title=${say(`label-desk.number.${name}`)} value=${value} wrong=${isWrong(name, value, units)}
      onInput=${(/** @type {string} */ typed) => set({ numbers: { ...form.numbers, [name]: typed } })} />`;
  };
  return html`<div class="side-by-side">
      <div class="field"><label for="paper">${say('desk.paper')}</label>
        <select id="paper" value=${form.paper} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => set({ paper: event.currentTarget.value })}>
          ${sheets.map((sheet) => html`<option key=${sheet.id} value=${sheet.id}>${sheetText(sheet)}</option>`)}
          <option value="roll">${say('label-desk.roll')}</option>
          <option value="own">${say('label-desk.own')}</option>
        </select></div>
      ${form.paper !== 'roll' && html`<${Entry} id="start" title=${say('desk.first-free-place-on-the')} value=${form.start} onInput=${(/** @type {string} */ start) => set({ start: start.trim() })} />`}
    </div>
    ${form.paper in NUMBERS && html`<p class="small muted">${say(`label-desk.typed-in-${units}`)}</p><div class="side-by-side">${NUMBERS[form.paper].map(entry)}</div>`}
    <details><summary>${say('label-desk.shift')}</summary>
      <p class="small muted">${say('label-desk.shift-about')}</p>
      <div class="side-by-side">${SHIFTS.map(entry)}</div></details>`;
}

/** @param {SheetTold} sheet */
const sheetText = ({ paper, columns, rows, width_mm, height_mm }) =>
  say(`label-desk.sheet-of.${paper}`, {
    columns,
    rows,
    width_mm: numberText(width_mm, 0, 1),
    height_mm: numberText(height_mm, 0, 1),
    width_in: numberText(width_mm / 25.4, 0, 3),
    height_in: numberText(height_mm / 25.4, 0, 3),
  });

/** Say that they came out of the printer. @param {{site: Site, form: PrintForm, labels: number, onPrinted: (labels: number) => void}} props */
function NotePrinted({ site, form, labels, onPrinted }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const note = async () => {
    setError(null);
    try {
      const told = /** @type {{marked: number}} */ (
        await askServer(`/api/sites/${site.id}/labels/printed`, { method: 'POST', body: wantedOf(form) })
      );
      store.syncNow();
      onPrinted(told.marked);
    } catch (refused) {
      setError(refused);
    }
  };
  return html`<button type="button" class="button" onClick=${note}>${say('label-desk.they-are-printed', { labels: counted(labels, 'label') })}</button>
    <${Problem} error=${error} />`;
}
