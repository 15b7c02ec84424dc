// Find: rooms, kinds, fixtures, labels, open points, people and places by what is on this phone, while one types.

import { useEffect, useRef, useState } from 'preact/hooks';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { DESK, forRole, HERE, leadsToTheDesk } from '../parts/destinations.js';
import { Page } from '../parts/page.js';
import { Row } from '../parts/parts.js';
import { say } from '../words.js';
import { rank, wordsOf } from './matching.js';
import { SiteIndex } from './site_index.js';
import { throughAll } from './slices.js';

/** @typedef {{about: string, rank: number, path: string | null, title: string, detail: string}} Found `path`: the whole address */

/** In this order. */
const ABOUT = ['room', 'kind', 'fixture', 'label', 'point', 'person', 'place'];
/** Of each at first. */
const FIRST = 6;
const MORE = 60;
/** Open points hang on all readings at once: on a larger site they are looked through only when asked for. */
const RECORDS_AT_ONCE = 4000;

/** Indexes of sites, each until something changes there. @type {WeakMap<Site, SiteIndex>} */
const kept = new WeakMap();

/** The index while it grows, and whether it is whole. @param {Site} site */
function useIndex(site) {
  const [state, setState] = useState(() => ({
    index: kept.get(site) ?? new SiteIndex(),
    whole: kept.has(site),
    turn: 0,
  }));
  useEffect(() => {
    if (state.whole) return undefined;
    let wanted = true;
    const { index } = state;
    const grown = (/** @type {RecordView[]} */ records) => {
      for (const record of records) index.add(record);
      setState((before) => ({ ...before, turn: before.turn + 1 }));
    };
    throughAll(site, grown, () => wanted).then((whole) => {
      if (!whole) return;
      kept.set(site, index);
      const stop = store.subscribe(() => {
        kept.delete(site);
        stop();
      });
      setState((before) => ({ ...before, whole: true }));
    });
    return () => {
      wanted = false;
    };
  }, []);
  return state;
}

/** What answers a query, as it is found. @param {Site} site @param {string} query @param {{index: SiteIndex, whole: boolean, turn: number}} state */
function useFound(site, query, { index, whole, turn }) {
  const [found, setFound] = useState(/** @type {{query: string, all: Found[]}} */ ({ query: '', all: [] }));
  useEffect(() => {
    let wanted = true;
    const look = async () => {
      /** @type {Found[]} */
      const all = [...peopleOf(site, query), ...placesOf(site, query)];
      for (const some of index.find(query)) {
        if (!wanted) return;
        all.push(...some.map((each) => ({ ...each, path: `/s/${site.id}${each.path}` })));
        await new Promise((next) => setTimeout(next));
      }
      if (wanted) setFound({ query, all });
    };
    look();
    return () => {
      wanted = false;
    };
  }, [query, whole, whole ? 0 : turn >> 2]);
  return found;
}

/** @param {Site} site @param {string} query @returns {Found[]} */
function peopleOf(site, query) {
  const words = wordsOf(query);
  const path = leadsToTheDesk(site.role) ? `/s/${site.id}/desk/people` : null;
  return (site.entry.people ?? []).flatMap(({ name, role }) => {
    const told = rank(words, wordsOf(name));
    return told < 0 ? [] : [{ about: 'person', rank: told, path, title: name, detail: role ?? '' }];
  });
}

/** @param {Site} site @param {string} query @returns {Found[]} */
function placesOf(site, query) {
  const words = wordsOf(query);
  const desk = leadsToTheDesk(site.role) ? DESK.flatMap(([, places]) => places) : [];
  return forRole([...HERE, ...desk], site.role).flatMap(({ id, path }) => {
    const title = say(`place.${id}`);
    const told = rank(words, wordsOf(title));
    return told < 0 ? [] : [{ about: 'place', rank: told, path: `/s/${site.id}${path}`, title, detail: '' }];
  });
}

