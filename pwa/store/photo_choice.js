// When photos may go: with any signal, or on Wi-Fi only. A choice of this phone; losing it loses no photo.

/** @typedef {'any' | 'wifi'} PhotoChoice */

const KEY = 'spanwalk.photos-go';
const WIFI_LIKE = new Set(['wifi', 'ethernet']);
/** A person has asked for the photos to go, whatever the network. */
let byHand = false;

/** @returns {PhotoChoice} */
export function photoChoice() {
  try {
    return localStorage.getItem(KEY) === 'wifi' ? 'wifi' : 'any';
  } catch {
    return 'any';
  }
}

/** @param {PhotoChoice} choice */
export function choosePhotos(choice) {
  localStorage.setItem(KEY, choice);
}

/** The kind of network as far as the browser says it; null where it does not. @returns {string | null} */
export const networkKind = () =>
  /** @type {Navigator & {connection?: {type?: string}}} */ (globalThis.navigator)?.connection?.type ?? null;

/** Let photos go, whatever the network, while something runs. @param {() => Promise<unknown>} run */
export async function lettingPhotosGo(run) {
  byHand = true;
  try {
    await run();
  } finally {
    byHand = false;
  }
}

/** Whether photos may go now. Where the browser does not say what the network is, only a person can say so. */
export const mayGo = () => byHand || photoChoice() === 'any' || WIFI_LIKE.has(networkKind() ?? '');
