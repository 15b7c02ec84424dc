// Every place of the site, in groups, and what is one's own.

import { store } from '../../store/store.js';
import { useStatus } from '../hooks.js';
import { html } from '../html.js';
import { DESK, forRole, HERE, leadsToTheDesk } from '../parts/destinations.js';
import { Page } from '../parts/page.js';
import { Row } from '../parts/parts.js';
import { SignOut } from '../parts/sign_out.js';
import { ThisPhone } from '../parts/this_phone.js';
import { say } from '../words.js';

/** @param {{site: Site}} props */
export function More({ site }) {
  useStatus();
  const { unsent, photos, conflicts } = site.engine.status;
  /** @type {Record<string, number>} */
  const counts = { unsent: unsent + photos, conflicts };
  return html`<${Page} title=${say('place.more')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}>
    <${Group} site=${site} title=${say('places.here')} destinations=${forRole(HERE, site.role)} counts=${counts} />
    ${(leadsToTheDesk(site.role) ? DESK : [])
      .map(([about, destinations]) => [about, forRole(destinations, site.role)])
      .filter(([, destinations]) => destinations.length > 0)
      .map(
        ([about, destinations]) =>
          html`<${Group} key=${about} site=${site} title=${`${say('place.desk')}: ${say(`places.${about}`)}`} destinations=${destinations} counts=${counts} />`,
      )}
    <section class="stack" aria-label=${say('places.you')}>
      <h2>${store.person?.name ?? say('places.you')}</h2>
      <ul class="rows">
        <${Row} href="/" title=${say('place.sites')} end="→" />
        <${Row} href="/me" title=${say('place.me')} end="→" />
      </ul>
    </section>
    <${ThisPhone} />
    <${SignOut} />
  <//>`;
}

/** @param {{site: Site, title: string, destinations: import('../parts/destinations.js').Destination[], counts: Record<string, number>}} props */
function Group({ site, title, destinations, counts }) {
  return html`<section class="stack" aria-label=${title}>
    <h2>${title}</h2>
    <ul class="rows">
      ${destinations.map(({ id, path }) => html`<${Row} key=${id} href=${`/s/${site.id}${path}`} title=${say(`place.${id}`)} end=${counts[id] ?? '→'} />`)}
    </ul>
  </section>`;
}
