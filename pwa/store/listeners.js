// Who is told that something has changed: screens after a frame, the line before a save resolves, other tabs of each site.

import { AfterPause } from './pause.js';

const FRAME_MS = 16;
const AT_LATEST_MS = 200;

export class Listeners {
  /** @type {Set<() => void>} */
  #screens = new Set();
  /** @type {Set<() => void>} */
  #lines = new Set();
  /** Sites of which other tabs are still to be told that they have changed. @type {Set<string>} */
  #changed = new Set();
  /** What changes within a frame is told once, after the saves that made it: a screen that reads again holds none of them up. */
  #soon = new AfterPause(() => this.#tellAll(), FRAME_MS, AT_LATEST_MS);
  /** @type {(site: string) => void} */
  #tellTabs;

  /** @param {(site: string) => void} tellTabs that a site has changed */
  constructor(tellTabs) {
    this.#tellTabs = tellTabs;
    /** Goes up with what screens show besides records: who is here and their roles, units, words. */
    this.turn = 0;
  }

  /** Be told after each change. @param {() => void} listener @returns {() => void} stop */
  addScreen(listener) {
    this.#screens.add(listener);
    return () => this.#screens.delete(listener);
  }

  /** Be told of each save before it resolves, and of all else that screens are told. @param {() => void} listener @returns {() => void} stop */
  addLine(listener) {
    this.#lines.add(listener);
    return () => this.#lines.delete(listener);
  }

  /** Records of a site have changed. @param {string} site */
  tellOfSite(site) {
    this.#changed.add(site);
    this.#soon.ask();
  }

  /** Something besides records has changed. */
  tell() {
    this.turn += 1;
    this.#soon.ask();
  }

  /** How a site stands has changed, and no record of this page. */
  tellOfStatus() {
    this.#soon.ask();
  }

  /** More waits than before. */
  tellLines() {
    for (const listener of this.#lines) listener();
  }

  #tellAll() {
    for (const site of this.#changed) this.#tellTabs(site);
    this.#changed.clear();
    this.tellLines();
    for (const listener of this.#screens) listener();
  }
}
