// What names a content that somebody puts a name to: the same content has the same fingerprint, on any phone.

import { canonical, sha256Of } from '../sync/canonical.js';

/** SHA-256 of a value as it is written in one way only. @param {unknown} content @returns {Promise<string>} 64 hexadecimal digits */
export const fingerprintOfContent = (content) => sha256Of(canonical(content));

/** SHA-256 of a text in UTF-8, or of a file's bytes. @param {string | ArrayBuffer} content @returns {Promise<string>} 64 hexadecimal digits */
export const sha256OfBytes = (content) => sha256Of(content);
