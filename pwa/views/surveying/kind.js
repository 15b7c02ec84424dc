// One kind of fixture: described once, used in many rooms.

import { useEffect } from 'preact/hooks';
import { notConverted } from '../../rules/fit/not_converted.js';
import { populationOf } from '../../rules/fit/sampling.js';
import { isSprung, springBack } from '../../rules/fit/spring_back.js';
import { store } from '../../store/store.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { tapeCaution } from '../measuring/caution_of_the_day.js';
import { Beside, useBeside } from '../parts/beside.js';
import { NotHere } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Caution, Row } from '../parts/parts.js';
import { PhotoButton, PhotoPrompts, Photos } from '../parts/photos.js';
import { OF_KIND } from '../photos/purposes.js';
import { titleOf } from '../record_screens.js';
import { counted, say } from '../words.js';
import { KIND_FACETS, kindRows } from './beside_rows.js';
import { FacetRows } from './facet_rows.js';

export { KIND_FACETS };

/** The kind looked at last, by site. @type {Map<string, string>} */
const last = new Map();
/** @param {string} site */
export const lastKind = (site) => last.get(site);
/** Not one of the parts that describe a kind: who measures it does so to say more than is usual. */
const HOLDERS = ['spring_back'];
const OF_LAMPS = ['plan.not.between-sockets', 'plan.not.too-long', 'plan.not.built-in-led'];
const OUTSIDE = ['identity', 'housing', 'lamps'];
const COVER_OPEN = ['ballast', 'ballast_space', 'wiring'];

/** What of its lamps is not by this method: said as soon as they are. @param {RecordView<'kind'>} kind */
const ofLamps = (kind) => notConverted(kind, undefined).filter(({ code }) => OF_LAMPS.includes(code));

/** @param {{site: Site, params: {id: string}}} props */
export function Kind({ site, params: { id } }) {
  const read = useLive(async () => {
    const [kind, own, groups, kinds] = await Promise.all([
      /** @type {Promise<RecordView<'kind'> | undefined>} */ (site.get(id)),
      /** @type {Promise<RecordView<'site'> | undefined>} */ (site.get(site.id)),
      site.referring(id, 'group'),
      /** @type {Promise<RecordView<'kind'>[]>} */ (site.all('kind')),
    ]);
    const rooms = await Promise.all(groups.map((group) => site.get(group.parent ?? '')));
    return {
      kind,
      own,
      kinds,
      groups: groups.map((group, /** @type {number} */ place) => ({
        group,
        room: rooms[place],
      })),
    };
  }, [id]);
  useEffect(() => {
    last.set(site.id, id);
  }, [site.id, id]);
  const wide = useBeside();
  if (!read) return null;
  const { kind, own, groups, kinds } = read;
  const from = new URLSearchParams(location.search).get('room');
  const list = wide ? `/s/${site.id}` : `/s/${site.id}/kinds`;
  const back = from ? `/s/${site.id}/room/${from}` : list;
  if (!kind)
    return html`<${Page} title=${say('page.kind')} back=${back} site=${site.id}><${NotHere} site=${site} /><//>`;
  return html`<${Page} title=${titleOf(kind)} over=${say('page.kind')} back=${back} site=${site.id} look="beside">
    <${Beside} name=${`kinds ${site.id}`} label=${say('survey.kinds')} rows=${kindRows(site, kinds)} here=${id} />
    <section class="stack" aria-label=${say('survey.on-the-ladder-lens-open')}>
      <h2>${say('survey.on-the-ladder-lens-open')}</h2>
      <${Caution}>${say('caution.lens-open')}<//>
      <${FacetRows} site=${site} record=${kind} facets=${OUTSIDE} />
      ${ofLamps(kind).map(({ code, facts }) => html`<p class="notice bad" key=${code}>${say(code, facts)}</p>`)}
      <${PhotoPrompts} site=${site} subject=${id} purposes=${OF_KIND.lensOpen} />
    </section>
    <section class="stack" aria-label=${say('survey.lamps-out')}>
      <h2>${say('survey.lamps-out')}</h2>
      <${Caution}>${say(tapeCaution(kind.facets.lamps ?? {}))}<//>
      <${FacetRows} site=${site} record=${kind} facets=${HOLDERS} />
      <${PhotoPrompts} site=${site} subject=${id} purposes=${OF_KIND.lampsOut} />
      <${Yields} kind=${kind} own=${own} groups=${groups.map(({ group }) => group)} />
    </section>
    <section class="stack" aria-label=${say('survey.cover-open-once')}>
      <h2>${say('survey.cover-open-once')}</h2>
      <${Caution}>${say('caution.cover-open')}<//>
      <${FacetRows} site=${site} record=${kind} facets=${COVER_OPEN} />
      <${PhotoPrompts} site=${site} subject=${id} purposes=${OF_KIND.coverOpen} />
    </section>
    <section class="stack" aria-label=${say('survey.photos-of-the-kind')}>
      <h2>${say('page.photos')}</h2>
      <${Photos} site=${site} subject=${id} />
      <${PhotoButton} site=${site} subject=${id} purpose="whole-fixture" label=${say('photos.from-this-phone')} fromPhone=${true} />
    </section>
    ${
      groups.length > 0 &&
      html`<section class="stack" aria-label=${say('survey.where-it-hangs')}>
        <h2>${say('survey.where-it-hangs')}</h2>
        <ul class="rows">
          ${groups.map(({ group, room }) => html`<${Row} key=${group.id} href=${`/s/${site.id}/group/${group.id}`} title=${room ? titleOf(room) : say('survey.a-room-that-is-not')} detail=${group.facets.count?.count ? counted(group.facets.count.count, 'fixture') : say('survey.not-counted')} />`)}
        </ul>
      </section>`
    }
  <//>`;
}

/**
 * How far the holders are taken to yield, and from what: for the group with the most cavities, which asks most.
 *
 * @param {{kind: ViewRecord<'kind'>, own: ViewRecord<'site'> | undefined, groups: ViewRecord<'group'>[]}} props `own` is the site's record
 */
function Yields({ kind, own, groups }) {
  if (isSprung(kind)) return html`<p class="small">${say('spring-back.sprung')}</p>`;
  const cavities = Math.max(0, ...groups.map((group) => populationOf(group, kind, [], new Set()) ?? 0));
  const { ticks, how } = springBack(
    kind,
    /** @type {ViewRecord<'site'>} */ (own ?? { facets: {} }),
    cavities || null,
    store.tables.reference,
  );
  return html`<p class="small" data-yields=${how}>${say(`cavity.spring-back-${how}`, { spring_back_ticks: ticks })}</p>`;
}
