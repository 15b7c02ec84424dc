// The one object that screens talk to: who is signed in, their sites, what is not sent yet, what has changed.

import { HomeStorage } from '../storage/home_storage.js';
import { SiteStorage } from '../storage/site_storage.js';
import { Engine } from '../sync/engine.js';
import { OF_NOTHING } from '../sync/pull.js';
import { Transport } from '../sync/transport.js';
import { handOver, keepBehind } from './kept.js';
import { AfterPause } from './pause.js';
import { lettingPhotosGo, mayGo } from './photo_choice.js';
import { Site } from './site.js';
import { StoreError } from './store_error.js';
import {
  addDeskWords,
  addSiteTables,
  FIRST_LANGUAGE,
  loadTables,
  noTables,
  pointersOf,
  sentence,
  speak,
  wordsAddress,
} from './tables.js';
import { Tabs } from './tabs.js';
import { inTurn } from './turn.js';

export { StoreError };

/** @typedef {import('../storage/home_storage.js').PersonRow} PersonRow */
/** @typedef {import('../storage/home_storage.js').SiteEntry} SiteEntry */
/** A change in how somebody signs in. @typedef {{what: string, at: string, phone: string | null, kind: 'phone' | 'computer' | null, copies: string[], this: boolean, new: boolean}} SignInChange */
/** @typedef {{person: Omit<PersonRow, 'sites' | 'opened'>, sites: SiteEntry[], changes?: SignInChange[], factor_first?: boolean, site?: string | null}} SignedIn */
/** @typedef {import('../sync/engine.js').Status} Status */
/** @typedef {import('../sync/engine.js').Surroundings} Surroundings */

/** Worst first: what the one line says when several sites differ. @type {Status['state'][]} */
const WORST_FIRST = [
  'storage-failing', 'signed-out', 'sending', 'needs-attention', 'failing', 'offline', 'conflict', 'unsent', 'sent',
]; // biome-ignore format: one line says it

/** Who is signed in, where it may be nobody. */
const OF_NOBODY = '/api/session/if-any';
const FRAME_MS = 16;
const AT_LATEST_MS = 200;

