// @ts-check
// What is left to do at the wheel, once everything that was tapped here has
// arrived.

/**
 * @typedef {import("./taps.js").Stop} Stop
 * @typedef {import("./taps.js").Tap} Tap
 */

/**
 * The steps with something left to do, in the order of the wheel.
 *
 * @param {Stop[]} stops  as the program knows them
 * @param {Tap[]} waiting  taps that it has not taken yet, in their order
 * @param {{index: Map<string, number>, start: number, steps: number}} wheel  rows by channel; where the work starts
 * @returns {Stop[]}
 */
export function remaining(stops, waiting, { index, start, steps }) {
  /** @type {Map<number, Stop>} */
  const left = new Map(stops.map((s) => [s.step, s]));
  for (const tap of waiting) {
    const stop = left.get(tap.step);
    if (tap.do === "done" && stop) {
      const done = new Set(tap.channels?.map((c) => index.get(c)));
      const moves = stop.moves.filter((m) => !done.has(m.row));
      if (moves.length) left.set(tap.step, { ...stop, moves });
      else left.delete(tap.step);
    } else if (tap.do === "back" && tap.was) {
      const there = new Set(stop?.moves.map((m) => m.row));
      left.set(tap.step, { ...tap.was, moves: [...(stop?.moves ?? []), ...tap.was.moves.filter((m) => !there.has(m.row))] });
    }
  }
  const order = (/** @type {Stop} */ s) => (s.step - start + steps) % steps;
  return [...left.values()].sort((a, b) => order(a) - order(b));
}

/**
 * The step under the hand: the first from this end that was not left for later.
 *
 * @param {Stop[]} stops  in the order of the wheel
 * @param {"" | "forward" | "backward"} way
 * @param {number[]} later
 * @returns {Stop | undefined}
 */
export function underHand(stops, way, later) {
  const mine = way === "backward" ? [...stops].reverse() : stops;
  return mine.find((s) => !later.includes(s.step)) ?? mine[0];
}

/**
 * The next step from one that fits, as the wheel turns, or −1.
 *
 * @param {number} from
 * @param {number} steps
 * @param {(step: number) => boolean} fits
 */
export function nextStep(from, steps, fits) {
  for (let n = 0; n < steps; n++) {
    const step = (from + n) % steps;
    if (fits(step)) return step;
  }
  return -1;
}
