// The camera, and pictures taken otherwise, as the texts of the codes in sight.

import { takeReader } from './reader.js';

const BACK = { facingMode: { ideal: 'environment' } };
/** What is asked of the camera, the finest first: a small label is read from further away. @type {MediaTrackConstraints[]} */
export const WISHES = [
  { ...BACK, width: { min: 1920, ideal: 1920 }, height: { ideal: 1080 } },
  { ...BACK, width: { ideal: 1280 }, height: { ideal: 720 } },
  {},
];
/** Between two frames that are looked at: of 30 a second never more than one in three. */
export const FRAME_GAP_MS = 100;
/** A camera or a reader that says nothing for so long is broken. */
const SILENT_MS = 12_000;
/** Longer side of a still picture that is looked at: finer shows no more of a label, and takes too long. */
const STILL_PX = 2400;

/** @typedef {'NotAllowedError' | 'NotFoundError' | 'NotReadableError' | 'NetworkError' | 'NotSupportedError' | 'TimeoutError'} Refusal */

/** @param {string} name a `Refusal` */
const refusal = (name) => new DOMException('', name);
/** What the worker says of itself, as a refusal. @type {Record<string, string>} */
const FAILED = { broken: 'NotSupportedError', 'not-here': 'NetworkError' };

/**
 * The camera that comes nearest to what is wanted.
 *
 * @param {(constraints: MediaStreamConstraints) => Promise<MediaStream>} ask `getUserMedia`
 * @throws {DOMException} no camera, or not allowed
 */
export async function openCamera(ask) {
  for (const video of WISHES) {
    try {
      return await ask({ video });
    } catch (error) {
      if (/** @type {DOMException} */ (error).name !== 'OverconstrainedError') throw error;
    }
  }
  throw refusal('NotFoundError');
}

/** A picture as pixels. @param {CanvasImageSource} source @param {number} width @param {number} height @param {HTMLCanvasElement} canvas */
function pixelsOf(source, width, height, canvas) {
  canvas.width = width;
  canvas.height = height;
  const pen = canvas.getContext('2d', { willReadFrequently: true });
  if (!pen) return null;
  pen.drawImage(source, 0, 0, width, height);
  return pen.getImageData(0, 0, width, height);
}

/**
 * Look through the camera until stopped.
 *
 * @param {HTMLVideoElement} video
 * @param {(texts: string[]) => void} onTexts
 * @param {(error: DOMException) => void} onFailed the reader of the codes, or the camera, does not work
 * @param {string[] | undefined} formats sorts of codes, as the worker's reader names them
 * @returns {Promise<{stop: () => void, track: MediaStreamTrack}>} stop: camera off, worker gone
 * @throws {DOMException} no camera, or not allowed
 */
export async function look(video, onTexts, onFailed, formats) {
  const { mediaDevices } = navigator;
  if (!mediaDevices) throw refusal('NotFoundError');
  // Where it is not ready yet, it comes while the camera opens.
  const worker = takeReader();
  const stream = await openCamera((constraints) => mediaDevices.getUserMedia(constraints)).catch((error) => {
    worker.terminate();
    throw error;
  });
  const [track] = stream.getVideoTracks();
  const canvas = document.createElement('canvas');
  let stopped = false;
  let silent = 0;
  const stop = () => {
    stopped = true;
    clearTimeout(silent);
    worker.terminate();
    for (const each of stream.getTracks()) each.stop();
  };
  /** @param {string} name */
  const fail = (name) => {
    if (!stopped) onFailed(refusal(name));
    stop();
  };
  /** @param {string} name */
  const expect = (name) => {
    clearTimeout(silent);
    silent = setTimeout(() => fail(name), SILENT_MS);
  };
  const next = () => {
    if (stopped) return;
    const seen = document.visibilityState === 'visible';
    if (!seen) expect('TimeoutError');
    const frame =
      seen && video.videoWidth ? pixelsOf(video, video.videoWidth, video.videoHeight, canvas) : null;
    if (!frame) {
      setTimeout(next, FRAME_GAP_MS);
      return;
    }
    expect('NotSupportedError');
    worker.postMessage({ frame, formats }, [frame.data.buffer]);
  };
  worker.onerror = () => fail('NetworkError');
  worker.onmessage = ({ data: { texts, failed } }) => {
    if (stopped) return;
    if (failed) {
      fail(FAILED[failed]);
      return;
    }
    expect('TimeoutError');
    if (texts.length > 0) onTexts(texts);
    setTimeout(next, FRAME_GAP_MS);
  };
  track.onended = () => fail('NotReadableError');
  expect('TimeoutError');
  video.srcObject = stream;
  await video.play();
  next();
  return { stop, track };
}

/**
 * The texts in a picture from the camera app or a file.
 *
 * @param {Blob} file
 * @returns {Promise<string[]>}
 * @throws {DOMException} the reader of the codes does not work; or it is no picture
 */
export async function textsInPicture(file) {
  const picture = await createImageBitmap(file);
  const scale = Math.min(1, STILL_PX / Math.max(picture.width, picture.height));
  const canvas = document.createElement('canvas');
  const [width, height] = [picture.width, picture.height].map((side) =>
    Math.max(1, Math.round(side * scale)),
  );
  const frame = pixelsOf(picture, width, height, canvas);
  picture.close();
  if (!frame) return [];
  const worker = takeReader();
  try {
    return await new Promise((resolve, reject) => {
      worker.onerror = () => reject(refusal('NetworkError'));
      worker.onmessage = ({ data: { texts, failed } }) =>
        failed ? reject(refusal(FAILED[failed])) : resolve(texts);
      worker.postMessage({ frame, still: true }, [frame.data.buffer]);
    });
  } finally {
    worker.terminate();
  }
}