export class Store {
  /** @param {{base?: string, fetch?: typeof fetch, surroundings?: Surroundings}} [how] */
  constructor({ base = '', fetch: fetcher, surroundings } = {}) {
    this.base = base;
    this.fetch = fetcher ?? ((...args) => fetch(...args));
    this.surroundings = surroundings;
    this.tables = noTables();
    /** The language or region whose words are read now. */
    this.language = FIRST_LANGUAGE;
    /** The one that was chosen on this phone last: for who has chosen none of their own, and before anybody signs in. @type {string | null} */
    this.phoneLanguage = null;
    /** @type {PersonRow | null} */
    this.current = null;
    /** Id of the site that the address is of. @type {string | null} */
    this.shown = null;
    /** @type {Map<string, Site>} */
    this.opened = new Map();
    /** @type {Map<string, Promise<Site>>} */
    this.opening = new Map();
    /** Sites of who is signed in that have a database here which does not open: what waits there is not known. @type {Set<string>} */
    this.closed = new Set();
    /** Whether it was asked why the sign-in has ended. */
    this.askedWhy = false;
    /** What changed in how who is signed in signs in and is new to them, as last heard. @type {SignInChange[]} */
    this.changes = [];
    /** Whether who is signed in must set up a second factor before anything else; unknown without a signal, so no. */
    this.factorFirst = false;
    /** Sites that are being put away, and when it is done. @type {Map<string, Promise<void>>} */
    this.puttingAway = new Map();
    /** @type {Set<() => void>} */
    this.listeners = new Set();
    /** @type {Set<() => void>} */
    this.lines = new Set();
    /** What changes within a frame is told once, after the saves that made it: a screen that reads again holds none of them up. */
    /** Goes up with what screens show besides records: who is here and their roles, units, words. */
    this.turn = 0;
    this.telling = new AfterPause(() => this.#tellAll(), FRAME_MS, AT_LATEST_MS);
    /** Sites of which other tabs are still to be told that they have changed. @type {Set<string>} */
    this.moved = new Set();
    /** Another tab runs a newer app, or somebody else signed in there: this page must be loaded again. */
    this.outdated = false;
    /** A newer app waits; `activate` starts it. @type {{activate: () => void} | null} */
    this.update = null;
    /** Whether the system has promised to keep what is stored here; null before it was asked. @type {boolean | null} */
    this.persisted = null;
    this.askedToPersist = false;
    /** Asks who is signed in to prove once more who they are; whether they did. The page says how. @type {() => Promise<boolean>} */
    this.enterAgain = async () => false;
    /** Asks for the site of the address before it is known who is here. @type {Transport | null} */
    this.ahead = null;
    /** Who is here, being asked at the start. @type {Promise<void> | null} */
    this.hearing = null;
    this.home = new HomeStorage({ onOutdated: () => this.outdate() });
    this.tabs = new Tabs((message) => this.#hear(message));
  }

  /**
   * Load what the page needs before its first screen. Works without a network once the page has been here.
   *
   * @param {string | null} [site] id of the site that the address is of
   */
  async start(site = null) {
    const current = this.home.current();
    const tables = loadTables(this.fetch, this.base);
    const asked = this.#askAtOnce(current, site);
    const phoneLanguage = this.home.language();
    for (const each of [current, tables, asked, phoneLanguage]) each.catch(() => {});
    // Before a form opens: what the browser lost of what was half typed is back.
    await keepBehind(this.home);
    this.tables = await tables;
    this.current = await current;
    this.phoneLanguage = await phoneLanguage;
    await this.#speak();
    await this.#openAll();
    this.hearing = this.refresh(await asked);
  }

  /**
   * A phone that knows of nobody asks who is here beside all else that it fetches, and for the site of its address.
   *
   * @param {Promise<PersonRow | null>} current @param {string | null} site
   * @returns {Promise<{answer: Promise<Response>} | null>} what is asked, if it is
   */
  async #askAtOnce(current, site) {
    const pending = this.home.signOutPending();
    pending.catch(() => {});
    if ((await current) || (await pending)) return null;
    const ahead = (await globalThis.askedAhead) ?? null;
    globalThis.askedAhead = null;
    const answer = ahead?.who ?? this.#ask(OF_NOBODY, { method: 'GET' });
    answer.catch(() => {});
    if (site !== null) {
      this.ahead = this.#transportTo(site);
      this.ahead.pullAhead(OF_NOTHING, ahead?.site === site ? ahead.pull : undefined);
    }
    return { answer };
  }

  /** Resolves when it is known who is here, or that it cannot be known now. */
  async whoIsHere() {
    if (!this.current) await this.hearing;
  }

  /** @param {string} site */
  #transportTo(site) {
    return new Transport(site, { fetch: this.fetch, base: this.base });
  }

