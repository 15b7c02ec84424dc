// One text for one value: by it values are compared here, and hashed in sync. Twin: server/spanwalk/sync/canonical.py.

/**
 * A JSON value in its one canonical form: keys sorted, no spaces, numbers as JavaScript writes them.
 *
 * @param {unknown} value JSON value; a key whose value is undefined counts as absent.
 * @returns {string}
 */
export function canonical(value) {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (value === null || typeof value !== 'object') return JSON.stringify(value ?? null);
  const fields = /** @type {Record<string, unknown>} */ (value);
  const present = Object.keys(fields).filter((key) => fields[key] !== undefined);
  return `{${present
    .sort()
    .map((key) => `${JSON.stringify(key)}:${canonical(fields[key])}`)
    .join(',')}}`;
}

/**
 * Whether two JSON values are one.
 *
 * @param {unknown} left
 * @param {unknown} right
 */
export function sameValue(left, right) {
  return left === right || canonical(left) === canonical(right);
}
