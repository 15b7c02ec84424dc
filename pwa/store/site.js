// One site as screens use it: read, save, undo, photos, what is not sent yet.

import { broken, rowsOf } from '../rules/combinations.js';
import { HELD } from '../storage/answers.js';
import { IDENTITY, LIFE } from '../storage/records.js';
import { readCarried, sendCarried } from '../sync/carried.js';
import { AfterPause } from './pause.js';
import { Reads } from './reads.js';
import { encodePhoto, LONGEST_SIDE_PX, PLAN_SIDE_PX } from './pictures.js';
import { StoreError } from './store_error.js';
import { unsentFile } from './unsent_file.js';

/** @typedef {import('../storage/types.js').Draft} Draft */

const PAUSE_MS = 50;
const AT_LATEST_MS = 500;

export class Site {
  /**
   * @param {object} parts
   * @param {import('../storage/home_storage.js').SiteEntry} parts.entry
   * @param {import('../storage/site_storage.js').SiteStorage} parts.storage
   * @param {import('../sync/engine.js').Engine} parts.engine
   * @param {(path: string, request?: RequestInit) => Promise<Response>} parts.get asks the server below this site's address
   * @param {() => void} parts.onSaved
   * @param {import('./tables.js').Tables['spec']} parts.spec
   * @param {import('./tables.js').Tables['reference']} parts.reference
   */
  constructor({ entry, storage, engine, get, onSaved, spec, reference }) {
    this.entry = entry;
    this.id = entry.id;
    this.storage = storage;
    /** What screens have read; kept up with what is written. */
    this.reads = new Reads(storage);
    storage.onWritten = (writing) => this.reads.take(writing);
    this.engine = engine;
    this.request = get;
    this.onSaved = onSaved;
    this.spec = spec;
    this.reference = reference;
    /** @type {Map<string, string>} */
    this.urls = new Map();
    /** Which tape the site measures with, as last read. @type {Units} */
    this.units = 'in';
    /** What is saved in one go is told to the sync line once: telling counts what waits. */
    this.tellingSaved = new AfterPause(() => this.engine.tell('saved'), PAUSE_MS, AT_LATEST_MS);
  }

  get name() {
    return this.entry.name;
  }

  get role() {
    return this.entry.role;
  }

  /** Whether this phone is shut out of it: the phone puts away what it has of it, but for what is only here. */
  get isShutOut() {
    return this.entry.shut_out === true;
  }

  /** Whether it is the firm's catalogue, not a building. */
  get isCatalogue() {
    return this.entry.kind === 'catalogue';
  }

  // -- reading

  /** Read which tape the site measures with. @returns {Promise<boolean>} whether it is another than before */
  async readUnits() {
    const site = /** @type {RecordView<'site'> | undefined} */ (await this.get(this.id));
    const before = this.units;
    this.units = site?.facets.settings?.units === 'millimetres' ? 'mm' : 'in';
    return this.units !== before;
  }

  /** A record by its id; its type is what the caller expects there. @template {string} [T=string] @param {string} id @returns {Promise<RecordView<T> | undefined>} */
  async get(id) {
    const [found] = id ? await this.reads.answer({ of: 'id', id }) : [];
    return /** @type {RecordView<T> | undefined} */ (/** @type {unknown} */ (found));
  }

  /** Live records below a record. @template {string} [T=string] @param {string} parent @param {T} [type] @returns {Promise<RecordView<T>[]>} */
  children(parent, type) {
    return /** @type {Promise<RecordView<T>[]>} */ (
      /** @type {unknown} */ (this.reads.answer({ of: 'below', id: parent, type }))
    );
  }

  /** All live records of a type. @template {RecordType} T @param {T} type @returns {Promise<RecordView<T>[]>} */
  all(type) {
    return /** @type {Promise<RecordView<T>[]>} */ (
      /** @type {unknown} */ (this.reads.answer({ of: 'type', type }))
    );
  }

  /** Every record of the site, removed ones too: what the rules look at. */
  everything() {
    return this.storage.everything();
  }

