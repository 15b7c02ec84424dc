// A record's facets as rows: what is known in each, and the way to its form.

import { unitText } from '../coded_text.js';
import { html } from '../html.js';
import { markedText } from '../numbers.js';
import { canBeTyped } from '../inputs/fields.js';
import { inOtherText } from '../inputs/other_unit.js';
import { Row } from '../parts/parts.js';
import { mayWrite } from '../record_screens.js';
import { choiceText, isOfRoom, keptLengthText, say, timeText } from '../words.js';
import { NOTHING_INHERITED } from './inherited_here.js';

/** A moment as records hold it, and an id that only the machine knows something by. */
const MOMENT = /^\d{4}-\d\d-\d\dT[\d:.]+Z$/;
const ID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;

/** One field's value, to be read. @param {SpecField} field @param {unknown} value @returns {string} */
export function valueText(field, value) {
  if (field.of.ticks) return keptLengthText(/** @type {number} */ (value), undefined, isOfRoom(field));
  if (field.of.json === 'boolean') return choiceText(value ? 'yes' : 'no');
  if (Array.isArray(value)) return value.map(choiceText).join(', ');
  if (field.of.chosen) return field.unit ? `${choiceText(value)} ${unitText(field.unit)}` : choiceText(value);
  if (typeof value === 'string' && MOMENT.test(value)) return timeText(value);
  const text = typeof value === 'number' ? markedText(String(value)) : String(value);
  const also = typeof value === 'number' ? inOtherText(value, field.unit) : '';
  return field.unit ? `${text} ${unitText(field.unit)}${also}` : text;
}

/**
 * What a facet says, in one line; null when it says nothing yet.
 *
 * @param {Record<string, SpecField>} fields of the spec @param {Value | undefined} value
 * @returns {string | null}
 */
export function facetText(fields, value) {
  const said = Object.entries(fields).filter(
    ([name, field]) => value?.[name] !== undefined && canBeTyped(field) && !ID.test(String(value?.[name])),
  );
  if (said.length === 0) return null;
  return said.map(([name, field]) => `${field.title}: ${valueText(field, value?.[name])}`).join(' · ');
}

/**
 * The same without the fields' titles, for lists.
 *
 * @param {Record<string, SpecField>} fields of the spec @param {Value | undefined} value
 */
export function briefText(fields, value) {
  const said = Object.entries(fields).filter(
    ([name, field]) => value?.[name] !== undefined && canBeTyped(field),
  );
  const seen = said.filter(([name]) => value?.[name] !== 'not-seen');
  return seen.map(([name, field]) => valueText(field, value?.[name])).join(', ');
}

/**
 * @param {object} props
 * @param {Site} props.site
 * @param {RecordView} props.record
 * @param {string[]} props.facets in the order in which to show them
 * @param {import('./inherited_here.js').Inherited} [props.inherited] what it has from its floor or panel
 */
export function FacetRows({ site, record, facets, inherited = NOTHING_INHERITED }) {
  const spec = site.spec.records[record.type]?.facets ?? {};
  return html`<ul class="rows">
    ${facets.map((facet) => {
      const from = inherited.from[facet] ?? [];
      const said = facetText(
        spec[facet].fields,
        from.length > 0 ? inherited.values[facet] : record.facets[facet],
      );
      const end = record.refused[facet]
        ? say('survey.not-taken')
        : record.mine[facet]
          ? say('survey.not-sent-yet')
          : said
            ? ''
            : say('survey.not-seen');
      if (!mayWrite(site, record.type, facet)) {
        return html`<li class="row" key=${facet}>
          <span><span class="title">${spec[facet].title}</span><span class="detail">${said ?? say('survey.not-seen')}</span><${From} said=${from} /></span>
        </li>`;
      }
      return html`<${Row} key=${facet} href=${`/s/${site.id}/record/${record.id}/${facet}`} title=${spec[facet].title} detail=${said} more=${html`<${From} said=${from} />`} end=${end} />`;
    })}
  </ul>`;
}

/** What was answered elsewhere, where, and by whom. @param {{said: string[]}} props */
function From({ said }) {
  return said.map((each) => html`<span class="detail from" key=${each}>${each}</span>`);
}
