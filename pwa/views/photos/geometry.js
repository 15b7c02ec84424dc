// Where something is on a picture, in 1/10,000 of its width and height; how an arrow lies; what a zoom leaves in view. Pure.

/** Right edge of a picture, and its lower one. */
export const WHOLE = 10_000;
/** One press of an arrow key: half a hundredth of the picture. */
export const NUDGE = 50;
/** What '+' and '−' go through. */
export const ZOOMS = [1, 1.5, 2, 3, 4, 6, 8];
const MOST_ZOOM = 8;
/** Length of an arrow, of the picture's shorter side. */
const ARROW_SHARE = 0.22;
const HEAD_SHARE = 0.3;
/** Half of the head's breadth, of its length. */
const HEAD_BREADTH = 0.55;

/** @typedef {{x: number, y: number}} Point in 1/10,000 of the picture */
/** @typedef {{from_x: number, from_y: number, to_x: number, to_y: number}} Arrow in 1/10,000 of the picture */
/** @typedef {{width: number, height: number}} Size [px] */

/** @param {number} value @param {number} least @param {number} most */
const between = (value, least, most) => Math.min(most, Math.max(least, value));

/** @param {number} value */
const within = (value) => between(Math.round(value), 0, WHOLE);

/**
 * Where on a picture a finger is.
 *
 * @param {{left: number, top: number, width: number, height: number}} box of the picture [px]
 * @param {number} clientX @param {number} clientY
 * @returns {Point}
 */
export const pointIn = (box, clientX, clientY) => ({
  x: within(((clientX - box.left) / box.width) * WHOLE),
  y: within(((clientY - box.top) / box.height) * WHOLE),
});

/** What the arrow keys mean. @type {Record<string, Point>} */
export const STEPS = {
  ArrowLeft: { x: -1, y: 0 },
  ArrowUp: { x: 0, y: -1 },
  ArrowDown: { x: 0, y: 1 },
  ArrowRight: { x: 1, y: 0 },
};

/** A point moved by a step, never beyond the picture. @param {Point} point @param {Point} step @returns {Point} */
export const nudged = (point, step) => ({
  x: within(point.x + step.x * NUDGE),
  y: within(point.y + step.y * NUDGE),
});

/** The next zoom up or down. @param {number} zoom @param {1 | -1} way */
export function nextZoom(zoom, way) {
  if (way > 0) return ZOOMS.find((each) => each > zoom) ?? MOST_ZOOM;
  return ZOOMS.findLast((each) => each < zoom) ?? 1;
}

/** The zoom after two fingers have gone from one distance to another [px]. @param {number} zoom @param {number} from @param {number} to */
export const pinched = (zoom, from, to) => between(from > 0 ? (zoom * to) / from : zoom, 1, MOST_ZOOM);

/**
 * How far to scroll so that what lies under a finger stays there.
 *
 * @param {number} scroll before [px] @param {number} at where the finger is, from the view's edge [px]
 * @param {number} from @param {number} to zooms
 */
export const scrollAfter = (scroll, at, from, to) => Math.max(0, ((scroll + at) * to) / from - at);

/**
 * An arrow that points at a place, coming from the middle of the picture, where there is room for it.
 *
 * @param {Point} tip @param {Size} size @returns {Arrow}
 */
export function arrowTo(tip, size) {
  const away = { x: WHOLE / 2 - tip.x, y: WHOLE / 2 - tip.y };
  const eighth = Math.PI / 4;
  const angle = Math.atan2(away.y * size.height, away.x * size.width);
  return comingFrom(tip, size, Math.round(angle / eighth) * eighth);
}

/** The same tip, the arrow an eighth of a turn further round. @param {Arrow} arrow @param {Size} size @returns {Arrow} */
export function turned(arrow, size) {
  const { from, to } = inPixels(arrow, size);
  const angle = Math.atan2(from.y - to.y, from.x - to.x) + Math.PI / 4;
  return comingFrom({ x: arrow.to_x, y: arrow.to_y }, size, angle);
}

/** The same arrow, pointing elsewhere. @param {Arrow} arrow @param {Point} step @param {Size} size @returns {Arrow} */
export function arrowNudged(arrow, step, size) {
  const { from, to } = inPixels(arrow, size);
  const tip = nudged({ x: arrow.to_x, y: arrow.to_y }, step);
  return comingFrom(tip, size, Math.atan2(from.y - to.y, from.x - to.x));
}

/** @param {Point} tip @param {Size} size @param {number} angle of the tail, seen from the tip @returns {Arrow} */
function comingFrom(tip, { width, height }, angle) {
  const length = ARROW_SHARE * Math.min(width, height);
  return {
    from_x: within(tip.x + ((Math.cos(angle) * length) / width) * WHOLE),
    from_y: within(tip.y + ((Math.sin(angle) * length) / height) * WHOLE),
    to_x: within(tip.x),
    to_y: within(tip.y),
  };
}

/** @param {Arrow} arrow @param {Size} size */
const inPixels = (arrow, { width, height }) => ({
  from: { x: (arrow.from_x * width) / WHOLE, y: (arrow.from_y * height) / WHOLE },
  to: { x: (arrow.to_x * width) / WHOLE, y: (arrow.to_y * height) / WHOLE },
});

/**
 * An arrow as it is drawn over its picture: a shaft and a head, whatever the shape of the picture.
 *
 * @param {Arrow} arrow @param {Size} size of the picture [px]
 * @returns {{shaft: {x1: number, y1: number, x2: number, y2: number}, head: string, breadth: number}} in the picture's pixels
 */
export function drawnArrow(arrow, size) {
  const { from, to } = inPixels(arrow, size);
  const length = Math.hypot(to.x - from.x, to.y - from.y) || 1;
  const [x, y] = [(to.x - from.x) / length, (to.y - from.y) / length];
  const head = Math.max(length, ARROW_SHARE * Math.min(size.width, size.height) * 0.5) * HEAD_SHARE;
  const neck = { x: to.x - x * head, y: to.y - y * head };
  const half = head * HEAD_BREADTH;
  const corners = [
    [to.x, to.y],
    [neck.x - y * half, neck.y + x * half],
    [neck.x + y * half, neck.y - x * half],
  ];
  return {
    shaft: { x1: from.x, y1: from.y, x2: neck.x, y2: neck.y },
    head: corners.map(([left, top]) => `${left.toFixed(1)},${top.toFixed(1)}`).join(' '),
    breadth: half * 0.5,
  };
}
