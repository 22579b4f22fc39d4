// @ts-check
// What is typed beside the wheel and concerns the desk: the tempo, the name of
// who edits, a mark.

import { part, refuse } from "./page.js";

/** @typedef {import("./page.js").WheelPage} WheelPage */

const nameKey = "pinwright name";

/** The tempo that a text names, or 0 where it names none that can be asked for. @param {string} text */
export function bpmOf(text) {
  const value = Number(text.trim().replace(",", "."));
  return text.trim() && value >= 1 && value <= 1000 ? value : 0;
}

/** The tempo goes to the desk, so that later verdicts are at it too. @param {WheelPage} page */
export function attachTempo({ desk }) {
  const field = /** @type {HTMLInputElement} */ (part("form.tempo #tempo"));
  desk.tempo = bpmOf(field.value);
  document.body.addEventListener("htmx:beforeRequest", (event) => {
    const { elt } = /** @type {CustomEvent} */ (event).detail;
    const bpm = bpmOf(field.value);
    if (elt.matches("form.tempo") && bpm && desk.askAt(bpm)) event.preventDefault();
  });
}

/** @param {WheelPage} page */
export function attachName({ desk }) {
  const field = /** @type {HTMLInputElement} */ (part("[data-name]"));
  try {
    desk.name = field.value = localStorage.getItem(nameKey) ?? "";
  } catch {
    // the browser keeps nothing: no name
  }
  field.addEventListener("change", () => {
    desk.name = field.value.trim();
    try {
      localStorage.setItem(nameKey, desk.name);
    } catch {
      // it holds until the page is closed
    }
    if (desk.open && !desk.pending.length) desk.opening();
  });
}

/** @param {WheelPage} page */
export function attachMarkForm({ desk }) {
  const form = /** @type {HTMLFormElement} */ (part("[data-mark-form]"));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const field = /** @type {HTMLInputElement} */ (form.querySelector("input"));
    const words = field.value.trim();
    if (!words) return refuse("The mark has no name; write one, such as “before the school visit”.");
    refuse("");
    desk.request({ do: "mark", words });
    field.value = "";
  });
}
