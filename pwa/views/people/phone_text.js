// A phone in words, wherever phones are listed: what it is called, what it has not sent.

import { counted, say } from '../words.js';
import { phoneName } from '../syncing/phone_name.js';

/** What people call it: by its copy of a site, as its entries do; else by itself. @param {{id: string, kind: 'phone' | 'computer' | null, copies: string[]}} phone */
export const nameOf = ({ id, kind, copies }) =>
  kind === 'computer' && copies.length === 0
    ? `${say('phones.kind.computer')} ${lettersOf(id)}`
    : phoneName(copies[0] ?? id);

const LETTERS = 4;

/** @param {string} id */
const lettersOf = (id) => id.slice(0, LETTERS).toUpperCase();

/** What it has not sent, or nothing to say. @param {{operations: number, photos: number}} phone */
export function unsentOf({ operations, photos }) {
  const parts = [operations && counted(operations, 'entry'), photos && counted(photos, 'photo')];
  return parts.filter(Boolean).join(', ');
}
