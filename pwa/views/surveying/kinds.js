// All kinds of the site.

import { briefText, facetText } from './facet_rows.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { KIND_FACETS } from './kind.js';
import { Page } from '../parts/page.js';
import { Row } from '../parts/parts.js';
import { titleOf } from '../places.js';
import { byMark } from './survey.js';
import { say } from '../words.js';

/** What tells kinds apart in a list. @param {Record<string, SpecFacet>} spec */
const told = ({ lamps: { fields } }) =>
  Object.fromEntries(['fitted', 'diameter', 'nominal_ft', 'lamp_w'].map((name) => [name, fields[name]]));

/** @param {{site: Site}} props */
export function Kinds({ site }) {
  const kinds = useLive(() => site.all('kind'), [site.id]);
  if (!kinds) return null;
  const spec = site.spec.records.kind.facets;
  /** @param {RecordView<'kind'>} kind */
  const seen = (kind) =>
    KIND_FACETS.filter((facet) =>
      facetText(spec[facet].fields, /** @type {Record<string, Value>} */ (kind.facets)[facet]),
    ).length;
  return html`<${Page} title=${say('survey.kinds')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}>
    ${kinds.length === 0 && html`<p>${say('survey.no-kind-yet-one-is')}</p>`}
    <p class="muted">${say('survey.beside-each-how-many-of', { kind_facets: KIND_FACETS.length })}</p>
    <ul class="rows">
      ${byMark(kinds).map((kind) => html`<${Row} key=${kind.id} href=${`/s/${site.id}/kind/${kind.id}`} title=${titleOf(kind)} detail=${briefText(told(spec), kind.facets.lamps)} end=${say('survey.of', { kind: seen(kind), kind_facets: KIND_FACETS.length })} />`)}
    </ul>
  <//>`;
}
