// Small things that this phone keeps between screens: the tape in use, what is half typed. Losing them loses no survey.
//
// They are read at once from what the browser keeps for the page; it writes that to the disk seconds later, and a browser
// that is killed meanwhile loses it. So each change goes to the phone's database too, and what was lost comes back from there.

/** @param {string} name */
const keyOf = (name) => `spanwalk.${name}`;
const NEWEST = keyOf('newest-kept');
/** What people have typed, as far as it is not saved; what else is kept is not worth a second copy. */
const TYPED = 'form.';

/** The newest that was kept by a name. @typedef {{name: string, at: number, value: unknown}} KeptRow `at`: later ones are higher; `value`: undefined where it is kept no longer */
/** @typedef {{keepSmall: (rows: KeptRow[]) => Promise<void>, smallKept: () => Promise<KeptRow[]>}} Behind */

/** @type {Behind | null} */
let behind = null;
/** Not handed to the database yet. @type {Map<string, KeptRow>} */
const waiting = new Map();
/** @type {ReturnType<typeof setTimeout> | null} */
let timer = null;
/** @type {Promise<unknown>} */
let writing = Promise.resolve();

// It comes from JSON that this page wrote: any, until the caller names it.
/** @param {string} name @returns {any} undefined where nothing is kept, or nothing can be */
export function kept(name) {
  try {
    const text = localStorage.getItem(keyOf(name));
    return text === null ? undefined : JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** @param {string} name @param {unknown} value undefined: keep it no longer */
export function keep(name, value) {
  try {
    const at = Math.max(Date.now(), newest() + 1);
    put(name, value);
    localStorage.setItem(NEWEST, String(at));
    if (!name.startsWith(TYPED)) return;
    waiting.set(name, { name, at, value });
    timer ??= setTimeout(handOver);
  } catch {
    // A phone that keeps nothing here still surveys.
  }
}

/** Resolves when all that was kept is in the phone's database. */
export async function handOver() {
  clearTimeout(timer ?? undefined);
  timer = null;
  const rows = [...waiting.values()];
  waiting.clear();
  if (behind && rows.length > 0) writing = behind.keepSmall(rows).catch(() => {});
  await writing;
}

/**
 * Put back what the browser lost when it was killed, and keep all that follows in the database too.
 *
 * @param {Behind} database
 */
export async function keepBehind(database) {
  try {
    const rows = await database.smallKept();
    const lost = rows.filter(({ at }) => at > newest());
    for (const { name, value } of lost) put(name, value);
    if (lost.length > 0) localStorage.setItem(NEWEST, String(lost[lost.length - 1].at));
    await database.keepSmall(notIn(rows));
  } catch {
    // What the browser has is what there is.
  }
  behind = database;
}

/** What a page had typed into it that was left before it could hand that over. @param {KeptRow[]} rows @returns {KeptRow[]} */
function notIn(rows) {
  const stored = new Map(rows.map(({ name, value }) => [name, JSON.stringify(value)]));
  const here = Object.keys(localStorage).filter((key) => key.startsWith(keyOf(TYPED)));
  const names = new Set([...here.map((key) => key.slice(keyOf('').length)), ...stored.keys()]);
  return [...names]
    .filter((name) => stored.get(name) !== JSON.stringify(kept(name)))
    .map((name) => ({ name, at: newest(), value: kept(name) }));
}

const newest = () => Number(localStorage.getItem(NEWEST) ?? 0);

/** @param {string} name @param {unknown} value */
function put(name, value) {
  if (value === undefined) localStorage.removeItem(keyOf(name));
  else localStorage.setItem(keyOf(name), JSON.stringify(value));
}
