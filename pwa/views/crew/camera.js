// The camera as a stream of texts that stand in QR codes before it.

import { useEffect, useRef, useState } from 'preact/hooks';
import { html } from '../html.js';
import { say } from '../words.js';

/** What the browser says when there is no camera to be had, as a sentence's code. @type {Record<string, string>} */
const REFUSALS = {
  NotAllowedError: 'crew.camera-refused',
  NotFoundError: 'crew.camera-none',
  NotReadableError: 'crew.camera-busy',
  NetworkError: 'crew.scanner-not-here',
};
/** By its address: a worker knows no import map, and stands alone where the page is packed. */
const SCAN_WORKER = '/app/views/crew/scan_worker.js';
const WANTED = {
  video: { facingMode: { ideal: 'environment' }, width: { ideal: 1280 }, height: { ideal: 720 } },
};

/** A frame of the video as pixels; null before the first. @param {HTMLVideoElement} video @param {HTMLCanvasElement} canvas */
function frameOf(video, canvas) {
  if (!video.videoWidth) return null;
  canvas.width = video.videoWidth;
  canvas.height = video.videoHeight;
  const pen = canvas.getContext('2d', { willReadFrequently: true });
  if (!pen) return null;
  pen.drawImage(video, 0, 0);
  return pen.getImageData(0, 0, canvas.width, canvas.height);
}

/**
 * Look through the camera until stopped.
 *
 * @param {HTMLVideoElement} video
 * @param {(text: string) => void} onText
 * @param {(error: DOMException) => void} onFailed the reader of the codes is not on this phone
 * @param {string[] | undefined} formats sorts of codes, as the worker's reader names them
 * @returns {Promise<() => void>} stop: camera off, worker gone
 * @throws {DOMException} no camera, or not allowed
 */
async function look(video, onText, onFailed, formats) {
  if (!navigator.mediaDevices) throw new DOMException('', 'NotFoundError');
  const stream = await navigator.mediaDevices.getUserMedia(WANTED);
  const worker = new Worker(SCAN_WORKER, { type: 'module' });
  const canvas = document.createElement('canvas');
  let stopped = false;
  const next = () => {
    if (stopped) return;
    const frame = document.visibilityState === 'visible' ? frameOf(video, canvas) : null;
    if (frame) worker.postMessage({ frame, formats }, [frame.data.buffer]);
    else setTimeout(next, 100);
  };
  const stop = () => {
    stopped = true;
    worker.terminate();
    for (const track of stream.getTracks()) track.stop();
  };
  const fail = () => {
    if (!stopped) onFailed(new DOMException('', 'NetworkError'));
    stop();
  };
  worker.onerror = fail;
  worker.onmessage = ({ data: { text, failed } }) => {
    if (stopped) return;
    if (failed) return fail();
    if (text) onText(text);
    requestAnimationFrame(next);
  };
  video.srcObject = stream;
  await video.play();
  next();
  return stop;
}

/** @param {{onText: (text: string) => void, formats?: string[], hint?: string}} props `formats`: of other codes than our labels' */
export function Camera({ onText, formats, hint = say('crew.hold-the-label-inside-the') }) {
  const video = useRef(/** @type {HTMLVideoElement | null} */ (null));
  const newest = useRef(onText);
  newest.current = onText;
  const [refused, setRefused] = useState('');
  useEffect(() => {
    let stop = () => {};
    let wanted = true;
    const refuse = (/** @type {DOMException} */ error) =>
      wanted && setRefused(REFUSALS[error.name] ?? 'crew.camera-busy');
    look(
      /** @type {HTMLVideoElement} */ (video.current),
      (text) => newest.current(text),
      refuse,
      formats,
    ).then((stopLooking) => {
      stop = stopLooking;
      if (!wanted) stop();
    }, refuse);
    return () => {
      wanted = false;
      stop();
    };
  }, []);
  // A camera that is not to be had leaves its place: what stands below does not move under the thumb.
  if (refused)
    return html`<div class="camera-view"><div class="camera-none"><p class="notice">${say(refused)}</p></div></div>`;
  return html`<div class="camera-view">
    <video ref=${video} muted playsinline aria-label=${say('crew.what-the-camera-sees')}></video>
    <p class="small">${hint}</p>
  </div>`;
}
