// A photo as it is kept: turned upright, shrunk and encoded once, named by its hash.

import { sha256Of } from '../sync/canonical.js';

export const LONGEST_SIDE_PX = 1600;
/** A floor plan is read, not looked at: its numbers and thin lines need more. */
export const PLAN_SIDE_PX = 3200;
const JPEG_QUALITY = 0.8;

/** What was chosen is not a picture that this phone can read. */
export class NotAPhoto extends Error {
  /** @param {Blob} blob @param {unknown} cause */
  constructor(blob, cause) {
    super('phone.not-a-photo', { cause });
    this.name = 'NotAPhoto';
    this.code = 'phone.not-a-photo';
    this.facts = { type: blob.type || '?', bytes: blob.size };
  }
}

/**
 * Width and height with the longer side at most `most`.
 *
 * @param {number} width @param {number} height @param {number} [most]
 */
export function shrunk(width, height, most = LONGEST_SIDE_PX) {
  const share = Math.min(1, most / Math.max(width, height));
  return { width: Math.max(1, Math.round(width * share)), height: Math.max(1, Math.round(height * share)) };
}

/**
 * Encode a picture for keeping; place data and all else that a camera writes beside it are left behind.
 *
 * @param {Blob} blob @param {number} [most] longer side [px]
 * @returns {Promise<{bytes: ArrayBuffer, sha256: string, width: number, height: number}>}
 * @throws {NotAPhoto}
 */
export async function encodePhoto(blob, most = LONGEST_SIDE_PX) {
  const bitmap = await createImageBitmap(blob, { imageOrientation: 'from-image' }).catch((error) => {
    throw new NotAPhoto(blob, error);
  });
  try {
    const size = shrunk(bitmap.width, bitmap.height, most);
    const jpeg = await toJpeg(bitmap, size);
    if (!jpeg) throw new NotAPhoto(blob, null);
    const bytes = await jpeg.arrayBuffer();
    return { bytes, sha256: await sha256Of(bytes), ...size };
  } finally {
    bitmap.close();
  }
}

/** @param {ImageBitmap} bitmap @param {{width: number, height: number}} size @returns {Promise<Blob | null>} */
function toJpeg(bitmap, { width, height }) {
  const canvas = Object.assign(document.createElement('canvas'), { width, height });
  const pen = canvas.getContext('2d');
  if (!pen) return Promise.resolve(null);
  pen.imageSmoothingQuality = 'high';
  pen.drawImage(bitmap, 0, 0, width, height);
  return new Promise((resolve) => canvas.toBlob(resolve, 'image/jpeg', JPEG_QUALITY));
}
