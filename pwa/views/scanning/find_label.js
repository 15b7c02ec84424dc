// From a code to the fixture it hangs on, or to what is the matter with the label, by what is on the phone.

import { endingWords } from '../../rules/installing/noted.js';
import { facet, has } from '../../rules/survey.js';
import { store } from '../../store/store.js';
import { titleOf } from '../record_screens.js';
import { say } from '../words.js';

/** The screen of a fixture. @param {string} site @param {string} group @param {number} position @param {string} [code] */
export const fixturePath = (site, group, position, code) =>
  `/s/${site}/fixture/${group}/${position}${code ? `?code=${encodeURIComponent(code)}` : ''}`;

/** The screen on which a person says which fixture a code is on; `binds`: to keep it so. @param {string} site @param {string} code @param {boolean} [binds] */
export const choosePath = (site, code, binds = false) =>
  `/s/${site}/choose?code=${encodeURIComponent(code)}${binds ? '&binds=yes' : ''}`;

/** The screen of a label. @param {string} site @param {string} code */
export const labelPath = (site, code) => `/s/${site}/label/${encodeURIComponent(code)}`;

/**
 * What a label is: `bound` to a fixture; `removed`, on one whose group was removed, with whether it was converted; `void`,
 * with the reason, where it was and the codes there now; `blank`, on no fixture yet; `unknown` on this site.
 *
 * @typedef {{state: 'bound', path: string} | {state: 'removed', path: string, place: string, converted: boolean} | {state: 'void', reason: string, path: string | null, place: string, others: string[]} | {state: 'blank'} | {state: 'unknown'}} LabelState
 */

/** @param {Site} site @param {string} code @returns {Promise<LabelState>} */
export async function labelState(site, code) {
  const label = await site.lookup('label', code);
  if (!label) return { state: 'unknown' };
  const { group, position } = facet(label, 'binding');
  const bound = group !== undefined && position !== undefined;
  if (has(label, 'voided')) {
    const on = {
      place: '',
      others: /** @type {string[]} */ ([]),
      ...(bound && (await placeOf(site, group, position))),
    };
    const path = bound ? fixturePath(site.id, group, position) : null;
    return { state: 'void', reason: facet(label, 'voided').reason ?? '', path, ...on };
  }
  if (!bound) return { state: 'blank' };
  const path = fixturePath(site.id, group, position, code);
  const isRemoved = (await site.get(group))?.removed;
  return isRemoved ? removedState(site, group, position) : { state: 'bound', path };
}

/** @param {Site} site @param {string} group @param {number} position @returns {Promise<LabelState>} */
async function removedState(site, group, position) {
  const { place } = await placeOf(site, group, position);
  const ended = endingWords(await site.children(group, 'installation')).get(position);
  const converted = facet(ended, 'identity').outcome === 'done';
  return { state: 'removed', path: `${fixturePath(site.id, group, position)}/now`, place, converted };
}

/**
 * What a fixture is called, and the codes of the labels that hold on it.
 *
 * @param {Site} site @param {string} groupId @param {number} position
 */
export async function placeOf(site, groupId, position) {
  const group = /** @type {RecordView<'group'> | undefined} */ (await site.get(groupId));
  const kindId = group?.facets.identity?.kind ?? '';
  const kind = /** @type {RecordView<'kind'> | undefined} */ (await site.get(kindId));
  const room = /** @type {RecordView<'room'> | undefined} */ (await site.get(group?.parent ?? ''));
  const labels = await site.referring(groupId, 'label');
  const facts = { kind: kind?.facets.identity?.mark ?? '', position, room: room ? titleOf(room) : '' };
  const here = labels.filter((each) => facet(each, 'binding').position === position && !has(each, 'voided'));
  return { place: say('label.place', facts), others: here.map((each) => facet(each, 'identity').code ?? '') };
}

/** What the fixture is called that a label is on; '' where it is on none. @param {Site} site @param {string} code @returns {Promise<string>} */
export async function labelPlace(site, code) {
  const { group, position } = facet(await site.lookup('label', code), 'binding');
  return group && position ? (await placeOf(site, group, position)).place : '';
}

/**
 * A site other than this one that knows a label.
 *
 * @param {string} code @param {string} [here] the id of the site that does not
 * @returns {Promise<{id: string, name: string, found: LabelState} | null>} null: none on this phone; one that is not void goes first
 */
export async function onAnotherSite(code, here) {
  const sites = store.sites().filter(({ id }) => id !== here);
  const known = [];
  for (const { id, name } of sites) {
    const found = await labelState(await store.openSite(id), code);
    if (found.state !== 'unknown') known.push({ id, name, found });
  }
  return known.find(({ found }) => found.state === 'bound') ?? known[0] ?? null;
}
