// Whether a part that was fitted in a fixture has been recalled since: said where its label is scanned.

import { fittedItems, releasedAt } from '../../rules/installing/as_fitted.js';
import { endingWords } from '../../rules/installing/noted.js';
import { itemsNow } from '../../rules/installing/replaced.js';
import { facet, fixturesOf, has } from '../../rules/survey.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { say } from '../words.js';

/**
 * Items with a recall among what is in a fixture now: as it was fitted, less what was replaced since.
 *
 * @param {Site} site @param {GroupRead} read @param {number} position @returns {Promise<RecordView<'catalogue_item'>[]>}
 */
export async function recalledIn(site, read, position) {
  const done = endingWords(read.installations).get(position);
  if (!done || facet(done, 'identity').outcome !== 'done') return [];
  const [items, failures, conversion] = await Promise.all([
    site.all('catalogue_item'),
    site.children(read.group.id, 'failure'),
    site.get(facet(done, 'identity').conversion ?? ''),
  ]);
  const released = releasedAt(
    /** @type {ViewRecord<'conversion'> | undefined} */ (conversion),
    position,
    fixturesOf(read.group),
  );
  const fitted = fittedItems(done, released) ?? (facet(done, 'identity').fitted ? [] : released);
  const here = failures.filter((each) => facet(each, 'identity').position === position);
  const catalogue = new Map(items.map((each) => [facet(each, 'identity').code ?? '', each]));
  const codes = new Set(itemsNow(fitted, here, catalogue).map(({ code }) => code));
  return items.filter((each) => has(each, 'recall') && codes.has(facet(each, 'identity').code ?? ''));
}

/** @param {{site: Site, read: GroupRead, position: number}} props */
export function RecalledHere({ site, read, position }) {
  const found = useLive(() => recalledIn(site, read, position), [site.id, read, position]) ?? [];
  return found.map(
    (item) =>
      html`<p class="notice bad" role="alert" key=${item.id}>${say('crew.recalled-here', { code: facet(item, 'identity').code ?? '', reason: facet(item, 'recall').reason ?? '' })}</p>`,
  );
}