  /** Records in the order of their ids, some at a time, removed ones too. @param {string} after id @param {number} most */
  slice(after, most) {
    return this.storage.slice(after, most);
  }

  /** Live records that refer to one: groups of a kind, photos of a subject, labels of a group. @template {string} [T=string] @param {string} id @param {T} [type] @returns {Promise<RecordView<T>[]>} */
  referring(id, type) {
    return /** @type {Promise<RecordView<T>[]>} */ (
      /** @type {unknown} */ (this.reads.answer({ of: 'refs', id, type }))
    );
  }

  /** The record of a type by its key: a label by its code. @template {RecordType} T @param {T} type @param {string} key @returns {Promise<RecordView<T> | undefined>} */
  async lookup(type, key) {
    const [found] = await this.reads.answer({ of: 'lookup', id: key, type });
    return /** @type {RecordView<T> | undefined} */ (/** @type {unknown} */ (found));
  }

  /** Id of this phone, as operations made on it begin. @returns {Promise<string>} */
  async device() {
    return (await this.storage.phone()).device;
  }

  summaries() {
    return this.reads.summaries();
  }

  /**
   * What a form shows when it opens. Hand `seen` back with the save.
   *
   * @param {string} id @param {string} facet
   */
  async form(id, facet) {
    const record = await this.storage.get(id);
    return {
      record: id,
      type: record?.type ?? null,
      facet,
      value: record?.facets[facet] ?? {},
      seen: record?.seen[facet] ?? null,
    };
  }

  // -- saving

  newId() {
    return crypto.randomUUID();
  }

  /** Resolves when all of it is on the disk, or throws and none of it is. @param {Draft[]} drafts */
  async save(drafts) {
    for (const { type, facet, value = {} } of drafts) this.#mustGoTogether(type, facet, value);
    return this.#saved(this.storage.save(drafts));
  }

  /**
   * What in a facet's value cannot stand together, by field; the server refuses it too.
   *
   * @param {string} type @param {string} facet @param {Value} value
   * @returns {Record<string, {code: string, facts: Facts}>}
   */
  wrongTogether(type, facet, value) {
    const rows = rowsOf(type, facet, this.reference);
    const wrong = rows.length ? broken(value, rows, this.spec.records[type].facets[facet].fields) : [];
    return Object.fromEntries(wrong.map(({ field, code, facts }) => [field, { code, facts }]));
  }