/** Open points whose sentence answers; asked for apart. @param {Site} site @param {string} query @param {boolean} asked */
function usePoints(site, query, asked) {
  const [points, setPoints] = useState(
    /** @type {Array<{path: string, title: string, words: string[]}> | null} */ (null),
  );
  useEffect(() => {
    let wanted = true;
    const look = async () => {
      const { pointsOfSite } = await import('../screens_b.js');
      const told = await pointsOfSite(site);
      const lines = told.points.map(({ rule, facts, path }) => ({
        path,
        title: say(`open-point.${rule}`, facts),
      }));
      if (wanted) setPoints(lines.map((line) => ({ ...line, words: wordsOf(line.title) })));
    };
    if (asked && !points) look();
    return () => {
      wanted = false;
    };
  }, [asked]);
  const words = wordsOf(query);
  return (points ?? []).flatMap(({ path, title, words: line }) => {
    const told = rank(words, line);
    return told < 0 ? [] : [{ about: 'point', rank: told, path, title, detail: '' }];
  });
}

/** @param {{site: Site}} props */
export function Find({ site }) {
  const [query, setQuery] = useState(() => new URLSearchParams(location.search).get('q') ?? '');
  const [forPoints, setForPoints] = useState(false);
  const field = useRef(/** @type {HTMLInputElement | null} */ (null));
  const state = useIndex(site);
  const found = useFound(site, query, state);
  const small = state.whole && state.index.records <= RECORDS_AT_ONCE;
  const seesPoints = leadsToTheDesk(site.role);
  const points = usePoints(site, query, seesPoints && query.trim() !== '' && (small || forPoints));
  useEffect(() => field.current?.focus({ preventScroll: true }), []);
  const all = query.trim() ? [...found.all, ...points] : [];
  const type = (/** @type {EventOf<HTMLInputElement>} */ event) => {
    const text = event.currentTarget.value;
    setQuery(text);
    history.replaceState(
      null,
      '',
      text.trim() ? `${location.pathname}?q=${encodeURIComponent(text)}` : location.pathname,
    );
  };
  const open = (/** @type {Event} */ event) => {
    event.preventDefault();
    const first = inOrder(all).find(({ path }) => path !== null);
    if (found.query === query && first?.path) navigate(first.path);
  };
  return html`<${Page} title=${say('place.find')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}>
    <form class="field" role="search" onSubmit=${open}>
      <label for="find">${say('find.what')}</label>
      <input id="find" ref=${field} type="search" enterkeyhint="go" autocomplete="off" autocapitalize="off" spellcheck="false" value=${query} onInput=${type} />
      <p class="help">${say('find.help')}</p>
    </form>
    <p role="status" class="muted small">${toldOf(query, all, state.whole && found.query === query)}</p>
    ${ABOUT.map((about) => html`<${Answers} key=${`${about} ${query}`} about=${about} found=${ranked(all, about)} />`)}
    ${seesPoints && state.whole && !small && !forPoints && query.trim() && html`<button type="button" class="button wide" onClick=${() => setForPoints(true)}>${say('find.points-too')}</button>`}
  <//>`;
}

/** @param {string} query @param {Found[]} all @param {boolean} whole */
function toldOf(query, all, whole) {
  if (!query.trim()) return '';
  if (!whole) return say('find.looking', { found: all.length });
  return all.length === 0 ? say('find.nothing', { query }) : say('find.found', { found: all.length });
}

/** The best first, in the order in which people count. @param {Found[]} all @param {string} about */
const ranked = (all, about) =>
  all
    .filter((each) => each.about === about)
    .sort((a, b) => a.rank - b.rank || a.title.localeCompare(b.title, undefined, { numeric: true }));

/** @param {Found[]} all */
const inOrder = (all) => ABOUT.flatMap((about) => ranked(all, about));

/** @param {{about: string, found: Found[]}} props */
function Answers({ about, found }) {
  const [most, setMost] = useState(FIRST);
  if (found.length === 0) return null;
  const title = say(`find.${about}`);
  return html`<section class="stack" aria-label=${title}>
    <h2>${title} <span class="muted small">${found.length}</span></h2>
    <ul class="rows">
      ${found.slice(0, most).map((each) => (each.path ? html`<${Row} key=${each.path + each.title} href=${each.path} title=${each.title} detail=${each.detail} />` : html`<li class="row-text" key=${each.title}><span class="strong">${each.title}</span> <span class="detail">${each.detail}</span></li>`))}
    </ul>
    ${found.length > most && html`<button type="button" class="button wide" onClick=${() => setMost(most + MORE)}>${say('find.show-more', { left: found.length - most })}</button>`}
  </section>`;
}
