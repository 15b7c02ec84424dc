// A group turns out to be of another kind: chosen by its tile; what was counted and read stays.

import { useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { tellSaved } from '../parts/just_saved.js';
import { NotHere } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { titleOf } from '../record_screens.js';
import { say } from '../words.js';
import { headOf } from './heads.js';
import { KindTiles, tilesFor } from './kind_tiles.js';

/** @param {{site: Site, params: {id: string}}} props */
export function ChangeKind({ site, params: { id } }) {
  const read = useLive(async () => {
    const group = /** @type {RecordView<'group'> | undefined} */ (await site.get(id));
    const room = /** @type {RecordView<'room'> | undefined} */ (await site.get(group?.parent ?? ''));
    if (!group || !room) return { group: null, tiles: [], head: '' };
    return { group, tiles: await tilesFor(site, room), head: await headOf(site, group) };
  }, [id]);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  if (!read) return null;
  const { group, tiles, head } = read;
  const back = `/s/${site.id}/group/${id}`;
  if (!group)
    return html`<${Page} title=${say('survey.another-kind')} back=${`/s/${site.id}`} site=${site.id} look="form"><${NotHere} site=${site} /><//>`;
  /** @param {string} kind */
  const choose = async (kind) => {
    try {
      const { note } = group.facets.identity ?? { kind };
      const value = { parent: group.parent, kind, ...(note && { note }) };
      await site.save([
        { record: id, type: 'group', facet: 'identity', value, seen: group.seen.identity ?? null },
      ]);
      const chosen = tiles.find((each) => each.kind.id === kind);
      await tellSaved(site, back, say('survey.kind-changed', { title: chosen ? titleOf(chosen.kind) : '' }));
      navigate(back, { replace: true });
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<${Page} title=${say('survey.another-kind')} over=${head} back=${back} site=${site.id} look="form">
    <p class="notice">${say('survey.kind-change-keeps')}</p>
    <${Problem} error=${error} />
    <${KindTiles} site=${site} tiles=${tiles} chosen=${group.facets.identity?.kind ?? null} onChoose=${choose} />
  <//>`;
}