  /** Open all sites that are on this phone: the sync line speaks for all of them. */
  async #openAll() {
    for (const site of this.current?.opened ?? [])
      await this.openSite(site).catch(() => {
        this.closed.add(site);
      });
  }

  // -- people

  /** @returns {Omit<PersonRow, 'sites' | 'opened'> | null} */
  get person() {
    if (!this.current) return null;
    const { id, name, owner, language, units } = this.current;
    return { id, name, owner, language, units };
  }

  /** The language to be read: of who is signed in, else of this phone, as far as there is one. */
  get #wantedLanguage() {
    const wanted = this.current?.language ?? this.phoneLanguage;
    return wanted && this.tables.languages?.includes(wanted) ? wanted : FIRST_LANGUAGE;
  }

  /** Where the words lie that are read now; the first language's come with the page. */
  get wordsAddress() {
    return wordsAddress(this.language);
  }

  /** Read in the words that who is signed in has chosen. */
  async #speak() {
    this.language = await speak(this.tables, this.#wantedLanguage, this.fetch, this.base);
    if (typeof document !== 'undefined') document.documentElement.lang = this.language;
  }

  /** The tape that who is signed in has chosen for themselves. @returns {Units | null} */
  get ownUnits() {
    const own = this.current?.units;
    if (!own) return null;
    return own === 'millimetres' ? 'mm' : 'in';
  }

  /** In which lengths are shown first: as a person has chosen, else as the site of this address has it. @returns {Units} */
  get units() {
    return this.ownUnits ?? this.opened.get(this.shown ?? '')?.units ?? 'in';
  }

  /** Sites of who is signed in, as last heard from the server. @returns {SiteEntry[]} */
  sites() {
    return this.current?.sites ?? [];
  }

  /**
   * @param {string} name @param {string} password
   * @param {{code?: string, passkey?: Record<string, unknown>}} [shown] of a second factor, once it was asked for
   * @throws {StoreError} wrong name or password, no network, too many tries, or `second-factor-needed`
   */
  async signIn(name, password, shown = {}) {
    await this.#enter('/api/session', 'POST', { name, password, ...shown });
    return this.person;
  }

  /**
   * Come by a one-time link: with a name and password of one's own, or with a new password.
   *
   * @param {{secret: string, name?: string, password: string, code?: string, passkey?: Record<string, unknown>}} told
   * @returns {Promise<string | null>} the site that it led to
   * @throws {StoreError} the link is not good, or what was told cannot be taken
   */
  async acceptLink(told) {
    return (await this.#enter('/api/links/accept', 'POST', told)).site ?? null;
  }

  /** Come in by a code that another phone of one's own shows. @param {string} secret @throws {StoreError} the code is not good */
  async enrol(secret) {
    await this.#enter('/api/enrolments/accept', 'POST', { secret });
  }

  /**
   * Choose one's own name, language or units. Without a signal language and units hold on this phone, and are told later.
   *
   * @param {{name?: string, language?: string | null, units?: string | null}} wanted what is not named stays
   * @throws {StoreError} no network, or what is wished for cannot be
   */
  async choose(wanted) {
    try {
      await this.#enter('/api/me', 'PUT', wanted);
    } catch (error) {
      const later = error instanceof StoreError && error.code === 'phone.no-network';
      if (!later || wanted.name !== undefined || !this.current) throw error;
      this.current = { ...this.current, ...wanted };
      await this.home.choose(this.current.id, wanted);
    }
    if (wanted.language) await this.readIn(wanted.language);
    else this.#tell();
  }

  /** Read on this phone in a language, whoever is signed in and has chosen none. @param {string} language */
  async readIn(language) {
    this.phoneLanguage = language;
    await this.home.keepLanguage(language);
    await this.#speak();
    this.#tell();
  }

  /** What was chosen without a signal; the server's word on who one is comes after it. */
  async #tellChosen() {
    const chosen = await this.home.chosen();
    if (!chosen || chosen.person !== this.current?.id) return;
    const response = await this.#ask('/api/me', { method: 'PUT', body: JSON.stringify(chosen.wanted) });
    // A language that the server has no more is not asked for again.
    if (response.ok || response.status === 422) await this.home.chosenTold();
  }

  /**
   * Tell the server something after which it says who is signed in, and their sites.
   *
   * @param {string} path @param {string} method @param {unknown} told
   * @returns {Promise<SignedIn>}
   */
  async #enter(path, method, told) {
    // Whoever it is now: what was asked for before is not theirs.
    this.ahead = null;
    const response = await inTurn(() => this.#ask(path, { method, body: JSON.stringify(told) }));
    const body = await response.json().catch(() => null);
    if (!response.ok || !body) throw new StoreError(body?.code ?? 'phone.no-network', body ?? {});
    await this.#signedIn(body);
    return body;
  }

  /** @param {SignedIn} told */
  async #signedIn({ person, sites, changes = [], factor_first: factorFirst = false }) {
    const other = this.current?.id !== person.id;
    if (other) await this.#putAwayAll();
    this.current = await this.home.signedIn(person, sites);
    this.askedWhy = false;
    this.changes = changes;
    this.factorFirst = factorFirst;
    if (this.language !== this.#wantedLanguage) await this.#speak();
    for (const site of this.opened.values()) {
      site.entry = sites.find((entry) => entry.id === site.id) ?? site.entry;
      if (site.engine.state === 'signed-out') site.engine.tell('signed-in');
      if (site.isShutOut) this.#putAwayShutOut(site).catch(() => {});
    }
    if (other) {
      await this.#openAll();
      this.tabs.say({ kind: 'person' });
    }
    this.#tell();
  }

  /** Who is signed in has said that they have read what changed. */
  changesRead() {
    this.changes = [];
    this.#tell();
  }

  /** Resolves when what is half typed is in this phone's database. */
  keepTyped() {
    return handOver();
  }

  /**
   * Sign out of the server and of this phone's screens. What was sent is put away: the phone may be anybody's next. What is
   * not sent stays on it, for who made it.
   */
  async signOut() {
    await this.keepTyped();
    let pending = false;
    await this.#ask('/api/session', { method: 'DELETE' }).catch(() => {
      pending = true;
    });
    await this.#putAwayAll();
    await this.home.signedOut(pending);
    this.current = null;
    this.changes = [];
    this.factorFirst = false;
    await this.#speak();
    this.tabs.say({ kind: 'person' });
    this.#tell();
  }

  /** How much of who is signed in is only on this phone, all their sites together. */
  async unsentEverywhere() {
    const counts = await Promise.all([...this.opened.values()].map((site) => site.storage.counts()));
    /** @param {'operations' | 'photos' | 'refused'} name */
    const sum = (name) => counts.reduce((total, each) => total + each[name], 0);
    return { operations: sum('operations'), photos: sum('photos'), refused: sum('refused') };
  }

  /**
   * Hear from the server who is signed in, and their sites and roles, where there is a network.
   *
   * @param {{answer: Promise<Response>} | null} [asked] what was asked already
   */
  async refresh(asked = null) {
    try {
      const response = await (asked?.answer ?? this.#askWho());
      if (response.status === 401 || response.status === 204) return await this.#sessionEnded();
      const body = response.ok ? await response.json() : null;
      if (body && (!this.current || this.current.id === body.person.id)) return await this.#signedIn(body);
      this.ahead = null;
    } catch {
      // Without a network what was last heard stands.
      this.ahead = null;
    }
  }

  async #askWho() {
    if (await this.home.signOutPending()) await this.#signOutLate();
    await this.#tellChosen();
    return this.#ask(this.current ? '/api/session' : OF_NOBODY, { method: 'GET' });
  }

  async #signOutLate() {
    await this.#ask('/api/session', { method: 'DELETE' });
    await this.home.signedOut(false);
  }

  async #sessionEnded() {
    this.ahead = null;
    if (this.opened.size === 0) return;
    for (const site of this.opened.values()) site.engine.tell('session-ended', { code: 'phone.signed-out' });
    this.#tell();
    await this.#hearOfShutOut();
  }

  // -- shut out of a site, and signing out: what is put away

  /** A phone whose sign-ins were ended may be shut out: it hears so by its cookie, whoever is signed in. */
  async #hearOfShutOut() {
    const response = await this.#ask('/api/phone', { method: 'GET' });
    const told = response.ok ? await response.json().catch(() => null) : null;
    if (!told?.known) return;
    for (const site of this.opened.values())
      if (told.shut_out || told.sites.includes(site.id)) await this.#putAwayShutOut(site);
  }

  /**
   * This phone is shut out of a site: put away what the server has of it; what is only here stays. Asked for twice at once, it
   * is done once, and both are told when it is done.
   *
   * @param {Site} site
   * @returns {Promise<void>}
   */
  #putAwayShutOut(site) {
    const person = this.current?.id;
    if (!person) return Promise.resolve();
    const already = this.puttingAway.get(site.id);
    if (already) return already;
    const done = this.#putAwayOne(site, person).finally(() => this.puttingAway.delete(site.id));
    this.puttingAway.set(site.id, done);
    return done;
  }

  /** @param {Site} site @param {string} person */
  async #putAwayOne(site, person) {
    site.entry.shut_out = true;
    // What a sync has under way would come back after it.
    await site.engine.running?.catch(() => {});
    await this.home.shutOut(person, site.id, true);
    await site.storage.putAway();
    site.forgetPhotos();
    this.#changed(site.id);
  }

  /** What a sync has found out of being shut out. @param {Site | undefined} site */
  #heardBySync(site) {
    if (!site) return;
    if (site.engine.state === 'signed-out') this.#signedOutBySync();
    // While it sends, what stood in the way the last time is still said.
    else if (site.engine.state === 'failing' && site.engine.isShutOut)
      this.#putAwayShutOut(site).catch(() => {});
    else if (site.isShutOut && site.engine.state === 'sent') this.refresh();
  }

  /** A sync found that the sign-in has ended: why, is asked once. */
  #signedOutBySync() {
    if (this.askedWhy) return;
    this.askedWhy = true;
    this.#hearOfShutOut().catch(() => {
      this.askedWhy = false;
    });
  }

  /** Put away what was sent of all that who was signed in has here, and close it. */
  async #putAwayAll() {
    const sites = [...this.opened.values()];
    await Promise.all(sites.map((site) => site.engine.stopNow()));
    // A database that cannot be written keeps what it has.
    await Promise.all(sites.map((site) => site.storage.putAway().catch(() => {})));
    if (this.current) await this.home.putAway(this.current.id, this.current.opened);
    await this.#closeSites();
  }

  /** A person's name as far as this phone knows it. @param {string} id */
  personName(id) {
    if (id === this.current?.id) return this.say('phone.you');
    const people = this.sites().flatMap((site) => site.people ?? []);
    return people.find((person) => person.id === id)?.name ?? this.say('phone.somebody');
  }

  /**
   * Whose word a facet is, and who handed it in where that is another.
   *
   * @param {{by: Record<string, string>, via?: Record<string, string>}} record @param {string} [facet]
   */
  whoSaid({ by, via = {} }, facet = 'identity') {
    return this.#whoSaid(by[facet] ?? '', via[facet]);
  }

  /** The same of an open conflict. @param {{by: string, via?: string}} conflict */
  whoSaidOtherwise({ by, via }) {
    return this.#whoSaid(by, via);
  }

  /** @param {string} by @param {string} [via] */
  #whoSaid(by, via) {
    const name = this.personName(by);
    return via ? this.say('phone.handed-in', { name, by: this.personName(via) }) : name;
  }

  /** Who there is to sign in as, in the demo only. @returns {Promise<Array<{name: string, role: string, password: string}>>} */
  async signInHelp() {
    try {
      const response = await this.#ask('/api/demo', { method: 'GET' });
      return response.ok ? (await response.json()).people : [];
    } catch {
      return [];
    }
  }

  /** @param {string} path @param {RequestInit} request */
  async #ask(path, request) {
    try {
      return await this.fetch(this.base + path, {
        credentials: 'same-origin',
        cache: 'no-store',
        headers: {
          'Accept-Language': this.language,
          ...(request.body && { 'Content-Type': 'application/json' }),
        },
        ...request,
      });
    } catch (error) {
      throw new StoreError('phone.no-network', { reason: String(error) });
    }
  }

  // -- sites

  /**
   * Open a site: what is of it on this phone at once, the rest as it arrives.
   *
   * @param {string} id
   * @returns {Promise<Site>}
   * @throws {StoreError} nobody is signed in, or they are not on that site
   */
  async openSite(id) {
    const already = this.opened.get(id);
    if (already) return already;
    const opening = this.opening.get(id) ?? this.#open(id).finally(() => this.opening.delete(id));
    this.opening.set(id, opening);
    return opening;
  }

  /** @param {string} id @returns {Promise<Site>} */
  async #open(id) {
    await this.whoIsHere();
    const person = this.current;
    if (!person) throw new StoreError('phone.nobody-signed-in');
    const known = person.sites.find((entry) => entry.id === id);
    const entry = known ?? (person.opened.includes(id) ? { id, name: '', role: 'none' } : null);
    if (!entry) throw new StoreError('phone.site-unknown', { site: id });
    if (entry.shut_out && !person.opened.includes(id)) throw new StoreError('device-revoked', { site: id });
    const storage = await SiteStorage.open({
      site: id,
      person: person.id,
      pointers: pointersOf(this.tables.spec),
      spec: this.tables.spec.spec,
      onOutdated: () => this.outdate(),
    });
    // The first sync of all begins beside what is fetched for the screen.
    const site = this.#siteOf(entry, storage);
    await site.engine.begin();
    await addSiteTables(this.tables, this.fetch, this.base);
    await site.readUnits();
    this.opened.set(id, site);
    // What came while it opened was told to nobody.
    if (!site.engine.heard) this.#changed(id);
    this.closed.delete(id);
    await this.home.opened(person.id, id);
    if (!person.opened.includes(id)) person.opened.push(id);
    return site;
  }

  /** Bring the words of the screens that are not of the walk. */
  bringDeskWords() {
    return addDeskWords(this.tables, this.fetch, this.base);
  }

  /** @param {SiteEntry} entry @param {SiteStorage} storage */
  #siteOf(entry, storage) {
    const transport = this.ahead?.site === entry.id ? this.ahead : this.#transportTo(entry.id);
    this.ahead = null;
    const engine = new Engine(storage, transport, {
      surroundings: this.surroundings,
      onStatus: (status) => {
        this.tabs.say({ kind: 'status', site: entry.id, status });
        this.#heardBySync(this.opened.get(entry.id));
        this.telling.ask();
      },
      onSaved: () => this.#tellLines(),
      onChange: () => this.#changed(entry.id),
      photosToo: () => mayGo(),
      settles: () => entry.role !== 'crew',
    });
    return new Site({
      entry,
      storage,
      engine,
      spec: this.tables.spec,
      reference: this.tables.reference,
      get: (path, request) =>
        this.fetch(transport.address + path, { credentials: 'same-origin', ...request }),
      onSaved: () => {
        this.#changed(entry.id);
        this.askToPersist();
      },
    });
  }

  async #closeSites() {
    const sites = [...this.opened.values()];
    this.opened.clear();
    this.closed.clear();
    await Promise.all(sites.map((site) => site.close()));
  }

  /** A site is no more: its sync ends, and its line says nothing. What is not sent stays on the phone. @param {string} id */
  async forgetSite(id) {
    const site = this.opened.get(id);
    this.opened.delete(id);
    if (this.current) {
      this.current.opened = this.current.opened.filter((each) => each !== id);
      await this.home.forgotten(this.current.id, id);
    }
    await site?.close();
    this.#tell();
  }

  /** Sites on this phone that the server has no more. */
  gone() {
    return [...this.opened.values()].filter(({ engine }) => engine.isGone);
  }

  /** Put a site that is no more away from this phone, with all that is only here. @param {string} id */
  async eraseSite(id) {
    const storage = this.opened.get(id)?.storage;
    await this.forgetSite(id);
    await storage?.erase();
    // The list of sites was heard before it was deleted.
    await this.refresh();
  }

  /** From the first save on there is something to lose: ask the system to keep it. `persisted` has its answer. */
  async askToPersist() {
    if (this.askedToPersist || typeof navigator === 'undefined' || !navigator.storage?.persist) return;
    this.askedToPersist = true;
    this.persisted = await navigator.storage.persist().catch(() => false);
    this.#tell();
  }

  // -- what is shown

  /** The sync line over all open sites. @returns {Status} */
  get status() {
    const all = [...this.opened.values()].map((site) => site.engine.status);
    const known = this.closed.size > 0 ? ['needs-attention'] : [];
    const states = new Set([...known, ...all.map((status) => status.state)]);
    const state = WORST_FIRST.find((each) => states.has(each)) ?? 'sent';
    const worst = all.find((status) => status.state === state);
    /** @param {'unsent' | 'photos' | 'attention' | 'conflicts'} name */
    const sum = (name) => all.reduce((total, status) => total + status[name], 0);
    return {
      state,
      unsent: sum('unsent'),
      photos: sum('photos'),
      attention: sum('attention') + this.closed.size,
      conflicts: sum('conflicts'),
      photosWait: all.some((status) => status.photosWait),
      nextTry: worst?.nextTry ?? null,
      why: worst?.why ?? (this.closed.size > 0 ? 'phone.site-closed' : null),
      ...(worst?.gone && { gone: true }),
      mismatch: all.some((status) => status.mismatch),
      heard: all.length > 0 && all.every((status) => status.heard),
    };
  }

  /** Sync all open sites now. Resolves when it has ended, well or not. */
  async syncNow() {
    await this.refresh();
    await Promise.all([...this.opened.values()].map((site) => site.sync()));
  }

  /** Sync now, photos too whatever the network: a person has asked for it. */
  sendPhotos() {
    return lettingPhotosGo(() => this.syncNow());
  }

  /** @param {string} code @param {Facts} [facts] */
  say(code, facts) {
    return sentence(this.tables.words, code, facts);
  }

  /**
   * Be told after each save, pull, answer, change in another tab or change of status.
   *
   * @param {() => void} listener
   * @returns {() => void} stop
   */
  subscribe(listener) {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  /**
   * Be told of each save before it resolves, and of all else that `subscribe` tells: for the line that says what is not sent.
   *
   * @param {() => void} listener
   * @returns {() => void} stop
   */
  watchLine(listener) {
    this.lines.add(listener);
    return () => this.lines.delete(listener);
  }

  #tellLines() {
    for (const listener of this.lines) listener();
  }

  /** @param {string} site */
  #changed(site) {
    this.moved.add(site);
    this.telling.ask();
    this.opened
      .get(site)
      ?.readUnits()
      .then((another) => another && this.#tell())
      .catch(() => {});
  }

  /** Something besides records has changed. */
  #tell() {
    this.turn += 1;
    this.telling.ask();
  }

  #tellAll() {
    for (const site of this.moved) this.#tellTabs(site);
    this.moved.clear();
    this.#tellLines();
    for (const listener of this.listeners) listener();
  }

  /** Other tabs read the rooms' rows from the disk. @param {string} site */
  async #tellTabs(site) {
    await this.opened
      .get(site)
      ?.storage.countRooms()
      .catch(() => {});
    this.tabs.say({ kind: 'changed', site });
  }

  /** A newer app waits for consent. @param {() => void} activate */
  offerUpdate(activate) {
    this.update = { activate };
    this.#tell();
  }

  /** This page is no longer the newest here: it says so, and waits to be loaded again. */
  outdate() {
    this.outdated = true;
    this.#tell();
  }

  /** What another tab says. @param {import('./tabs.js').Message} message */
  #hear(message) {
    if (message.kind === 'person') {
      // What was sent is put away there: nothing that is on its way here may come back after it.
      for (const site of this.opened.values()) site.engine.stopNow();
      return this.outdate();
    }
    const site = this.opened.get(message.site);
    if (message.kind === 'status' && site) site.engine.adopt(message.status);
    if (message.kind === 'changed' && site) {
      site.reads.forget();
      site.engine.hasSome = true;
    }
    this.telling.ask();
  }

  /** The engines of all open sites. */
  *engines() {
    for (const site of this.opened.values()) yield site.engine;
  }

  async close() {
    await this.#closeSites();
    await this.home.close();
    this.tabs.close();
  }
}

/** The page's one store. */
export const store = new Store();
