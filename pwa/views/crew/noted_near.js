// What a crew found at one fixture that may hurt whoever works at the next: said there too, until the desk or a crew has said otherwise.

import { lastWords } from '../../rules/installing/last_word.js';
import { passedOver } from '../../rules/installing/outcomes.js';
import { facet } from '../../rules/survey.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { choiceText, say } from '../words.js';

/** Reasons of problems that hold for more than their fixture: for all of its room, or for all of its group. @type {Record<string, 'room' | 'group'>} */
const HOLDS_FOR = {
  'suspect-ceiling': 'room',
  'ballast-leaks': 'group',
  'other-lamps-or-ballast': 'group',
  'wiring-differs': 'group',
  'still-live': 'group',
  'earth-missing': 'group',
};

/** @typedef {{group: RecordView<'group'>, kind?: RecordView<'kind'>, installations: RecordView<'installation'>[]}} OfGroup a group of a room with all that was noted there */
/** @typedef {{group: string, mark: string, position: number, reason: string}} Near */

/**
 * Problems of a room that hold for others too; those of another group only where they hold for the room. One after which only
 * somebody else noted something, perhaps without knowing of it, is told at its own fixture as well.
 *
 * @param {OfGroup[]} groups of one room @param {{group: string, position: number} | null} here the fixture that is looked at; null: the room
 * @returns {Near[]}
 */
export function notedNear(groups, here) {
  return groups.flatMap(({ group, kind, installations }) => {
    const isSame = here?.group === group.id;
    const mark = kind?.facets.identity?.mark ?? '';
    return standingOn(installations).flatMap(({ position, reason, isOver }) => {
      const holds = HOLDS_FOR[reason];
      const isHere = isSame && here?.position === position;
      if (!holds || (isHere && !isOver) || (here && !isSame && holds === 'group')) return [];
      return [{ group: group.id, mark, position, reason }];
    });
  });
}

/** Problems that are the last word, and those that were passed over. @param {RecordView<'installation'>[]} installations */
function standingOn(installations) {
  const over = new Set(passedOver(installations));
  const words = lastWords(installations);
  const last = installations.filter((each) => {
    const { outcome, position = 0 } = facet(each, 'identity');
    return outcome === 'problem' && words.get(position) === each;
  });
  return [...new Set([...last, ...over])].map((each) => {
    const { position = 0, reason = '' } = facet(each, 'identity');
    return { position, reason, isOver: over.has(each) };
  });
}

/** Groups of a room with all that was noted there. @param {Site} site @param {string} room @returns {Promise<OfGroup[]>} */
async function groupsOf(site, room) {
  const groups = await site.children(room, 'group');
  return Promise.all(
    groups.map(async (group) => ({
      group,
      kind: await site.get(group.facets.identity?.kind ?? ''),
      installations: await site.children(group.id, 'installation'),
    })),
  );
}

/** @param {{site: Site, room: string, here?: {group: string, position: number} | null}} props */
export function NotedNear({ site, room, here = null }) {
  const groups = useLive(() => groupsOf(site, room), [site.id, room]);
  const near = notedNear(groups ?? [], here);
  if (near.length === 0) return null;
  return html`<section class="notice bad stack" aria-label=${say('card.near')}>
    <p class="strong">${say('card.near')}</p>
    <ul class="step-lines">${near.map(
      ({ group, mark, position, reason }) =>
        html`<li key=${`${group} ${position}`}>${say('card.near-at', { mark, position, reason: choiceText(reason) })}</li>`,
    )}</ul>
  </section>`;
}
