// How hard to look at a picture: as it is first; where nothing is read, as at a damaged label of ours, and in other ways.

import { DamagedLabels, isLarge } from './scan_worker_damaged.js';
import { grey, WAYS } from './scan_worker_pictures.js';

/** @typedef {{data: Uint8ClampedArray, width: number, height: number}} Picture as `ImageData`: 4 bytes a pixel */

/** Of the frames in which nothing was read, each so many is looked at harder: a label that just came into view is read at once. */
export const HARDER_EACH = 3;
/** Of those that are looked at harder, each so many in another way than as a damaged label. */
const OTHERWISE_EACH = 4;

/** Tries of one reader of codes on pictures. */
export class Reading {
  #missed = 0;
  #harder = 0;
  #otherwise = 0;

  /**
   * @param {(picture: Picture) => Promise<string[]>} textsIn the reader: all texts in a picture
   * @param {string | null} address where this installation is reached, which its labels say; null: other codes than labels are looked for
   */
  constructor(textsIn, address) {
    this.textsIn = textsIn;
    this.damaged = address === null ? null : new DamagedLabels(address);
  }

  /** The texts in one frame of a film: as it is, and of some that say nothing in a harder way. @param {Picture} picture */
  async frame(picture) {
    const texts = await this.textsIn(picture);
    this.#missed = texts.length > 0 ? 0 : this.#missed + 1;
    if (this.#missed === 0 || this.#missed % HARDER_EACH > 0) return texts;
    return this.#lookHarder(picture);
  }

  /** @param {Picture} picture */
  async #lookHarder(picture) {
    const plain = grey(picture);
    this.#harder += 1;
    if (this.damaged && this.#harder % OTHERWISE_EACH > 0) {
      const text = this.damaged.read(plain, this.#harder % 2 === 0);
      return text ? [text] : [];
    }
    this.#otherwise += 1;
    return this.textsIn(WAYS[this.#otherwise % WAYS.length](plain));
  }

  /** The texts in a still picture: every way until one reads it. @param {Picture} picture */
  async still(picture) {
    const texts = await this.textsIn(picture);
    if (texts.length > 0) return texts;
    const plain = grey(picture);
    const text = this.damaged?.read(plain) ?? (isLarge(plain) && this.damaged?.read(plain, true));
    if (text) return [text];
    for (const way of WAYS) {
      const found = await this.textsIn(way(plain));
      if (found.length > 0) return found;
    }
    return [];
  }
}
