// The strokes of a signature: whole numbers, so that they are kept small and drawn again as they were.

/** One stroke of the pen: x, y, x, y … on the pad. @typedef {number[]} Stroke */

/** Nearer than this a point says nothing new. */
const NEAR_PX = 2;
/** A signature has a few hundred points; what is longer is drawn and not kept. */
const NUMBERS_MOST = 8000;

/** A stroke that begins. @param {Stroke[]} strokes @param {[number, number]} point @returns {Stroke[]} */
export const begun = (strokes, [x, y]) => [...strokes, [Math.round(x), Math.round(y)]];

/** The strokes with the newest one led on to a point. @param {Stroke[]} strokes @param {[number, number]} point @returns {Stroke[]} */
export function ledOn(strokes, [x, y]) {
  const last = strokes.at(-1);
  if (!last) return begun(strokes, [x, y]);
  const [fromX, fromY] = last.slice(-2);
  if (Math.hypot(x - fromX, y - fromY) < NEAR_PX) return strokes;
  if (strokes.reduce((all, { length }) => all + length, 0) >= NUMBERS_MOST) return strokes;
  return [...strokes.slice(0, -1), [...last, Math.round(x), Math.round(y)]];
}

/** Strokes out of what was kept: whatever else stands there is none. @param {unknown} kept @returns {Stroke[]} */
export function strokesOf(kept) {
  if (!Array.isArray(kept)) return [];
  return kept.filter(
    (each) => Array.isArray(each) && each.length >= 2 && each.length % 2 === 0 && each.every(Number.isFinite),
  );
}

/** @typedef {Pick<CanvasRenderingContext2D, 'beginPath' | 'moveTo' | 'lineTo' | 'stroke'>} Pen */

/** Draw strokes piece by piece, as they came: so the picture is the same to the pixel. @param {Pen} pen @param {Stroke[]} strokes */
export function drawStrokes(pen, strokes) {
  for (const stroke of strokes)
    for (let length = 2; length <= stroke.length; length += 2) drawNewest(pen, [stroke.slice(0, length)]);
}

/** Draw the newest piece of the newest stroke: a dot where it begins. @param {Pen} pen @param {Stroke[]} strokes */
export function drawNewest(pen, strokes) {
  const [fromX, fromY, toX = fromX, toY = fromY] = strokes.at(-1)?.slice(-4) ?? [];
  pen.beginPath();
  pen.moveTo(fromX, fromY);
  pen.lineTo(toX, toY);
  pen.stroke();
}