  /** @param {string} type @param {string} facet @param {Value} value @throws {StoreError} naming the first of them */
  #mustGoTogether(type, facet, value) {
    const [wrong] = Object.values(this.wrongTogether(type, facet, value));
    if (wrong) throw new StoreError(wrong.code, wrong.facts);
  }

  /** Removes what hangs below it first. @param {string} id */
  remove(id) {
    return this.#saved(this.storage.remove(id));
  }

  /** @param {string} id */
  restore(id) {
    return this.#saved(this.storage.restore(id));
  }

  /** Take the newest save on this phone back. @returns {Promise<boolean>} */
  undo() {
    return this.#saved(this.storage.undo());
  }

  /** How many saves can be taken back. */
  async canUndo() {
    return (await this.storage.undoable()).length;
  }

  /**
   * Settle conflicts by a value; of the facet 'life' by `{removed: true | false}`.
   *
   * @param {string} id @param {string} facet @param {Value} value @param {string[]} conflictIds those that the screen shows
   */
  async settle(id, facet, value, conflictIds) {
    if (facet === LIFE)
      return this.#saved(
        value.removed ? this.storage.remove(id, conflictIds) : this.storage.restore(id, conflictIds),
      );
    const record = await this.storage.get(id);
    if (!record) return [];
    const { type, seen } = record;
    const said = { record: id, type, facet, value, seen: seen[facet] ?? null, settles: conflictIds };
    // A value never brings back what was removed: who wants the value says that too.
    return this.save(record.removed ? [broughtBack(record), said] : [said]);
  }

  /** @template T @param {Promise<T>} saving @returns {Promise<T>} */
  async #saved(saving) {
    try {
      const result = await saving;
      this.onSaved();
      this.tellingSaved.ask();
      return result;
    } catch (error) {
      const { name, code } = /** @type {{name?: string, code?: string}} */ (error);
      if (name === 'NotSaved') this.engine.tell('storage-failed', { code });
      throw error;
    }
  }

  // -- photos

  /**
   * Keep a photo: shrunk and encoded once, saved with its record in one go.
   *
   * @param {{subject: string, purpose: string, blob: Blob, caption?: string, first?: Draft[]}} photo `first`: what makes its subject, where that is worth nothing without the photo
   * @returns {Promise<string>} the photo record's id
   */
  async addPhoto({ subject, purpose, blob, caption, first = [] }) {
    for (const { type, facet, value = {} } of first) this.#mustGoTogether(type, facet, value);
    const most = purpose === 'floor-plan' ? PLAN_SIDE_PX : LONGEST_SIDE_PX;
    const { bytes, sha256, width, height } = await encodePhoto(blob, most);
    const at = this.storage.now();
    const id = this.newId();
    const about = { sha256, bytes: bytes.byteLength, width_px: width, height_px: height, taken_at: at };
    /** @type {Draft[]} */
    const drafts = [
      ...first,
      {
        record: id,
        type: 'photo',
        facet: 'identity',
        value: { parent: this.id, subject, purpose, ...about },
        seen: null,
      },
    ];
    if (caption) drafts.push({ record: id, type: 'photo', facet: 'caption', value: { caption }, seen: null });
    const row = { sha256, record: id, bytes: bytes.byteLength, at, received: false };
    await this.#saved(this.storage.save(drafts, { row, bytes }));
    return id;
  }

  /**
   * An address for an <img>; null when the photo is neither here nor to be had now.
   *
   * @param {string} sha256 @param {{thumb?: boolean}} [size]
   * @returns {Promise<string | null>}
   */
  async photoUrl(sha256, { thumb = false } = {}) {
    const key = `${sha256}${thumb ? '-thumb' : ''}`;
    const known = this.urls.get(key);
    if (known) return known;
    const blob = await this.#photo(sha256, thumb);
    if (!blob) return null;
    const url = URL.createObjectURL(blob);
    this.urls.set(key, url);
    return url;
  }

  /** @param {string} sha256 @param {boolean} thumb @returns {Promise<Blob | null>} */
  async #photo(sha256, thumb) {
    const bytes = await this.storage.photoBytes(sha256);
    if (bytes) return new Blob([bytes], { type: 'image/jpeg' });
    try {
      const response = await this.request(`/photos/${sha256}${thumb ? '?size=thumb' : ''}`);
      return response.ok ? await response.blob() : null;
    } catch {
      return null;
    }
  }

  /**
   * A page of a PDF as a picture, drawn by the server: the phone carries no reader of PDFs.
   *
   * @param {Blob} pdf @param {number} page from 1
   * @returns {Promise<{picture: Blob, pages: number}>} the page, and how many the PDF has
   * @throws {StoreError} no network, or the server's problem: `facts.detail` is its sentence
   */
  async planPage(pdf, page) {
    const request = { method: 'POST', body: pdf, headers: { 'Content-Type': 'application/pdf' } };
    const answer = await this.request(`/plan-pages?page=${page}`, request).catch((error) => {
      throw new StoreError('photos.pdf-needs-signal', { reason: String(error) });
    });
    if (!answer.ok) {
      const told = await answer.json().catch(() => null);
      throw new StoreError(told?.code ?? 'photos.pdf-needs-signal', told ?? {});
    }
    return { picture: await answer.blob(), pages: Number(answer.headers.get('Spanwalk-Pages')) || 1 };
  }

  // -- what is only on this phone

  async unsent() {
    const [waiting, refused, photos, recovered] = await Promise.all([
      this.storage.waiting(),
      this.storage.refused(),
      this.storage.photosHere(),
      this.storage.recovered(),
    ]);
    return {
      operations: waiting.map(({ op }) => op),
      refused: refused
        .filter(({ code }) => !HELD.has(code))
        .map(({ op, code, facts }) => ({ ...op, code, facts })),
      held: refused.filter(({ code }) => HELD.has(code)).map(({ op }) => op),
      photos: photos.filter((photo) => !photo.received),
      recovered,
    };
  }

  /** @returns {Promise<Blob>} */
  saveUnsentToFile() {
    return unsentFile(this.storage);
  }

  /**
   * Send what another phone had saved to a file, then see what has become of it.
   *
   * @param {string} text of the file @param {(done: number, of: number) => void} [onStep]
   * @throws {import('../sync/carried.js').NotCarried} the file cannot be taken
   * @throws {import('../sync/transport.js').NoAnswer} the server did not answer; the file can be sent again
   */
  async bringIn(text, onStep) {
    const carried = readCarried(text, this.id);
    const outcome = await sendCarried(this.storage, this.engine.transport, carried, onStep);
    this.engine.tell('tried');
    return { carried, outcome };
  }

  /** @param {string} opId @param {Value | null} [corrected] */
  retryRefused(opId, corrected = null) {
    return this.#saved(this.storage.retryRefused(opId, corrected));
  }

  /** @param {string} opId */
  dropRefused(opId) {
    return this.#saved(this.storage.dropRefused(opId));
  }

  /**
   * Save again what only this phone's old copy knew; it meets what is there now as any other work does.
   *
   * @param {import('../storage/types.js').Recovered[]} rows
   */
  async putBack(rows) {
    const ordered = parentsFirst(rows);
    const records = await Promise.all(ordered.map(({ record }) => this.get(record)));
    await this.save(ordered.map((row, place) => asDraft(row, records[place])));
    return this.letGo(rows);
  }

  /** A person has no use for these. @param {import('../storage/types.js').Recovered[]} rows */
  async letGo(rows) {
    await this.storage.forgetRecovered(rows.map(({ key }) => key));
    this.onSaved();
  }

  /** Sync now; resolves when it has ended, well or not. */
  async sync() {
    await this.engine.afresh();
  }

  /** Let go of the photos that were shown. */
  forgetPhotos() {
    for (const url of this.urls.values()) URL.revokeObjectURL(url);
    this.urls.clear();
  }

  async close() {
    this.tellingSaved.cancel();
    this.engine.stop();
    this.forgetPhotos();
    await this.storage.close();
  }
}

