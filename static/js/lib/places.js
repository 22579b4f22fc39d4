// @ts-check
// Places on the turn in words.

/** @typedef {{steps: number, steps_per_beat: number, beats_per_bar: number}} Grid */

/** @param {number} a @param {number} b @returns {number} */
const gcd = (a, b) => (b ? gcd(b, a % b) : a);

/**
 * "bar 3 beat 2", or "bar 3 beat 2 +1/4" a quarter of a beat later.
 *
 * @param {Grid} grid
 * @param {number} step
 */
export function placeOf({ steps_per_beat: beat, beats_per_bar: beats }, step) {
  const past = step % beat;
  const bar = beat * beats;
  const d = gcd(past, beat);
  return `bar ${Math.floor(step / bar) + 1} beat ${Math.floor((step % bar) / beat) + 1}${past ? ` +${past / d}/${beat / d}` : ""}`;
}

/**
 * The same as it is read out.
 *
 * @param {Grid} grid
 * @param {number} step
 */
export function placeSaid(grid, step) {
  const past = step % grid.steps_per_beat;
  return `${placeOf(grid, step - past)}${past ? `, ${past} of ${grid.steps_per_beat} steps into it` : ""}`;
}

/** 4096 and 10,000: digits are parted from five on. @param {number} n */
export const figure = (n) => n.toLocaleString("en", { useGrouping: "min2" });

/** @param {number} n @param {string} one @param {string} [many] */
export const counted = (n, one, many = `${one}s`) => `${figure(n)} ${n === 1 ? one : many}`;
