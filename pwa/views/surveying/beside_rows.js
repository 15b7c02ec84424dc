// Rows of lists of kinds and of groups, the same on their own screen and beside the one that is shown.

import { facet } from '../../rules/survey.js';
import { titleOf } from '../record_screens.js';
import { counted, say } from '../words.js';
import { briefText, facetText } from './facet_rows.js';
import { byMark, groupsOf } from './survey.js';

/** In the order in which the body shows them: from the floor, lens open, cover open. */
export const KIND_FACETS = ['identity', 'housing', 'lamps', 'ballast', 'ballast_space', 'wiring'];

/** What tells kinds apart in a list. @param {Record<string, SpecFacet>} spec */
const told = ({ lamps: { fields } }) =>
  Object.fromEntries(['fitted', 'diameter', 'nominal_ft', 'lamp_w'].map((name) => [name, fields[name]]));

/** Kinds by mark, each with how many of its parts are described. @param {Site} site @param {RecordView<'kind'>[]} kinds */
export function kindRows(site, kinds) {
  const spec = site.spec.records.kind.facets;
  /** @param {RecordView<'kind'>} kind */
  const seen = (kind) =>
    KIND_FACETS.filter((name) =>
      facetText(spec[name].fields, /** @type {Record<string, Value>} */ (kind.facets)[name]),
    ).length;
  return byMark(kinds).map((kind) => ({
    id: kind.id,
    href: `/s/${site.id}/kind/${kind.id}`,
    title: titleOf(kind),
    detail: briefText(told(spec), kind.facets.lamps),
    end: say('survey.of', { kind: seen(kind), kind_facets: KIND_FACETS.length }),
  }));
}

/** The groups of the room of a group; none where it has none. @param {Site} site @param {string} id */
export async function groupRows(site, id) {
  const own = await site.get(id);
  const groups = own?.parent ? await groupsOf(site, own.parent) : [];
  return groups.map(({ group, kind }) => {
    const { count } = facet(group, 'count');
    return {
      id: group.id,
      href: `/s/${site.id}/group/${group.id}`,
      title: kind ? titleOf(kind) : say('survey.a-kind-that-is-not'),
      detail: facet(group, 'identity').note,
      end: count ? counted(count, 'fixture') : say('survey.not-counted'),
    };
  });
}
