// Who has signed in on this phone, which sites they are on, who is signed in now: what a reload without a signal needs.

import { Connection, plainStore } from './connection.js';

/**
 * @typedef {object} SiteEntry
 * @property {string} id
 * @property {string} name
 * @property {string} role
 * @property {string | null} [archived_at] when it was archived, and is only read since
 * @property {'building' | 'catalogue'} [kind] a building unless it is said
 * @property {boolean} [shut_out] this phone is shut out of it
 * @property {Array<{id: string, name: string, role: string | null, state?: string}>} [people]
 *
 * @typedef {object} PersonRow
 * @property {string} id
 * @property {string} name
 * @property {boolean} [owner]
 * @property {string | null} [language] a tag of the words' languages
 * @property {string | null} [units] 'inches' or 'millimetres'; nothing: as each site has it
 * @property {SiteEntry[]} sites
 * @property {string[]} opened sites that have a database on this phone
 */

/** What people choose for themselves besides a name. @typedef {{language?: string | null, units?: string | null}} Chosen */

const CURRENT = 'current';
const SIGN_OUT_PENDING = 'sign-out-pending';
const LANGUAGE = 'language';
const CHOSEN = 'chosen';
const SMALL = 'small:';
const AFTER_ALL_TEXT = '\uffff';

export class HomeStorage {
  /** @param {{onOutdated?: () => void}} [hooks] */
  constructor(hooks) {
    this.connection = new Connection(
      'spanwalk',
      1,
      (db) => {
        db.createObjectStore('people', { keyPath: 'id' });
        db.createObjectStore('meta');
      },
      hooks,
    );
  }

  /** @returns {Promise<PersonRow | null>} who is signed in on this phone */
  current() {
    return this.connection.run(['people', 'meta'], 'readonly', async (tx) => {
      const id = await tx.objectStore('meta').get(CURRENT);
      return id ? ((await tx.objectStore('people').get(id)) ?? null) : null;
    });
  }

  /**
   * The server has said who is signed in, and their sites.
   *
   * @param {Omit<PersonRow, 'sites' | 'opened'>} person @param {SiteEntry[]} sites
   * @returns {Promise<PersonRow>}
   */
  signedIn(person, sites) {
    return this.connection.run(['people', 'meta'], 'readwrite', async (tx) => {
      const before = await tx.objectStore('people').get(person.id);
      const row = { ...person, sites, opened: before?.opened ?? [] };
      await tx.objectStore('people').put(row);
      await tx.objectStore('meta').put(person.id, CURRENT);
      await tx.objectStore('meta').delete(SIGN_OUT_PENDING);
      return row;
    });
  }

  /** Nobody is signed in here now; the databases stay. @param {boolean} pending the server could not be told yet */
  signedOut(pending) {
    return this.connection.run(['meta'], 'readwrite', async (tx) => {
      await tx.objectStore('meta').delete(CURRENT);
      if (pending) await tx.objectStore('meta').put(true, SIGN_OUT_PENDING);
      else await tx.objectStore('meta').delete(SIGN_OUT_PENDING);
    });
  }

  /** Whether the server has still to be told that somebody signed out. @returns {Promise<boolean>} */
  async signOutPending() {
    return (
      (await this.connection.run(['meta'], 'readonly', (tx) =>
        tx.objectStore('meta').get(SIGN_OUT_PENDING),
      )) === true
    );
  }

  /** @param {string} person @param {string} site */
  opened(person, site) {
    return this.connection.run(['people'], 'readwrite', async (tx) => {
      const row = await tx.objectStore('people').get(person);
      if (row && !row.opened.includes(site))
        await tx.objectStore('people').put({ ...row, opened: [...row.opened, site] });
    });
  }

  /** The language in which this phone is read by who has chosen none. @returns {Promise<string | null>} */
  async language() {
    return (
      (await this.connection.run(['meta'], 'readonly', (tx) => tx.objectStore('meta').get(LANGUAGE))) ?? null
    );
  }

  /** @param {string} language a tag of the words' languages */
  keepLanguage(language) {
    return this.connection.run(['meta'], 'readwrite', async (tx) => {
      await tx.objectStore('meta').put(language, LANGUAGE);
    });
  }

  /**
   * Somebody has chosen something for themselves without a signal: it holds here, and the server is to be told.
   *
   * @param {string} person @param {Chosen} wanted
   */
  choose(person, wanted) {
    return this.connection.run(['people', 'meta'], 'readwrite', async (tx) => {
      const row = await tx.objectStore('people').get(person);
      if (row) await tx.objectStore('people').put({ ...row, ...wanted });
      const before = await tx.objectStore('meta').get(CHOSEN);
      const earlier = before?.person === person ? before.wanted : {};
      await tx.objectStore('meta').put({ person, wanted: { ...earlier, ...wanted } }, CHOSEN);
    });
  }

  /** What somebody chose that the server has still to be told. @returns {Promise<{person: string, wanted: Chosen} | null>} */
  async chosen() {
    return (
      (await this.connection.run(['meta'], 'readonly', (tx) => tx.objectStore('meta').get(CHOSEN))) ?? null
    );
  }

  /** The server has been told of it. */
  chosenTold() {
    return this.connection.run(['meta'], 'readwrite', async (tx) => {
      await tx.objectStore('meta').delete(CHOSEN);
    });
  }

  /** A site has no database on this phone any more that is worth opening. @param {string} person @param {string} site */
  forgotten(person, site) {
    return this.connection.run(['people'], 'readwrite', async (tx) => {
      const row = await tx.objectStore('people').get(person);
      const opened = row?.opened.filter((/** @type {string} */ each) => each !== site);
      if (row) await tx.objectStore('people').put({ ...row, opened });
    });
  }

  /** This phone was shut out of a site, or let in again. @param {string} person @param {string} site @param {boolean} out */
  shutOut(person, site, out) {
    return this.connection.run(['people'], 'readwrite', async (tx) => {
      const row = /** @type {PersonRow | undefined} */ (await tx.objectStore('people').get(person));
      const sites = row?.sites.map((each) => (each.id === site ? { ...each, shut_out: out } : each));
      if (row) await tx.objectStore('people').put({ ...row, sites });
    });
  }

  /** Of somebody who has signed out, only where something is left that was not sent. @param {string} person @param {string[]} opened */
  putAway(person, opened) {
    return this.connection.run(['people'], 'readwrite', async (tx) => {
      await tx.objectStore('people').put({ id: person, name: '', sites: [], opened });
    });
  }

  /**
   * Keep small things that screens keep, by their names.
   *
   * @param {Array<{name: string, at: number, value: unknown}>} rows
   */
  keepSmall(rows) {
    return this.connection.run(
      ['meta'],
      'readwrite',
      async (tx) => {
        for (const row of rows) plainStore(tx, 'meta').put(row, SMALL + row.name);
      },
      'relaxed',
    );
  }

  /** Small things that were kept, the oldest first; `value` is undefined where one is kept no longer. @returns {Promise<Array<{name: string, at: number, value: unknown}>>} */
  async smallKept() {
    const rows = await this.connection.run(['meta'], 'readonly', (tx) =>
      tx.objectStore('meta').getAll(IDBKeyRange.bound(SMALL, SMALL + AFTER_ALL_TEXT)),
    );
    return rows.sort((a, b) => a.at - b.at);
  }

  /** All who have signed in on this phone. @returns {Promise<PersonRow[]>} */
  people() {
    return this.connection.run(['people'], 'readonly', (tx) => tx.objectStore('people').getAll());
  }

  close() {
    return this.connection.close();
  }
}
