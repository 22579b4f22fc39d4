// @ts-check
// How the desk stands: whether every edit is kept, what undo and redo would do,
// and the marks of the pinning.

import { counted } from "../lib/places.js";
import { part, write } from "./page.js";

/** @typedef {import("./page.js").WheelPage} WheelPage */

const slowMS = 1000; // an edit that is not kept by then is spoken of

/**
 * How the desk stands, in words.
 *
 * @param {{open: boolean, tried: number, waiting: number, late: boolean, clients: number}} desk
 *   tried: connections that failed; waiting: edits; late: they have waited long; clients: pages that have the pinning open
 */
export function standingWords({ open, tried, waiting, late, clients }) {
  const edits = waiting ? `${counted(waiting, "edit")} ${waiting === 1 ? "is" : "are"}` : "";
  if (!open && tried > 0) {
    return `The program does not answer; it is asked again and again. ${edits ? `${edits} kept in this browser, and will be sent when it is back.` : "What you do meanwhile is kept in this browser, and sent when it is back."} The verdict is the one before.`;
  }
  if (!open) return edits ? `${edits} about to be sent.` : "";
  if (waiting && late) return `${edits} being kept…`;
  return `Every edit is kept.${clients > 1 ? ` ${clients} pages have this pinning open.` : ""}`;
}

/** @param {WheelPage} page @returns {() => void} shows how the desk stands now */
export function attachStanding(page) {
  let slow = 0;
  let marksShown = "";
  return () => {
    const { desk, section } = page;
    const { open, pending, state } = desk;
    clearTimeout(slow);
    if (open && pending.length) slow = setTimeout(() => showLine(page, true), slowMS);
    else showLine(page, false);
    section.dataset.open = String(open);
    section.dataset.seq = String(desk.seq);
    section.dataset.waiting = String(pending.length);
    showTops(page);
    const marks = JSON.stringify(state.marks);
    if (marks === marksShown) return;
    marksShown = marks;
    page.overlay.offer(state.marks);
    part("[data-marks-list]").replaceChildren(...state.marks.map((mark) => markItem(page, mark)));
  };
}

/** @param {WheelPage} page @param {boolean} late */
function showLine({ desk }, late) {
  const line = part("[data-desk]");
  write(line, standingWords({ open: desk.open, tried: desk.tried, waiting: desk.pending.length, late, clients: desk.state.people }));
  line.classList.toggle("away", !desk.open && desk.tried > 0);
}

/** @param {WheelPage} page */
function showTops({ desk }) {
  for (const [act, words] of Object.entries(desk.tops)) {
    for (const button of document.querySelectorAll(`[data-act=${act}]`)) {
      button.setAttribute("aria-disabled", String(words === null));
      write(/** @type {HTMLElement} */ (button.querySelector("[data-of]")), words === null ? " nothing" : ` ${words}`);
    }
  }
}

/** @param {WheelPage} page @param {import("./desk.js").State["marks"][number]} mark */
function markItem({ desk }, mark) {
  const item = document.createElement("li");
  const words = document.createElement("span");
  words.textContent = `${mark.name}, ${mark.at}`;
  const button = (/** @type {string} */ text, /** @type {() => void} */ work) => {
    const element = document.createElement("button");
    element.type = "button";
    element.textContent = text;
    element.setAttribute("aria-label", `${text}: ${mark.name}`);
    element.addEventListener("click", work);
    return element;
  };
  item.append(
    words,
    button("Return to it", () => desk.request({ do: "return", seq: mark.seq })),
    button("Take it off", () => desk.request({ do: "unmark", mark: mark.id })),
  );
  return item;
}
