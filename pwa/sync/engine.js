// Sync without attention: when to run a sync, one at a time, and what the sync line says meanwhile.

import { backOffS, IDLE_S, SOON_S } from './backoff.js';
import { cycle, SHUT_OUT } from './cycle.js';
import { atRest, step } from './line.js';
import { NoAnswer } from './transport.js';

/** @typedef {import('./line.js').LineState} LineState */
/** @typedef {import('./line.js').LineEvent} LineEvent */

/**
 * @typedef {object} Status
 * @property {LineState} state
 * @property {number} unsent
 * @property {number} photos
 * @property {number} attention what a person must deal with: refused, recovered, a copy that differs
 * @property {number} conflicts facets of records that are to be settled, as the screen shows them
 * @property {boolean} photosWait photos are held back until there is Wi-Fi, or a person sends them
 * @property {number | null} nextTry milliseconds of the clock
 * @property {string | null} why code of what is in the way
 * @property {boolean} mismatch this copy is not what the server has
 * @property {boolean} [gone] the server has the site no more: it was deleted
 * @property {boolean} heard a sync has ended well on this phone: what the server has of the site is known
 *
 * @typedef {ReturnType<typeof setTimeout> | object} Timer what a clock gives, to be given back
 *
 * @typedef {object} Surroundings
 * @property {() => number} now milliseconds
 * @property {(run: () => void, ms: number) => Timer} setTimer
 * @property {(timer: Timer | null) => void} clearTimer
 * @property {() => number} chance from 0 to 1
 * @property {Pick<LockManager, 'request'>} locks
 */

/** @returns {Surroundings} */
export const browserSurroundings = () => ({
  now: () => Date.now(),
  setTimer: (run, ms) => setTimeout(run, ms),
  clearTimer: (timer) => clearTimeout(/** @type {number | undefined} */ (timer ?? undefined)),
  chance: () => Math.random(),
  locks: navigator.locks,
});

/** States that say what the counts say. @type {Set<LineState>} */
const AT_REST = new Set(['sent', 'unsent', 'conflict', 'needs-attention']);

/** @typedef {import('./line.js').Counts} Counts */

/** @param {Counts} counts @param {import('../storage/types.js').Added} added @returns {Counts} */
const withAdded = (counts, { operations, photos, refused }) => ({
  ...counts,
  operations: counts.operations + operations,
  photos: counts.photos + photos,
  refused: counts.refused + refused,
});

/** What the server answers of a site that it has not; who was taken off one is told so apart. */
const GONE = 'site-unknown';

export class Engine {
  /**
   * @param {import('../storage/site_storage.js').SiteStorage} storage
   * @param {import('./transport.js').Transport} transport
   * @param {{onStatus?: (status: Status) => void, onSaved?: () => void, onChange?: () => void, photosToo?: () => boolean, settles?: () => boolean, surroundings?: Surroundings}} [how]
   *   `onSaved`: the status has what was just saved in it, which is not told to anybody yet;
   *   `photosToo`: whether photos may go now; `settles`: whether conflicts are this person's to settle
   */
  constructor(storage, transport, { onStatus, onSaved, onChange, photosToo, settles, surroundings } = {}) {
    this.storage = storage;
    this.transport = transport;
    this.around = surroundings ?? browserSurroundings();
    this.onStatus = onStatus ?? (() => {});
    this.onSaved = onSaved ?? (() => {});
    this.onChange = onChange ?? (() => {});
    this.photosToo = photosToo ?? (() => true);
    this.settles = settles ?? (() => true);
    /** @type {LineState} */
    this.state = 'sent';
    this.failures = 0;
    /** @type {import('./line.js').Counts} */
    this.counts = { operations: 0, photos: 0, refused: 0, recovered: 0, conflicts: 0 };
    /** What was saved since the newest of `counts` was read from the disk. @type {import('../storage/types.js').Added[]} */
    this.since = [];
    this.counting = 0;
    this.counted = 0;
    /** @type {number | null} */
    this.nextTry = null;
    /** @type {string | null} */
    this.why = null;
    this.mismatch = false;
    /** Whether a sync has ever ended well on this phone: before that nothing is known of the site. */
    this.heard = false;
    /** Whether something of the site is here: a part of a first sync, or what was entered before it. */
    this.hasSome = false;
    /** @type {Timer | null} */
    this.timer = null;
    /** @type {Promise<void> | null} */
    this.running = null;
    this.again = false;
    this.stopped = false;
    /** Whether it was a sync that found the storage failing, with nothing typed that is still to be saved. */
    this.syncHadNoRoom = false;
    storage.onAdded = (added) => this.#added(added);
  }

  /** @returns {Status} */
  get status() {
    const { operations, photos, refused, recovered, conflicts } = this.counts;
    const { state, nextTry, why, mismatch, heard } = this;
    return {
      state,
      unsent: operations,
      photos,
      attention: refused + recovered + (mismatch ? 1 : 0),
      conflicts,
      photosWait: photos > 0 && !this.photosToo(),
      nextTry,
      why,
      mismatch,
      heard,
      ...(this.isGone && { gone: true }),
    };
  }

  /** Whether the server has this site no more, though it is on this phone: it was deleted. It is asked again all the same. */
  get isGone() {
    return this.why === GONE;
  }

  /** Whether the first sync goes on, and nothing has yet come in its way. */
  get isAwaited() {
    const stopped = this.state === 'signed-out' || this.state === 'storage-failing';
    return !this.heard && this.failures === 0 && !stopped;
  }

  /** The same, while nothing of the site is here. */
  get isFetching() {
    return this.isAwaited && !this.hasSome;
  }

  /** Whether the server has said that this phone is shut out of the site. */
  get isShutOut() {
    return this.why === SHUT_OUT;
  }

