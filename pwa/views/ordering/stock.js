// What lies ready of each item, which rooms wait for what, what is kept for a room, and what leaves the stock.

import { useState } from 'preact/hooks';
import { Table } from '../desk/parts.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { idOfName } from '../name_id.js';
import { Page } from '../parts/page.js';
import { Mark, Problem } from '../parts/parts.js';
import { mayWrite, titleOf } from '../record_screens.js';
import { choiceText, counted, say } from '../words.js';
import { expectedText } from './expected.js';
import { expectedOf } from './orders.js';
import { codeOf, readStock } from './read_stock.js';

/** @typedef {import('./read_stock.js').StockRead} StockRead */
/** @typedef {{site: Site, read: StockRead}} OfStock */
/** A room with what its groups lack. @typedef {{room: RecordView<'room'>, groups: Array<{mark: string, items: Record<string, number>}>, lacks: boolean, kept: boolean}} RoomStock */

/** Columns beside the item. @type {Array<keyof import('../../rules/ordering/stock.js').ItemStock>} */
const COLUMNS = [
  'here',
  'kept',
  'free',
  'wanted',
  'lacking',
  'to_come',
  'ordered',
  'received',
  'used',
  'returned',
];

/** @param {{site: Site}} props */
export function StockScreen({ site }) {
  const read = useLive(() => readStock(site), [site.id]);
  return html`<${Page} title=${say('place.stock')} over=${site.name} back=${`/s/${site.id}`} look="desk" site=${site.id}>
    ${
      read &&
      (Object.keys(read.stock.items).length === 0
        ? html`<p class="notice">${say('stock.none')}</p>`
        : html`<${Waiting} site=${site} read=${read} /><${Items} site=${site} read=${read} /><${Move} site=${site} read=${read} />`)
    }
  <//>`;
}

/** Rooms in the order in which they are served. @param {StockRead} read @returns {RoomStock[]} */
function roomsOf({ stock, jobs, kept }) {
  /** @type {Map<string, RoomStock>} */
  const found = new Map();
  for (const { room: id, group, items } of stock.groups) {
    const job = jobs.get(group);
    if (!job || job.left.length === 0) continue;
    const before = found.get(id) ?? { room: job.room, groups: [], lacks: false, kept: kept.has(id) };
    const lacks = Object.keys(items).length > 0;
    found.set(id, {
      ...before,
      lacks: before.lacks || lacks,
      groups: [...before.groups, { mark: job.kind?.facets.identity?.mark ?? '', items }],
    });
  }
  return [...found.values()];
}

/** @param {OfStock} props */
function Waiting({ site, read }) {
  const rooms = roomsOf(read);
  const waiting = rooms.filter(({ lacks }) => lacks);
  return html`<section class="card" aria-label=${say('stock.waiting')}>
    <h2>${say('stock.waiting')}</h2>
    <p class="strong">${waiting.length === 0 ? say('stock.nothing-waits') : say('stock.rooms-wait', { rooms: counted(waiting.length, 'room'), all: rooms.length })}</p>
    <p class="muted">${say('stock.waiting-about')}</p>
    <ul class="rows">${[...waiting, ...rooms.filter(({ lacks }) => !lacks)].map((each) => html`<${Room} key=${each.room.id} site=${site} read=${read} of=${each} />`)}</ul>
  </section>`;
}

