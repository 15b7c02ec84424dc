// A field to sign in with a finger, pen or mouse. Who signs by keyboard leaves it empty: then the typed name counts.

import { useEffect, useRef } from 'preact/hooks';
import { html } from '../html.js';
import { say } from '../words.js';

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
 * @param {{onDrawn: (drawn: HTMLCanvasElement | null) => void}} props `onDrawn`: what was drawn on, null after it was cleared
 */
export function SignaturePad({ onDrawn }) {
  const canvas = useRef(/** @type {HTMLCanvasElement | null} */ (null));
  const drawing = useRef(false);
  const pen = () => canvas.current?.getContext('2d') ?? null;
  useEffect(() => {
    const found = pen();
    if (found) blank(found);
  }, []);
  /** @param {PointerEvent} event */
  const begin = (event) => {
    const found = pen();
    if (!canvas.current || !found) return;
    canvas.current.setPointerCapture(event.pointerId);
    drawing.current = true;
    const at = pointOf(canvas.current, event);
    found.beginPath();
    found.moveTo(...at);
    found.lineTo(...at);
    found.stroke();
  };
  /** @param {PointerEvent} event */
  const draw = (event) => {
    const found = pen();
    if (!drawing.current || !canvas.current || !found) return;
    found.lineTo(...pointOf(canvas.current, event));
    found.stroke();
  };
  const end = () => {
    if (!drawing.current) return;
    drawing.current = false;
    onDrawn(canvas.current);
  };
  const clear = () => {
    const found = pen();
    if (found) blank(found);
    onDrawn(null);
  };
  return html`<div class="field">
    <p class="label" id="signature">${say('sign.signature')}</p>
    <p class="muted small" id="signature-help">${say('sign.signature-help')}</p>
    <canvas class="signature" ref=${canvas} width=${WIDTH} height=${HEIGHT} role="img" aria-labelledby="signature" aria-describedby="signature-help"
      onPointerDown=${begin} onPointerMove=${draw} onPointerUp=${end} onPointerCancel=${end}></canvas>
    <button type="button" class="button plain" onClick=${clear}>${say('sign.clear')}</button>
  </div>`;
}