/** @param {RecordView} record one that is removed @returns {Draft} */
const broughtBack = ({ id: record, type, seen }) => ({
  record,
  type,
  facet: LIFE,
  kind: 'restore',
  seen: seen[LIFE] ?? null,
});

/** What makes a record goes before what is said of it, and a parent before what hangs below it. @param {import('../storage/types.js').Recovered[]} rows */
function parentsFirst(rows) {
  const parents = new Map(
    rows.filter(({ facet }) => facet === IDENTITY).map(({ record, value }) => [record, value.parent]),
  );
  /** @param {string} record @returns {number} */
  const depth = (record) => (parents.has(record) ? 1 + depth(parents.get(record)) : 0);
  /** @param {import('../storage/types.js').Recovered} row */
  const rank = ({ record, facet }) => (facet === IDENTITY ? depth(record) : Number.POSITIVE_INFINITY);
  return [...rows].sort((a, b) => (rank(a) === rank(b) ? 0 : rank(a) - rank(b)));
}

/** @param {import('../storage/types.js').Recovered} row @param {RecordView | undefined} record @returns {Draft} */
function asDraft({ record: id, type, facet, value }, record) {
  const seen = record?.seen[facet] ?? null;
  if (facet !== LIFE) return { record: id, type, facet, value, seen };
  return { record: id, type, facet, kind: value.removed ? 'remove' : 'restore', seen };
}
