// Small things that this phone keeps between screens: the tape in use, what is half typed. Losing them loses no survey.

/** @param {string} name */
const keyOf = (name) => `spanwalk.${name}`;

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
    if (value === undefined) localStorage.removeItem(keyOf(name));
    else localStorage.setItem(keyOf(name), JSON.stringify(value));
  } catch {
    // A phone that keeps nothing here still surveys.
  }
}
