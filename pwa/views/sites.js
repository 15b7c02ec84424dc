// The sites of who is signed in: those in work, how far each is, and the archived ones apart.

import { useEffect, useState } from 'preact/hooks';
import { askServer } from '../store/desk.js';
import { store } from '../store/store.js';
import { FirstSteps } from './first_run/setting_up.js';
import { useLive, useStatus } from './hooks.js';
import { html } from './html.js';
import { navigate } from './navigate.js';
import { FirmCatalogue } from './parts/firm_catalogue.js';
import { Page } from './parts/page.js';
import { Row } from './parts/parts.js';
import { ThisPhone } from './parts/this_phone.js';
import { SignOut } from './parts/sign_out.js';
import { NewChanges } from './people/changes.js';
import { nameOfGone } from './record_screens.js';
import { SignIn } from './sign_in.js';
import { choiceText, counted, say, timeText } from './words.js';

/** @typedef {import('../storage/home_storage.js').SiteEntry} SiteEntry */

export function Sites() {
  const [, draw] = useState(0);
  useEffect(() => store.subscribe(() => draw((count) => count + 1)), []);
  const person = store.person;
  useEffect(() => {
    if (!person) navigate('/sign-in', { replace: true });
  }, [person === null]);
  const sites = store.sites().filter(({ kind }) => kind !== 'catalogue');
  const listed = useListed(person && sites.map(({ id }) => id).join(' '));
  if (!person) return html`<${SignIn} />`;
  const archived = sites.filter((site) => site.archived_at && !site.shut_out);
  const inWork = sites.filter((site) => !site.archived_at && !site.shut_out);
  const shutOut = sites.filter((site) => site.shut_out);
  return html`<${Page} title=${say('page.your-sites')} over=${person.name}>
    <${NewChanges} />
    ${sites.length === 0 && !person.owner && html`<p>${say('page.you-are-on-no-site')}</p>`}
    ${sites.length === 0 && person.owner && html`<${FirstSteps} />`}
    ${inWork.length > 0 && html`<${SiteRows} sites=${inWork} listed=${listed} />`}
    ${sites.length > 0 && person.owner && html`<a class="button wide" href="/sites/new">${say('sites.make-another')}</a>`}
    ${
      archived.length > 0 &&
      html`<details class="points" open=${archived.some(({ role }) => role === 'facility')}><summary>${say('sites.archived', { sites: counted(archived.length, 'site') })}</summary>
      <${SiteRows} sites=${archived} listed=${listed} />
    </details>`
    }
    ${
      shutOut.length > 0 &&
      html`<section class="stack" aria-label=${say('shut-out.sites')}>
      <h2>${say('shut-out.sites')}</h2>
      <ul class="rows">${shutOut.map(({ id, name }) => html`<${Row} key=${id} href=${`/s/${id}/shut-out`} title=${name} end="→" />`)}</ul>
    </section>`
    }
    <${GoneSites} />
    <${FirmCatalogue} />
    <a class="button" href="/me">${say('me.title')}: ${person.name}</a>
    <${ThisPhone} />
    <${SignOut} />
  <//>`;
}

/** Sites that the server has no more: the list above has them not, the phone has. */
function GoneSites() {
  useStatus();
  const gone = store.gone();
  const names = useLive(() => Promise.all(gone.map(nameOfGone)), [gone.map(({ id }) => id).join(' ')]);
  if (gone.length === 0 || names?.length !== gone.length) return null;
  return html`<section class="stack" aria-label=${say('gone.on-this-phone')}>
    <h2>${say('gone.on-this-phone')}</h2>
    <ul class="rows">${gone.map(({ id }, place) => html`<${Row} key=${id} href=${`/s/${id}/deleted`} title=${names[place]} end="→" />`)}</ul>
  </section>`;
}

/** How each site stands, by id, as the server tells; empty without a signal. @param {string | null} ids asked for anew when they change */
function useListed(ids) {
  const [listed, setListed] = useState(/** @type {Map<string, SiteListed>} */ (new Map()));
  useEffect(() => {
    if (!ids) return undefined;
    const gone = new AbortController();
    askServer('/api/sites', { signal: gone.signal }).then(
      (told) => {
        const { sites } = /** @type {{sites: SiteListed[]}} */ (told);
        setListed(new Map(sites.map((site) => [site.id, site])));
      },
      // Without a signal the names that are on this phone stand alone.
      () => {},
    );
    return () => gone.abort();
  }, [ids]);
  return listed;
}

/** @param {{sites: SiteEntry[], listed: Map<string, SiteListed>}} props */
function SiteRows({ sites, listed }) {
  return html`<ul class="rows">
    ${sites.map((site) => html`<${Row} key=${site.id} href=${`/s/${site.id}`} title=${site.name} detail=${detailOf(site, listed.get(site.id))} end=${choiceText(site.role)} />`)}
  </ul>`;
}

/** @param {SiteEntry} site @param {SiteListed | undefined} told */
function detailOf(site, told) {
  if (!told) return site.archived_at ? say('sites.archived-on', { time: timeText(site.archived_at) }) : '';
  return [
    site.archived_at && say('sites.archived-on', { time: timeText(site.archived_at) }),
    told.rooms > 0
      ? say('sites.progress', {
          done: told.rooms_done,
          rooms: counted(told.rooms, 'room'),
          fixtures: counted(told.fixtures, 'fixture'),
        })
      : say('sites.no-rooms'),
    told.people === 1 ? say('sites.person') : say('sites.people', { people: told.people }),
    told.heard_at ? say('sites.heard', { time: timeText(told.heard_at) }) : say('sites.never-heard'),
    told.unsent > 0 && say('sites.unsent', { unsent: told.unsent }),
  ]
    .filter(Boolean)
    .join(' ');
}
