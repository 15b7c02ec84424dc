// What a site's screens say before anything of the site has come onto this phone.

import { useEffect, useState } from 'preact/hooks';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { say } from '../words.js';
import { IsComing } from './coming.js';
import { Page } from './page.js';
import { useHeard } from './when_heard.js';

/** @param {{site: Site}} props */
function Fetching({ site }) {
  return html`<${Page} key="fetching" title=${site.name} over=${say('place.home')} back="/" site=${site.id} isFrame>
    <${IsComing} />
  <//>`;
}

/** What a screen is that has not read yet what it shows: during the first sync the frame stays that stood there before it. @param {{site: Site}} props */
export const NotReadYet = ({ site }) => (site.engine.heard ? null : html`<${Fetching} site=${site} />`);

/** A few words that nothing is there, or what is so before the server was heard. @param {Site} site @param {boolean} heard @param {string} text */
export const textOnceHeard = (site, heard, text) =>
  heard ? text : say(site.engine.isAwaited ? 'survey.fetching' : 'line.never-heard');

/**
 * In the place of a sentence that nothing is there: it is told once the server was heard, and before that what is so.
 *
 * @param {{site: Site, heard: boolean, children?: Child}} props `heard`: whether it was before that was read which is not there
 */
export function OnceHeard({ site, heard, children }) {
  if (heard) return children;
  return site.engine.isAwaited
    ? html`<${IsComing} />`
    : html`<p class="notice">${say('line.never-heard')}</p>`;
}

/**
 * In the place of a record that is not here.
 *
 * @param {{site: Site, heard?: boolean}} props `heard`: whether the server was heard before it was looked for; it is looked for
 *   by whom this is shown
 */
export function NotHere({ site, heard }) {
  const now = useHeard(site);
  const awaited = site.engine.isAwaited || (heard === false && now);
  return awaited ? html`<${IsComing} />` : html`<p class="notice">${say('view.record-missing')}</p>`;
}

/** Whether nothing of a site is here yet. @param {Site} site */
function useFetching(site) {
  const [fetching, setFetching] = useState(site.engine.isFetching);
  useEffect(() => {
    const look = () => setFetching(site.engine.isFetching);
    look();
    return store.subscribe(look);
  }, [site.id]);
  return fetching;
}

/**
 * Screens that are drawn once something of their site has come: what they would say before that is that nothing is there, and
 * what comes would move it.
 *
 * @param {Array<{path: string, screen: ScreenPart}>} screens
 */
export const onceHere = (screens) => screens.map(({ path, screen }) => ({ path, screen: whenHere(screen) }));

/** @param {ScreenPart} Screen @returns {ScreenPart} */
const whenHere = (Screen) =>
  function WhenHere(props) {
    const fetching = useFetching(/** @type {Site} */ (props.site));
    return fetching ? html`<${Fetching} site=${props.site} />` : html`<${Screen} ...${props} />`;
  };
