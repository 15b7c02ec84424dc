// The rooms' rows of one page: what it saved and they do not have yet. A save does not wait for them.

import { countIn } from './counting.js';
import { changeSync, getPhone, putPhone } from './meta.js';
import { noteRecords, noteRows } from './touched.js';

/** @typedef {import('./types.js').Change} Change */
/** @typedef {import('./types.js').Phone} Phone */
/** @typedef {{changes: Change[], recounts: number}} Uncounted A save, and how often all was counted before it. */

const COUNTING = ['records', 'summaries', 'meta'];

export class RoomRows {
  /** Runs a transaction that is not kept waiting for these rows. @type {import('./site_storage.js').SiteStorage['run']} */
  #run;
  /** Anchor -> room, remembered between saves, until all is counted anew. @type {{rooms: Map<string, string>, recounts: number}} */
  #ways = { rooms: new Map(), recounts: 0 };
  /** @type {Uncounted[]} */
  #uncounted = [];

  /** @param {import('./site_storage.js').SiteStorage['run']} run */
  constructor(run) {
    this.#run = run;
  }

  /** A save that the rows do not have yet. @param {Change[]} changes @param {Phone} phone as it was written with it */
  note(changes, { recounts = 0 }) {
    this.#uncounted.push({ changes, recounts });
  }

  /** How many saves the rows do not have yet. */
  get lacking() {
    return this.#uncounted.length;
  }

  /** Bring the rows up to what was saved. */
  async bringUp() {
    const saves = this.#uncounted.splice(0);
    if (saves.length === 0) return;
    try {
      await this.#run(COUNTING, 'readwrite', (tx) => this.#countIn(tx, saves), 'relaxed');
    } catch (error) {
      this.#uncounted.unshift(...saves);
      throw error;
    }
  }

  /** @param {Tx} tx @param {Uncounted[]} saves */
  async #countIn(tx, saves) {
    noteRecords(tx, []);
    noteRows(tx, []);
    const phone = await getPhone(tx);
    // What was saved before all was counted anew is counted.
    const mine = saves.filter(({ recounts }) => recounts === (phone.recounts ?? 0));
    if (mine.length === 0) return;
    const behind = await countIn(
      tx,
      mine.flatMap(({ changes }) => changes),
      this.by(phone),
    );
    putPhone(tx, { ...phone, uncounted: (phone.uncounted ?? 0) - mine.length });
    if (behind) await changeSync(tx, { recount: true });
  }

  /** Which room an anchor leads to. Whatever moves, in any tab, has all counted anew. @param {Phone} phone */
  by({ recounts = 0 }) {
    if (this.#ways.recounts !== recounts) this.#ways = { rooms: new Map(), recounts };
    return this.#ways.rooms;
  }

  /** What was remembered of records that are put away. */
  forget() {
    this.#ways = { rooms: new Map(), recounts: 0 };
    this.#uncounted = [];
  }
}
