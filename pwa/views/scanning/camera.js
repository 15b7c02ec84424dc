// What the camera sees, with its light and zoom where it has them; the texts of codes in sight go up.

import { useEffect, useRef, useState } from 'preact/hooks';
import { html } from '../html.js';
import { say } from '../words.js';
import { look } from './look.js';

/** What the browser says when there is no camera to be had, as a sentence's code. @type {Record<string, string>} */
const REFUSALS = {
  NotAllowedError: 'crew.camera-refused',
  NotFoundError: 'crew.camera-none',
  NotReadableError: 'crew.camera-busy',
  NetworkError: 'crew.scanner-not-here',
  NotSupportedError: 'scanner.reader-broken',
  TimeoutError: 'scanner.camera-dark',
};

/** @param {unknown} error @returns {string} the code of a sentence that says what to do */
export const whatToDo = (error) =>
  REFUSALS[/** @type {{name?: string}} */ (error)?.name ?? ''] ?? 'crew.camera-busy';

/** @param {{onTexts: (texts: string[]) => void, formats?: string[], hint?: string}} props `formats`: of other codes than our labels' */
export function Camera({ onTexts, formats, hint = say('crew.hold-the-label-inside-the') }) {
  const video = useRef(/** @type {HTMLVideoElement | null} */ (null));
  const newest = useRef(onTexts);
  newest.current = onTexts;
  const [refused, setRefused] = useState('');
  const [track, setTrack] = useState(/** @type {MediaStreamTrack | null} */ (null));
  useEffect(() => {
    let stop = () => {};
    let wanted = true;
    const refuse = (/** @type {unknown} */ error) => wanted && setRefused(whatToDo(error));
    look(
      /** @type {HTMLVideoElement} */ (video.current),
      (texts) => newest.current(texts),
      refuse,
      formats,
    ).then((looking) => {
      stop = looking.stop;
      if (wanted) setTrack(looking.track);
      else stop();
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
    ${track && html`<${CameraTools} track=${track} />`}
  </div>`;
}

/** @typedef {{torch?: boolean, zoom?: {min: number, max: number, step?: number}}} Abilities what some cameras can beside the usual */

/** Light and zoom, where this camera has them. @param {{track: MediaStreamTrack}} props */
function CameraTools({ track }) {
  const { torch, zoom } = /** @type {Abilities} */ (track.getCapabilities?.() ?? {});
  const [lit, setLit] = useState(false);
  const [near, setNear] = useState(zoom?.min ?? 1);
  /** @param {Record<string, unknown>} wish */
  const ask = (wish) =>
    track.applyConstraints(/** @type {MediaTrackConstraints} */ ({ advanced: [wish] })).catch(() => {});
  const light = async () => {
    await ask({ torch: !lit });
    setLit(!lit);
  };
  /** @param {EventOf<HTMLInputElement>} event */
  const draw = ({ currentTarget }) => {
    setNear(currentTarget.valueAsNumber);
    ask({ zoom: currentTarget.valueAsNumber });
  };
  return html`${torch && html`<button type="button" class="button" aria-pressed=${lit} onClick=${light}>${say(lit ? 'scanner.light-off' : 'scanner.light-on')}</button>`}
    ${
      zoom &&
      zoom.max > zoom.min &&
      html`<label class="field">${say('scanner.zoom')}
        <input type="range" min=${zoom.min} max=${zoom.max} step=${zoom.step ?? 0.1} value=${near} onInput=${draw} /></label>`
    }`;
}