/** @param {OfStock & {of: RoomStock}} props */
function Room({ site, read, of: { room, groups, lacks, kept } }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const keep = async () => {
    setError(null);
    try {
      const id = await idOfName(room.id, 'spanwalk:reservation');
      const { seen } = await site.form(id, 'identity');
      const value = { parent: room.id, kept: !kept };
      await site.save([{ record: id, type: 'reservation', facet: 'identity', value, seen }]);
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<li class="row-text">
    <span class="strong">${titleOf(room)} ${kept && html`<${Mark}>${say('stock.kept-mark')}<//>`} ${lacks ? html`<${Mark} look="attention">${say('stock.waits')}<//>` : html`<${Mark} look="done">${say('stock.ready')}<//>`}</span>
    ${groups.flatMap(({ mark, items }) =>
      Object.entries(items).map(
        ([item, pieces]) =>
          html`<span class="detail" key=${`${mark} ${item}`}>${say('stock.group-lacks', { mark, pieces, code: codeOf(read.names, item) })} ${expectedText(expectedOf(read.orders, item))}</span>`,
      ),
    )}
    ${mayWrite(site, 'reservation') && html`<button type="button" class="button" onClick=${keep} aria-label=${say(kept ? 'stock.let-go-of' : 'stock.keep-for', { room: titleOf(room) })}>${say(kept ? 'stock.let-go' : 'stock.keep')}</button>`}
    <${Problem} error=${error} />
  </li>`;
}

/** @param {OfStock} props */
function Items({ read }) {
  const rows = Object.entries(read.stock.items).map(([item, stands]) => [
    html`<span class="part-code">${codeOf(read.names, item)}</span>`,
    ...COLUMNS.map((name) => stands[name]),
    [
      read.barred.get(item)?.how === 'recalled' &&
        say('stock.recalled', { reason: read.barred.get(item)?.reason ?? '' }),
      notes(stands),
    ]
      .filter(Boolean)
      .join(' '),
  ]);
  const heads = [say('stock.item'), ...COLUMNS.map((name) => say(`stock.${name}`)), say('stock.to-mind')];
  return html`<section class="card" aria-label=${say('stock.items')}>
    <h2>${say('stock.items')}</h2>
    <p class="muted">${say('stock.items-about')}</p>
    <${Table} caption=${say('stock.table')} heads=${heads} rows=${rows} numbers=${COLUMNS.map((_, place) => place + 1)} stacks />
  </section>`;
}

/** @param {import('../../rules/ordering/stock.js').ItemStock} stands */
function notes({ here, damaged, wrong, short, to_send_back: back, ordered, received }) {
  return [
    received > ordered && ordered > 0 && say('stock.more-came', { pieces: received - ordered }),
    here < 0 && say('stock.more-used', { pieces: -here }),
    back > 0 && say('stock.send-back', { pieces: back, damaged, wrong }),
    short > 0 && say('stock.claim', { pieces: short }),
  ]
    .filter(Boolean)
    .join(' ');
}

/** Pieces that leave the stock, or come into it otherwise. @param {OfStock} props */
function Move({ site, read }) {
  const [item, setItem] = useState('');
  const [move, setMove] = useState('returned-to-supplier');
  const [pieces, setPieces] = useState('');
  const [note, setNote] = useState('');
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [saved, setSaved] = useState(false);
  if (!mayWrite(site, 'stock_move')) return null;
  const moves = site.spec.records.stock_move.facets.identity.fields.move.choices ?? [];
  const items = Object.keys(read.stock.items);
  const save = async (/** @type {Event} */ event) => {
    event.preventDefault();
    setError(null);
    setSaved(false);
    const number = Number(pieces);
    if (!item || !Number.isInteger(number) || number < 1) return setError({ code: 'stock.move-wrong' });
    const told = note.trim() && { note: note.trim() };
    const value = {
      parent: site.id,
      item,
      move,
      pieces: number,
      ...told,
      noted_at: new Date().toISOString(),
    };
    try {
      await site.save([{ record: site.newId(), type: 'stock_move', facet: 'identity', value, seen: null }]);
      setPieces('');
      setNote('');
      setSaved(true);
    } catch (problem) {
      setError(problem);
    }
  };
  /** @param {(text: string) => void} set */
  const taken = (set) => (/** @type {EventOf<HTMLInputElement>} */ event) => set(event.currentTarget.value);
  return html`<section class="card" aria-label=${say('stock.move')}>
    <h2>${say('stock.move')}</h2>
    <form class="stack" onSubmit=${save}>
      <div class="side-by-side">
        <label class="field"><span class="label">${say('stock.item')}</span>
          <select value=${item} onChange=${taken(setItem)}><option value="">–</option>${items.map((each) => html`<option key=${each} value=${each}>${codeOf(read.names, each)}</option>`)}</select></label>
        <label class="field"><span class="label">${say('stock.what-became')}</span>
          <select value=${move} onChange=${taken(setMove)}>${moves.map((/** @type {string} */ each) => html`<option key=${each} value=${each}>${choiceText(each)}</option>`)}</select></label>
        <label class="field"><span class="label">${say('stock.pieces')}</span>
          <input inputmode="numeric" autocomplete="off" value=${pieces} onInput=${taken(setPieces)} /></label>
      </div>
      <label class="field"><span class="label">${say('stock.note')}</span><input maxlength="400" value=${note} onInput=${taken(setNote)} /></label>
      <${Problem} error=${error} />
      ${saved && html`<p role="status" class="strong">${say('stock.moved')}</p>`}
      <button class="button">${say('stock.note-move')}</button>
    </form>
  </section>`;
}
