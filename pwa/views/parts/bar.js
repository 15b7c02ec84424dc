// The bar: at most five destinations, at the foot of a phone and at the side of a desk; there with the desk's own below them.

import { useEffect, useState } from 'preact/hooks';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { say } from '../words.js';
import { barOf, DESK, forRole, destinationAt } from './destinations.js';
import { useWaits } from './waits.js';

/** A desk, or a phone that lies on its side: there the bar stands at the side. */
const SIDE = '(min-width: 1000px), (min-width: 560px) and (max-height: 480px)';
/** From here on a desk is a desk. */
export const WIDE = '(min-width: 1000px)';
/** What is shown beside the place, and goes there. */
const FIND_KEY = '/';

/** Whether a medium is as a query says, now. @param {string} query */
export function useMedia(query) {
  const [matches, setMatches] = useState(() => matchMedia(query).matches);
  useEffect(() => {
    const list = matchMedia(query);
    const read = () => setMatches(list.matches);
    read();
    list.addEventListener('change', read);
    return () => list.removeEventListener('change', read);
  }, [query]);
  return matches;
}

export const useBarAtTheSide = () => useMedia(SIDE);

/** @param {{site: string, isFrame?: boolean}} props `isFrame`: of a screen that is still to come */
export function Bar({ site, isFrame = false }) {
  const wide = useMedia(WIDE);
  const role = store.opened.get(site)?.role ?? '';
  const destinations = barOf(role);
  const counts = !isFrame && destinations.some(({ id }) => id === 'desk');
  const waits = useWaits(counts ? store.opened.get(site) : undefined);
  const here = destinationAt(destinations, site, location.pathname);
  useEffect(() => (wide ? onFindKey(`/s/${site}/find`) : undefined), [wide, site]);
  return html`<nav class="bar" aria-label=${say('places.all')}>
    <ul class="bar-destinations">
      ${destinations.map(
        ({ id, path }) => html`<li key=${id}>
        <a href=${`/s/${site}${path}`} aria-current=${id === here ? 'page' : null} aria-keyshortcuts=${wide && id === 'find' ? FIND_KEY : null}>
          <span>${say(`place.${id}`)}</span>${id === 'desk' && html`<${Badge} number=${waits.problems + waits.fitted} />`}${wide && id === 'find' && html`<kbd aria-hidden="true">${FIND_KEY}</kbd>`}
        </a>
      </li>`,
      )}
    </ul>
    ${wide && location.pathname.startsWith(`/s/${site}/desk`) && html`<${DeskPlaces} site=${site} role=${role} />`}
  </nav>`;
}

/** So many wait there. @param {{number: number}} props */
function Badge({ number }) {
  return number > 0
    ? html` <span class="badge">${number}<span class="visually-hidden"> ${say('places.wait')}</span></span>`
    : null;
}

/** The desk's destinations in their groups. @param {{site: string, role: string}} props */
export function DeskPlaces({ site, role }) {
  const here = destinationAt(
    DESK.flatMap(([, destinations]) => destinations),
    site,
    location.pathname,
  );
  /** @type {Record<string, number>} */
  const waits = { ...useWaits(store.opened.get(site)) };
  return html`<div class="desk-destinations">
    ${DESK.map(([about, destinations]) => [about, forRole(destinations, role)])
      .filter(([, destinations]) => destinations.length > 0)
      .map(
        ([about, destinations]) => html`<section key=${about} aria-label=${say(`places.${about}`)}>
        <p class="muted small">${say(`places.${about}`)}</p>
        <ul>${
          /** @type {import('./destinations.js').Destination[]} */ (destinations).map(
            ({ id, path }) =>
              html`<li key=${id}><a href=${`/s/${site}${path}`} aria-current=${id === here ? 'page' : null}>${say(`place.${id}`)}<${Badge} number=${waits[id] ?? 0} /></a></li>`,
          )
        }</ul>
      </section>`,
      )}
  </div>`;
}

/** @param {string} path */
function onFindKey(path) {
  /** @param {KeyboardEvent} event */
  const press = (event) => {
    const typing = /** @type {Element} */ (event.target).closest?.(
      'input, select, textarea, [contenteditable]',
    );
    if (event.key !== FIND_KEY || typing || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    navigate(path);
  };
  addEventListener('keydown', press);
  return () => removeEventListener('keydown', press);
}
