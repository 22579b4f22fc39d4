// @ts-check
// The tempo strip: a handle that chooses a tempo on it, and the mark of that tempo
// on every strip of the page.

/**
 * A stretch of tempo at which no rule is broken.
 *
 * @typedef {object} Stretch
 * @property {number} from    in BPM
 * @property {number} to
 * @property {boolean} island reached only through tempos that are not safe
 * @property {boolean} close  above the red line
 */

/**
 * What a tempo is, for those who do not see the strip.
 *
 * @param {number} bpm
 * @param {Stretch[]} safe
 * @param {boolean} [unknown]  nothing can be said of any tempo
 */
export function tempoWords(bpm, safe, unknown = false) {
  const on = safe.find(({ from, to }) => bpm >= from && bpm <= to);
  return `${bpm} BPM, ${unknown ? "unknown" : wordsOf(on)}`;
}

/** @param {Stretch | undefined} on */
function wordsOf(on) {
  if (!on) return "not safe";
  if (on.island) return "no rule broken, but reached only through tempos that are not safe";
  return on.close ? "close" : "trusted";
}

/**
 * Where a tempo stands between two others, as a share of 1; outside them at the end.
 *
 * @param {number} bpm
 * @param {number} least
 * @param {number} most
 */
export function shareOf(bpm, least, most) {
  return Math.min(1, Math.max(0, (bpm - least) / (most - least)));
}

/**
 * Joins a handle that was just put on the page to its strips.
 *
 * @param {ParentNode} root                the strips with the chosen tempo
 * @param {(bpm: number) => void} choose   is called when the handle moves
 */
export function joinStrip(root, choose) {
  const handle = /** @type {HTMLInputElement | null} */ (root.querySelector(".strip .handle:not([data-joined])"));
  if (!handle) return;
  handle.dataset.joined = "true";
  markTempo(root, Number(handle.value));
  handle.addEventListener("input", () => {
    markTempo(root, Number(handle.value));
    choose(Number(handle.value));
  });
}

/**
 * Stands the handle and the mark of the chosen tempo on every strip.
 *
 * @param {ParentNode} root
 * @param {number} bpm
 */
export function markTempo(root, bpm) {
  for (const strip of /** @type {NodeListOf<HTMLElement>} */ (root.querySelectorAll("[data-strip]"))) {
    const share = shareOf(bpm, Number(strip.dataset.min), Number(strip.dataset.max));
    for (const at of strip.querySelectorAll("[data-at]")) at.setAttribute("x", `${share * 100}%`);
    const own = strip.dataset.own !== "" && bpm === Number(strip.dataset.own);
    strip.classList.toggle("at-own", own);
    const text = /** @type {SVGTextElement | null} */ (strip.querySelector("[data-at-text]"));
    if (text) {
      text.textContent = `${own ? "own tempo" : text.dataset.name} ${Math.round(bpm * 10) / 10}`;
      text.setAttribute("text-anchor", share < 0.5 ? "start" : "end");
      text.setAttribute("dx", share < 0.5 ? "5" : "-5");
    }
    const handle = /** @type {HTMLInputElement | null} */ (strip.querySelector(".handle"));
    if (handle) {
      if (Number(handle.value) !== bpm) handle.value = String(bpm);
      handle.ariaValueText = tempoWords(bpm, stretches(strip), strip.querySelector(".unknown-part") !== null);
    }
  }
}

/**
 * The stretches without a broken rule that a strip shows.
 *
 * @param {Element} strip
 * @returns {Stretch[]}
 */
function stretches(strip) {
  const drawn = /** @type {SVGRectElement[]} */ ([...strip.querySelectorAll("rect[data-from]")]);
  return drawn.map((rect) => ({ from: Number(rect.dataset.from), to: Number(rect.dataset.to), island: rect.matches(".island"), close: rect.matches(".close-part") }));
}
