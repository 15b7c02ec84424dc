// Symbols that may be in a picture: of the corner squares found, three that stand as a symbol's do, or two and where the third must be.

import { fitOf, laidBest } from './scan_worker_sampling.js';
import { sideOf, VERSIONS } from './scan_worker_symbol.js';

/**
 * @typedef {import('./scan_worker_pictures.js').Grey} Grey
 * @typedef {import('./scan_worker_corners.js').Corner} Corner
 * @typedef {import('./scan_worker_sampling.js').Laid} Laid
 * @typedef {{x: number, y: number}} Point
 */

const FIT_LEAST = 0.35;
/** So well three corners fit before they are moved when there is no need to try two. */
const FIT_GOOD = 0.5;
/** After moving, there is no need to try others. */
const FIT_SURE = 0.85;
/** Of a symbol's side, how near its corners are to those of the same one. */
const SAME_SYMBOL = 0.06;
/** Laid symbols that are moved about to fit, and that are read. */
const [TRIED_MOST, READ_MOST] = [4, 2];
/** How far the middles of two corner squares may be from what a version says. */
const [NEAR, FAR] = [0.72, 1.35];

/** The corners of a symbol whose corner squares have their middles there. @param {Point} first upper left @param {Point} right @param {Point} down @param {number} version */
function cornersFrom(first, right, down, version) {
  const side = sideOf(version);
  const apart = side - 7;
  const [ax, ay] = [(right.x - first.x) / apart, (right.y - first.y) / apart];
  const [dx, dy] = [(down.x - first.x) / apart, (down.y - first.y) / apart];
  /** @param {number} u @param {number} v */
  const at = (u, v) => [
    first.x + 0.5 + (u - 3.5) * ax + (v - 3.5) * dx,
    first.y + 0.5 + (u - 3.5) * ay + (v - 3.5) * dy,
  ];
  return [...at(0, 0), ...at(side, 0), ...at(side, side), ...at(0, side)];
}

/** Versions that a distance goes with. @param {number} modules @returns {number[]} */
const versionsAt = (modules) =>
  VERSIONS.filter((version) => {
    const share = modules / (sideOf(version) - 7);
    return share > NEAR && share < FAR;
  });

/** Three corners, the second to the right of the first, the third below. @param {Corner[]} found @returns {[Point, Point, Point, number][]} each with its side in modules */
function threes(found) {
  /** @type {[Point, Point, Point, number][]} */
  const all = [];
  for (const first of found)
    for (const right of found)
      for (const down of found) {
        if (first === right || first === down || right === down) continue;
        const [ax, ay, dx, dy] = [right.x - first.x, right.y - first.y, down.x - first.x, down.y - first.y];
        const [along, below] = [Math.hypot(ax, ay), Math.hypot(dx, dy)];
        const sine = (ax * dy - ay * dx) / (along * below);
        if (sine < 0.8 || Math.max(along / below, below / along) > 2.4) continue;
        const modules = [first, right, down].map(({ module }) => module);
        if (Math.max(...modules) > 1.6 * Math.min(...modules)) continue;
        all.push([
          first,
          right,
          down,
          Math.sqrt(along * below) / ((modules[0] + modules[1] + modules[2]) / 3),
        ]);
      }
  return all;
}

/** Two corners, and a third where a square has it. @param {Corner[]} found @returns {[Point, Point, Point, number][]} */
function twos(found) {
  /** @type {[Point, Point, Point, number][]} */
  const all = [];
  for (const a of found)
    for (const b of found) {
      if (a === b || Math.max(a.module, b.module) > 1.4 * Math.min(a.module, b.module)) continue;
      const [x, y] = [b.x - a.x, b.y - a.y];
      const along = Math.hypot(x, y) / ((a.module + b.module) / 2);
      all.push([a, b, { x: a.x - y, y: a.y + x }, along]);
      all.push([a, { x: a.x + y, y: a.y - x }, b, along]);
      const first = { x: (a.x + b.x + y) / 2, y: (a.y + b.y - x) / 2 };
      all.push([first, a, b, along / Math.SQRT2]);
    }
  return all;
}

/**
 * Symbols laid over a picture where they fit best, the best first.
 *
 * @param {Grey} grey
 * @param {Corner[]} found corner squares in it
 * @returns {Laid[]}
 */
export function symbolsAt(grey, found) {
  const whole = fitted(grey, threes(found));
  const tried =
    (whole[0]?.fit ?? 0) > FIT_GOOD ? whole : [...whole, ...fitted(grey, twos(found))].sort(byFit);
  /** @type {Laid[]} */
  const laid = [];
  for (const { corners, version } of apart(tried).slice(0, TRIED_MOST)) {
    laid.push(laidBest(grey, corners, version));
    if (laid[laid.length - 1].fit > FIT_SURE) break;
  }
  return apart(laid.filter(({ fit }) => fit > FIT_LEAST).sort(byFit)).slice(0, READ_MOST);
}

/** @param {Laid} a @param {Laid} b */
const byFit = (a, b) => b.fit - a.fit;

/** How well symbols fit, the best first. @param {Grey} grey @param {[Point, Point, Point, number][]} all @returns {Laid[]} */
const fitted = (grey, all) =>
  all
    .flatMap(([first, right, down, modules]) =>
      versionsAt(modules).map((version) => {
        const corners = cornersFrom(first, right, down, version);
        return { corners, version, fit: fitOf(grey, corners, version) };
      }),
    )
    .sort(byFit);

/** Those that are not one of a better fit over again. @param {Laid[]} all @returns {Laid[]} */
const apart = (all) =>
  all.filter(
    ({ corners, version }, at) =>
      !all
        .slice(0, at)
        .some(
          (better) =>
            better.version === version &&
            Math.max(
              ...corners.map((each, place) =>
                place === 4 || place === 5 ? 0 : Math.abs(each - better.corners[place]),
              ),
            ) <
              SAME_SYMBOL * Math.hypot(corners[2] - corners[0], corners[3] - corners[1]),
        ),
  );
