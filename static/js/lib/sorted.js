// @ts-check
// Lists that are in order.

/**
 * The index of the first in a list, sorted by a number of each, that is not
 * below v.
 *
 * @template T
 * @param {T[]} sorted
 * @param {number} v
 * @param {(t: T) => number} numberOf
 */
export function firstNotBelow(sorted, v, numberOf = Number) {
  let lo = 0;
  let hi = sorted.length;
  while (lo < hi) {
    const mid = (lo + hi) >> 1;
    if (numberOf(sorted[mid]) < v) lo = mid + 1;
    else hi = mid;
  }
  return lo;
}
