// @ts-check
// How fast the crank is turned: taps, and what the program says of them and of a
// sensor.

/**
 * @typedef {{state: string, says: string, problem: string, bpm: number | null, last_bpm: number | null,
 *   crank_rpm: number | null, wander: number | null, wander_se: number | null, wander_u: number | null,
 *   ripple: number | null, ripple_u: number | null, ripples: string, notes: string[] | null, spans: number, beats: number, slower: boolean,
 *   judged: string}} Says
 */

const mostTaps = 512;

/** Times of taps in seconds, a new row after a rest. */
export class Taps {
  constructor() {
    /** @type {number[]} */
    this.at = [];
  }

  /** @param {number} atS */
  tap(atS) {
    const n = this.at.length;
    const last = this.at[n - 1];
    const mean = n > 1 ? (last - this.at[0]) / (n - 1) : Infinity;
    if (n > 0 && (atS <= last || atS - last > Math.max(2 * mean, 3))) this.at = [];
    this.at.push(atS);
    if (this.at.length > mostTaps) this.at.shift();
  }

  /**
   * The address that measures them.
   *
   * @param {string} per turn or beat
   * @param {string} pinning its number, or empty
   */
  address(per, pinning) {
    return `/crank/tapped?${new URLSearchParams({ at: this.at.map((t) => t.toFixed(4)).join(","), per, pinning })}`;
  }
}

/**
 * Asks the program; what does not answer, or makes no sense, is an error with a
 * sentence.
 *
 * @param {string} address
 * @returns {Promise<Says>}
 */
export async function ask(address) {
  let response;
  let answer;
  try {
    response = await fetch(address, { headers: { Accept: "application/json" } });
    answer = await response.json();
  } catch {
    throw new Error("The program does not answer; what is shown is the last it said.");
  }
  if (!response.ok) throw new Error(answer.problem ?? "The program cannot say.");
  return answer;
}
