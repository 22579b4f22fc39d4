// @ts-check
// The timing page: the handle on the tempo strip, and figures on trial.

import { joinStrip, markTempo } from "../lib/strip.js";

const form = /** @type {HTMLFormElement} */ (document.getElementById("timing-form"));
const results = /** @type {HTMLElement} */ (document.getElementById("timing"));

/**
 * All that the page knows while it is open.
 *
 * @typedef {object} TimingPage
 * @property {HTMLElement | null} pressed  what put a figure on trial, until that is drawn
 */

/** @type {TimingPage} */
const page = { pressed: null };

attach();
document.body.addEventListener("htmx:afterSettle", attach);

// Fields of the form stand among the results. A figure on trial draws them again;
// a tempo or a stretch that was settled on, the lane alone: what is under the
// hand stays. What is typed into another form draws nothing.
results.addEventListener("change", (event) => {
  const field = /** @type {HTMLInputElement} */ (event.target);
  if (field.matches("#tempo, #handle")) carryTempo();
  if (field.matches("#tempo, #handle, .lane-choice *")) form.dispatchEvent(new Event("lane"));
  else if (field.form === form) form.dispatchEvent(new Event("redraw"));
});

// A trial is drawn in place. The focus stays on what was pressed; where that has
// gone, it moves to the figure that is now on trial.
results.addEventListener("click", (event) => {
  const link = /** @type {HTMLElement} */ (event.target).closest("a[data-tries]");
  if (!(link instanceof HTMLAnchorElement) || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  page.pressed = link;
  /** @type {any} */ (window).htmx.ajax("GET", link.href, { target: "#timing", swap: "innerHTML" });
});
document.body.addEventListener("htmx:afterSettle", () => {
  const { pressed } = page;
  if (!pressed || pressed.isConnected) return;
  const tried = [...results.querySelectorAll(".try-row[data-path] input[type=text]")];
  const next = pressed.id.startsWith("try-") ? tried.at(-1) : undefined;
  page.pressed = null;
  if (document.activeElement === document.body) /** @type {HTMLElement | null} */ (next ?? results.querySelector("#try-path"))?.focus();
  else document.activeElement?.scrollIntoView({ block: "nearest" });
});

// The address holds what is on trial, so that it can be kept or sent on.
document.body.addEventListener("htmx:afterRequest", (event) => {
  const address = /** @type {CustomEvent} */ (event).detail.xhr.getResponseHeader("HX-Replace-Url");
  if (address) history.replaceState(null, "", address);
});

/** Takes the tempo along to wherever the page leads, and to what it keeps. */
function carryTempo() {
  const tempo = /** @type {HTMLInputElement} */ (results.querySelector("#tempo")).value;
  for (const link of /** @type {NodeListOf<HTMLAnchorElement>} */ (results.querySelectorAll('a[href*="tempo="]:not(svg a)'))) {
    const to = new URL(link.href);
    to.searchParams.set("tempo", tempo);
    link.href = to.href;
  }
  for (const kept of /** @type {NodeListOf<HTMLInputElement>} */ (results.querySelectorAll("form.keep [name=tempo]"))) kept.value = tempo;
}

/** Joins a handle that was just put on the page to its field. */
function attach() {
  const field = /** @type {HTMLInputElement | null} */ (results.querySelector("#tempo"));
  if (!field || !results.querySelector(".handle:not([data-joined])")) return;
  joinStrip(results, (bpm) => {
    field.value = String(bpm);
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
  field.addEventListener("input", () => {
    const bpm = Number(field.value.replace(",", "."));
    if (field.value.trim() && Number.isFinite(bpm)) markTempo(results, bpm);
  });
}
