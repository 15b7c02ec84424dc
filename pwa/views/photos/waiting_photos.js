// The photos of a form that is not saved yet, there again after the page ended.

import { useEffect, useState } from 'preact/hooks';
import { keepWaitingPhotos, waitingPhotos } from '../../store/waiting_photos.js';

/**
 * @param {Site} site @param {string} form its name, the same whenever it opens
 * @returns {[Blob[], (photos: Blob[]) => void]} the photos, and what sets and keeps them
 */
export function useWaitingPhotos(site, form) {
  const [photos, setPhotos] = useState(/** @type {Blob[]} */ ([]));
  useEffect(() => {
    let wanted = true;
    const show = (/** @type {Blob[]} */ kept) => wanted && setPhotos((taken) => [...kept, ...taken]);
    waitingPhotos(site, form).then(show, () => {});
    return () => {
      wanted = false;
    };
  }, [site.id, form]);
  const change = (/** @type {Blob[]} */ next) => {
    setPhotos(next);
    // A phone without room for them has them until the page ends.
    keepWaitingPhotos(site, form, next).catch(() => {});
  };
  return [photos, change];
}