  /** Learn what is on the phone, then sync soon. Nothing is to be shown of the engine before it resolves. */
  async begin() {
    await this.storage.syncState().then(
      ({ at, cursor }) => {
        this.heard = at !== null;
        this.hasSome = cursor > 0;
      },
      () => {},
    );
    this.state = (await this.#count()) ? atRest(this.counts) : 'storage-failing';
    this.hasSome ||= this.counts.operations > 0;
    await this.tell('woken');
    // Who opens a site for the first time waits for what is to come: nothing is typed yet that would go with it.
    if (this.isFetching) this.#plan('sync', 0, 0);
  }

  /**
   * Something happened.
   *
   * @param {LineEvent} event
   * @param {{code?: string, retryAfterS?: number}} [about]
   */
  async tell(event, { code, retryAfterS = 0 } = {}) {
    if (this.stopped) return;
    await this.#count();
    if (event === 'storage-failed') this.syncHadNoRoom = false;
    const { state, then } = step(this.state, event, this.counts);
    if (event === 'finished' || event === 'network-back' || event === 'signed-in') this.failures = 0;
    if (then === 'back-off') this.failures += 1;
    this.state = state;
    this.why = code ?? (state === 'sending' ? this.why : null);
    if (event === 'saved' && state === 'sending') this.again = true;
    this.#plan(then, retryAfterS);
    this.onStatus(this.status);
  }

  /**
   * Something was saved a moment ago, and nobody has said so yet: what waits says it first. Sync is told of it apart, once for
   * many.
   *
   * @param {import('../storage/types.js').Added} added
   */
  #added(added) {
    if (this.stopped) return;
    this.hasSome = true;
    this.since.push(added);
    this.counts = withAdded(this.counts, added);
    this.state = step(this.state, 'saved', this.counts).state;
    this.onSaved();
  }

  /** @returns {Promise<boolean>} whether they could be read; if not, those of a moment ago are shown */
  async #count() {
    this.counting += 1;
    const turn = this.counting;
    try {
      const counts = await this.storage.counts();
      if (turn < this.counted) return true;
      this.counted = turn;
      // A save that ended after these were read is not in them.
      this.since = this.since.filter(({ version }) => version > (counts.version ?? 0));
      this.counts = this.since.reduce(withAdded, this.settles() ? counts : { ...counts, conflicts: 0 });
      return true;
    } catch {
      return false;
    }
  }

  /** @param {import('./line.js').Then} then @param {number} retryAfterS @param {number} [soonS] */
  #plan(then, retryAfterS, soonS = SOON_S) {
    if (then === 'stay') return;
    this.around.clearTimer(this.timer);
    const seconds = {
      sync: soonS,
      wait: IDLE_S,
      'back-off': backOffS(this.failures, this.around.chance(), retryAfterS),
    }[then];
    this.nextTry = then === 'back-off' ? this.around.now() + seconds * 1000 : null;
    this.timer = this.around.setTimer(() => this.run(), seconds * 1000);
  }

  /** Sync now, unless this or another tab is at it. Resolves when it has ended, well or not. @returns {Promise<void>} */
  run() {
    if (this.stopped || this.state === 'signed-out') return Promise.resolve();
    this.running ??= this.#locked().finally(() => {
      this.running = null;
      if (this.again && !this.stopped) {
        this.again = false;
        this.run();
      }
    });
    return this.running;
  }

  /** Sync what is here now: one that runs already may be past the sending, so that another follows it. */
  async afresh() {
    await this.running;
    await this.run();
  }

  #locked() {
    const name = `spanwalk-sync:${this.storage.site}:${this.storage.person}`;
    return this.around.locks.request(name, { ifAvailable: true }, async (lock) => {
      if (lock) await this.#sync();
      else this.#plan('wait', 0);
    });
  }

  async #sync() {
    await this.tell('began');
    try {
      const { matches } = await cycle(this.storage, this.transport, {
        onChange: () => this.#moved(),
        photosToo: this.photosToo,
      });
      this.mismatch = !matches;
      this.heard = true;
      // It has written: where nothing typed waits to be saved, the storage is well again.
      await this.tell(this.syncHadNoRoom ? 'storage-works' : 'finished');
      this.syncHadNoRoom = false;
    } catch (error) {
      await this.#failed(error);
    }
  }

  /** Something arrived or was answered: the numbers move while the sync goes on. */
  #moved() {
    this.hasSome = true;
    this.onChange();
    this.#count().then(() => this.onStatus(this.status));
  }

  /** @param {unknown} error */
  async #failed(error) {
    if (error instanceof NoAnswer) return this.tell(error.event, error);
    const { name, code } = /** @type {{name?: string, code?: string}} */ (error);
    if (name === 'NotSaved') {
      const ofSync = this.syncHadNoRoom || this.state !== 'storage-failing';
      await this.tell('storage-failed', { code });
      this.syncHadNoRoom = ofSync;
      return;
    }
    await this.tell('server-failed', { code: 'phone.sync-broke' });
    console.error(error);
  }

  /** Another tab syncs this site: its line is this tab's line too. @param {Status} status */
  async adopt(status) {
    if (this.running) return;
    await this.#count();
    // What waits is the same for both, but this tab may know of a newer save.
    this.state = AT_REST.has(status.state) ? atRest(this.counts) : status.state;
    this.why = status.why;
    this.mismatch = status.mismatch;
    this.heard ||= status.heard;
    this.hasSome ||= status.heard;
    this.nextTry = status.nextTry;
  }

  stop() {
    this.stopped = true;
    this.around.clearTimer(this.timer);
  }

  /** Stop, and give up what is on its way. Resolves when nothing of it is written any more. */
  async stopNow() {
    this.stop();
    this.transport.stop();
    await this.running?.catch(() => {});
  }
}
