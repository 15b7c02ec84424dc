// Kinds as tiles: those that hang near here first, each with its photo, its lamps drawn to scale and what they are.

import { useState } from 'preact/hooks';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { titleOf } from '../record_screens.js';
import { choiceText, counted, say } from '../words.js';
import { KindDrawing } from './kind_drawing.js';
import { byMark, inWalkOrder } from './survey.js';

/** Rooms around this one in which is looked for what hangs here. */
const NEAR = 8;
/** So many kinds stand there at once: six rows of a phone. Others come by a tap. */
const AT_ONCE = 12;

/** @typedef {{kind: RecordView<'kind'>, near: number, photo: string | null}} Tile `near`: fixtures of it in the rooms around; `photo`: its SHA-256 */

/**
 * All kinds, those first of which most hang around a room.
 *
 * @param {Site} site @param {ViewRecord<'room'>} room @returns {Promise<Tile[]>}
 */
export async function tilesFor(site, room) {
  const [kinds, near] = await Promise.all([site.all('kind'), hangingNear(site, room)]);
  const tiles = await Promise.all(
    byMark(kinds).map(async (kind) => ({
      kind,
      near: near.get(kind.id) ?? 0,
      photo: /** @type {string | null} */ (
        (await site.referring(kind.id, 'photo'))[0]?.facets.identity?.sha256 ?? null
      ),
    })),
  );
  return tiles.sort((a, b) => b.near - a.near);
}

/** Kind id -> groups of it in the rooms around. @param {Site} site @param {ViewRecord<'room'>} room */
async function hangingNear(site, room) {
  const rooms = inWalkOrder(room.parent ? await site.children(room.parent, 'room') : []);
  const at = rooms.findIndex(({ id }) => id === room.id);
  const around = rooms.slice(Math.max(0, at - NEAR), at + 2);
  const groups = (await Promise.all(around.map(({ id }) => site.children(id, 'group')))).flat();
  /** @type {Map<string, number>} */
  const found = new Map();
  for (const { facets } of groups) {
    const kind = facets.identity?.kind ?? '';
    found.set(kind, (found.get(kind) ?? 0) + 1);
  }
  return found;
}

/** What its lamps are: '2 × T8, 4 ft, 32 W'. @param {ValueOf<'kind', 'lamps'> | undefined} lamps */
export function lampsText(lamps = {}) {
  const { rows, lamps_end_to_end: inARow = 1, diameter, nominal_ft: nominal, lamp_w: watts, fitted } = lamps;
  const seen = [diameter, nominal].filter((each) => each && each !== 'not-seen').map(choiceText);
  if (seen.length === 0) return fitted && fitted !== 'not-seen' ? choiceText(fitted) : say('survey.not-seen');
  const [first, ...others] = [...seen, ...(watts ? [`${watts} W`] : [])];
  return [rows ? `${rows * inARow} × ${first}` : first, ...others].join(', ');
}

/**
 * @param {object} props
 * @param {Site} props.site
 * @param {Tile[]} props.tiles
 * @param {string | null} props.chosen id of a kind
 * @param {(kind: string) => void} props.onChoose
 */
export function KindTiles({ site, tiles, chosen, onChoose }) {
  const [all, setAll] = useState(tiles.length <= AT_ONCE + 1);
  const shown = all ? tiles : tiles.slice(0, AT_ONCE);
  return html`<div class="tiles" role="group" aria-label=${say('page.kind')}>
    ${shown.map(
      ({
        kind,
        near,
        photo,
      }) => html`<button type="button" class="tile" key=${kind.id} aria-pressed=${kind.id === chosen} onClick=${() => onChoose(kind.id)}>
        <${KindPicture} site=${site} kind=${kind} photo=${photo} />
        <span class="strong">${titleOf(kind)}</span>
        <span class="small muted">${lampsText(kind.facets.lamps)}</span>
        ${near > 0 && html`<span class="small muted">${say('survey.near-here', { groups: counted(near, 'group') })}</span>`}
      </button>`,
    )}
  </div>
  ${!all && html`<button type="button" class="button wide" onClick=${() => setAll(true)}>${say('floor.all-kinds', { kinds: tiles.length })}</button>`}`;
}

/** @param {{site: Site, kind: RecordView<'kind'>, photo: string | null}} props */
export function KindPicture({ site, kind, photo }) {
  return html`<span class="tile-picture">
    <${KindDrawing} lamps=${kind.facets.lamps} />
    ${photo && html`<${TilePhoto} site=${site} sha256=${photo} />`}
  </span>`;
}

/** A photo that is not on this phone leaves the drawing alone. @param {{site: Site, sha256: string}} props */
function TilePhoto({ site, sha256 }) {
  const url = useLive(() => site.photoUrl(sha256, { thumb: true }), [sha256]);
  return url ? html`<img src=${url} alt="" />` : null;
}
