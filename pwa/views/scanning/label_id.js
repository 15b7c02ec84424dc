// The record id of a label: made from its code, so that two bindings of one code meet in one record.

import { idOfName } from '../name_id.js';

/** The namespace for names that are addresses (RFC 9562, 6.6). */
const NAMESPACE = '6ba7b811-9dad-11d1-80b4-00c04fd430c8';

/**
 * UUID version 5 of `spanwalk:label:` and the code.
 *
 * @param {string} code @returns {Promise<string>}
 */
export const labelId = (code) => idOfName(NAMESPACE, `spanwalk:label:${code}`);
