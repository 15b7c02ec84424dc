// Division and roots of whole numbers that say which way they round. Twin: server/spanwalk/rules/integer_math.py.

/**
 * Quotient, rounded down, of numbers of any size.
 * @param {number | bigint} dividend any sign @param {number | bigint} divisor above 0 @returns {number}
 */
export function floorDiv(dividend, divisor) {
  const [a, b] = [BigInt(dividend), BigInt(divisor)];
  return Number((a - (((a % b) + b) % b)) / b);
}

/**
 * Quotient, rounded up, of numbers of any size.
 * @param {number | bigint} dividend any sign @param {number | bigint} divisor above 0 @returns {number}
 */
export const ceilDiv = (dividend, divisor) => 0 - floorDiv(-BigInt(dividend), divisor);

/**
 * Square root, rounded up.
 * @param {number | bigint} square 0 or more @returns {number}
 */
export function ceilSqrt(square) {
  const wanted = BigInt(square);
  let root = BigInt(Math.floor(Math.sqrt(Number(wanted))));
  while (root * root > wanted) root -= 1n;
  while ((root + 1n) * (root + 1n) <= wanted) root += 1n;
  return Number(root * root === wanted ? root : root + 1n);
}
