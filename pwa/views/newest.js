// What is the newest of several records, by the order in which the server took them: never by a phone's clock.

/** @typedef {{order?: Record<string, number>}} Ordered */

/** @param {Ordered} record @returns {number} */
const placeOf = (record) => record.order?.identity ?? 0;

/** The oldest first; what this phone has not sent yet comes last, in the order in which it was saved. @param {Ordered} a @param {Ordered} b */
export const byOrder = (a, b) => placeOf(a) - placeOf(b);
