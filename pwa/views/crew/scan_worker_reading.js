// How hard to look at a picture: as it is first, then the other ways one after another, for a still picture all of them.

import { grey, WAYS } from './scan_worker_pictures.js';

/** @typedef {{data: Uint8ClampedArray, width: number, height: number}} Picture as `ImageData`: 4 bytes a pixel */

/** Tries of one reader of codes on pictures; of a film each frame costs one more way at most. */
export class Reading {
  #next = 0;

  /** @param {(picture: Picture) => Promise<string[]>} textsIn the reader: all texts in a picture */
  constructor(textsIn) {
    this.textsIn = textsIn;
  }

  /** The texts in one frame of a film: as it is, and one other way, each frame another. @param {Picture} picture */
  async frame(picture) {
    const texts = await this.textsIn(picture);
    if (texts.length > 0) return texts;
    const way = WAYS[this.#next % WAYS.length];
    this.#next += 1;
    return this.textsIn(way(grey(picture)));
  }

  /** The texts in a still picture: every way until one reads it. @param {Picture} picture */
  async still(picture) {
    const texts = await this.textsIn(picture);
    if (texts.length > 0) return texts;
    const plain = grey(picture);
    for (const way of WAYS) {
      const found = await this.textsIn(way(plain));
      if (found.length > 0) return found;
    }
    return [];
  }
}
