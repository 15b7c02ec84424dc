// A field to sign in with a finger, pen or mouse. Who signs by keyboard leaves it empty: then the typed name counts.

import { useEffect, useRef } from 'preact/hooks';
import { html } from '../html.js';
import { say } from '../words.js';
import { begun, drawNewest, drawStrokes, ledOn } from './strokes.js';

/** @typedef {import('./strokes.js').Stroke} Stroke */

const [WIDTH, HEIGHT] = [600, 200];
const LINE_PX = 4;

/** Paper is white and ink black in either theme: it is kept as a picture. @param {CanvasRenderingContext2D} pen */
function blank(pen) {
  pen.fillStyle = 'white';
  pen.fillRect(0, 0, WIDTH, HEIGHT);
  pen.strokeStyle = 'black';
  pen.lineWidth = LINE_PX;
  pen.lineCap = 'round';
  pen.lineJoin = 'round';
}

/** What was drawn, as a picture. @param {HTMLCanvasElement} drawn @returns {Promise<Blob | null>} */
export const pictureOf = (drawn) => new Promise((resolve) => drawn.toBlob(resolve, 'image/png'));

/** @param {HTMLCanvasElement} canvas @param {PointerEvent} event @returns {[number, number]} */
function pointOf(canvas, event) {
  const box = canvas.getBoundingClientRect();
  return [
    ((event.clientX - box.left) * WIDTH) / box.width,
    ((event.clientY - box.top) * HEIGHT) / box.height,
  ];
}

/**
 * @param {object} props
 * @param {Stroke[]} props.strokes what is drawn, or was before the phone went out
 * @param {boolean} props.wasKept whether it was
 * @param {(canvas: HTMLCanvasElement) => void} props.onReady told once: on what it is drawn
 * @param {(canvas: HTMLCanvasElement, strokes: Stroke[]) => void} props.onStrokes told at each point, none after it was cleared
 */
export function SignaturePad({ strokes, wasKept, onReady, onStrokes }) {
  const canvas = useRef(/** @type {HTMLCanvasElement | null} */ (null));
  const now = useRef(/** @type {Stroke[] | null} */ (null));
  const pen = () => canvas.current?.getContext('2d') ?? null;
  const change = (/** @type {Stroke[]} */ next) => {
    now.current = next;
    if (canvas.current) onStrokes(canvas.current, next);
  };
  useEffect(() => {
    const found = pen();
    if (!found || !canvas.current) return;
    blank(found);
    drawStrokes(found, strokes);
    onReady(canvas.current);
  }, []);
  const drawing = useRef(false);
  /** @param {PointerEvent} event */
  const begin = (event) => {
    const found = pen();
    if (!canvas.current || !found) return;
    canvas.current.setPointerCapture(event.pointerId);
    drawing.current = true;
    const next = begun(now.current ?? strokes, pointOf(canvas.current, event));
    drawNewest(found, next);
    change(next);
  };
  /** @param {PointerEvent} event */
  const draw = (event) => {
    const found = pen();
    if (!drawing.current || !canvas.current || !found) return;
    const next = ledOn(now.current ?? strokes, pointOf(canvas.current, event));
    if (next === now.current) return;
    drawNewest(found, next);
    change(next);
  };
  const end = () => {
    drawing.current = false;
  };
  const clear = () => {
    const found = pen();
    if (found) blank(found);
    change([]);
  };
  return html`<div class="field">
    <p class="label" id="signature">${say('sign.signature')}</p>
    <p class="muted small" id="signature-help">${say('sign.signature-help')}</p>
    ${wasKept && html`<p class="notice small">${say('sign.was-kept')}</p>`}
    <canvas class="signature" ref=${canvas} width=${WIDTH} height=${HEIGHT} role="img" aria-labelledby="signature" aria-describedby="signature-help"
      onPointerDown=${begin} onPointerMove=${draw} onPointerUp=${end} onPointerCancel=${end}></canvas>
    <button type="button" class="button plain" onClick=${clear}>${say('sign.clear')}</button>
  </div>`;
}
