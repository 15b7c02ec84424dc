// All kinds of the site; at a desk the one looked at last stands beside them.

import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Kind, KIND_FACETS, lastKind } from './kind.js';
import { kindRows } from './beside_rows.js';
import { useBeside } from '../parts/beside.js';
import { Page } from '../parts/page.js';
import { Row } from '../parts/parts.js';
import { say } from '../words.js';

/** @param {{site: Site}} props */
export function Kinds({ site }) {
  const kinds = useLive(() => site.all('kind'), [site.id]);
  const wide = useBeside();
  if (!kinds) return null;
  const rows = kindRows(site, kinds);
  if (wide && rows.length > 0) {
    const last = rows.find(({ id }) => id === lastKind(site.id)) ?? rows[0];
    return html`<${Kind} key=${last.id} site=${site} params=${{ id: last.id }} />`;
  }
  return html`<${Page} title=${say('survey.kinds')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}>
    ${kinds.length === 0 && html`<p>${say('survey.no-kind-yet-one-is')}</p>`}
    <p class="muted">${say('survey.beside-each-how-many-of', { kind_facets: KIND_FACETS.length })}</p>
    <ul class="rows">
      ${rows.map((row) => html`<${Row} key=${row.id} ...${row} />`)}
    </ul>
  <//>`;
}
