// All kinds of the site; at a desk the one looked at last stands beside them.

import { html } from '../html.js';
import { Kind, KIND_FACETS, lastKind } from './kind.js';
import { kindRows } from './beside_rows.js';
import { useBeside } from '../parts/beside.js';
import { NotReadYet, OnceHeard } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Row } from '../parts/parts.js';
import { useReadAndHeard } from '../parts/when_heard.js';
import { say } from '../words.js';

/** @param {{site: Site}} props */
export function Kinds({ site }) {
  const read = useReadAndHeard(site, () => site.all('kind'), [site.id]);
  const wide = useBeside();
  if (!read) return html`<${NotReadYet} site=${site} />`;
  const { heard, read: kinds } = read;
  const rows = kindRows(site, kinds);
  if (wide && rows.length > 0) {
    const last = rows.find(({ id }) => id === lastKind(site.id)) ?? rows[0];
    return html`<${Kind} key=${last.id} site=${site} params=${{ id: last.id }} />`;
  }
  return html`<${Page} title=${say('survey.kinds')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}>
    ${kinds.length === 0 && html`<${OnceHeard} site=${site} heard=${heard}><p>${say('survey.no-kind-yet-one-is')}</p><//>`}
    <p class="muted">${say('survey.beside-each-how-many-of', { kind_facets: KIND_FACETS.length })}</p>
    <ul class="rows">
      ${rows.map((row) => html`<${Row} key=${row.id} ...${row} />`)}
    </ul>
  <//>`;
}
