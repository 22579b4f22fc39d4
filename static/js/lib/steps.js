// @ts-check
// What the pages at the wheel have in common, step by step: the network in words,
// the step in view, the focus with the work, one touch for one step.

/** @typedef {import("./taps.js").Taps} Taps */

/**
 * Shows in words whether what is tapped arrives, and what was refused.
 *
 * @param {HTMLElement} page
 * @param {Taps} taps
 */
export function showNetwork(page, taps) {
  const says = /** @type {HTMLElement} */ (page.querySelector("[data-network]"));
  const words = taps.words();
  if (says.textContent !== words) says.textContent = words;
  says.classList.toggle("away", taps.program !== "asking" && taps.program !== "here");
  page.dataset.waiting = String(taps.waiting.length);
}

/**
 * @param {HTMLElement} page
 * @param {string} why
 */
export function showRefusal(page, why) {
  const says = document.createElement("p");
  says.className = "problem";
  says.setAttribute("role", "alert");
  says.textContent = `One tap was not kept: ${why}`;
  page.querySelector("[data-refused]")?.append(says);
}

/**
 * Loads the page again, to go on at a part of it.
 *
 * @param {"result" | "step"} part
 */
export function reopenAt(part) {
  history.replaceState(null, "", `#${part}`);
  location.reload();
}

/** Sets the focus on the part of the page that its address names, once that is there. */
export function focusOnPart() {
  document.getElementById(location.hash.slice(1))?.focus();
}

const awayPX = 68; // the line that says the program is away, at the top

/**
 * Brings what is to be done at a step into view, above the bar at the foot, or
 * its beginning where that is too much. What is asked once more is brought into
 * view as it opens.
 *
 * @param {HTMLElement} page
 * @returns {() => void} to be called when another step is shown
 */
export function keepInView(page) {
  const sure = page.querySelector("details.sure");
  sure?.addEventListener("toggle", () => sure.scrollIntoView({ block: "nearest" }));
  const first = page.querySelector(".now");
  const last = page.querySelector("[data-touch]") ?? first;
  const bar = page.querySelector(".hand-bar");
  return () => {
    if (!first || !last || !bar) return;
    const high = last.getBoundingClientRect().bottom - first.getBoundingClientRect().top;
    const fits = high < bar.getBoundingClientRect().top - awayPX;
    if (fits) last.scrollIntoView({ block: "nearest" });
    first.scrollIntoView({ block: fits ? "nearest" : "start" });
  };
}

const armMS = 400;

/**
 * A button that does its work once for each step that is shown: a second touch
 * that comes at once was meant for the step before.
 *
 * @param {HTMLElement} button
 * @param {() => void} work
 * @returns {() => void} to be called when another step is shown
 */
export function oncePerStep(button, work) {
  let armed = -Infinity;
  const shown = () => {
    armed = performance.now() + armMS;
    button.dataset.armed = "no";
    setTimeout(() => performance.now() >= armed && (button.dataset.armed = "yes"), armMS + 1);
  };
  button.addEventListener("click", () => performance.now() >= armed && work());
  button.addEventListener("keydown", (event) => event.repeat && event.preventDefault()); // a key held down is one touch
  return shown;
}
