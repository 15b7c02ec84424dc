// At how many points the light of a room is read. Twin: server/spanwalk/rules/light/light_grid.py.

const GRID_MOST_M = 10;
const TWICE = 2;

/**
 * Largest cell of a grid of measuring points, p = 0.2 · 5^(log10 d), at most 10 m (EN 12464-1).
 *
 * @param {number} sideM the longer side of the area; the shorter one where the longer is twice as long or more [m]
 */
export const cellM = (sideM) => Math.min(0.2 * 5 ** Math.log10(sideM), GRID_MOST_M);

/** How many points a room is to be read at, along its longer side and across it. @param {number} lengthM @param {number} widthM */
export function grid(lengthM, widthM) {
  const [longer, shorter] = [Math.max(lengthM, widthM), Math.min(lengthM, widthM)];
  const cell = cellM(longer / shorter >= TWICE ? shorter : longer);
  const [along, across] = [longer, shorter].map((side) => Math.max(1, Math.round(side / cell)));
  return { along, across, cell_m: cell };
}
