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
 * @property {Map<string, boolean>} folds  which folds were opened or shut, by what they are called
 */

/** @type {TimingPage} */
const page = { pressed: null, folds: new Map() };

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
  if (event.ctrlKey || event.metaKey || event.shiftKey) return;
  const pressed = /** @type {HTMLElement} */ (event.target).closest("a[data-tries], button[name=path], #at .warning a");
  if (!pressed) return;
  event.preventDefault();
  if (pressed.matches("#at .warning a")) return setTempo(/** @type {HTMLAnchorElement} */ (pressed));
  page.pressed = /** @type {HTMLElement} */ (pressed);
  /** @type {any} */ (window).htmx.ajax("GET", addressOf(page.pressed), { target: "#timing", swap: "innerHTML" });
});
document.body.addEventListener("htmx:afterSettle", () => {
  const { pressed } = page;
  if (!pressed || pressed.isConnected) return;
  const tried = [...results.querySelectorAll(".try-row[data-path] input[type=text]")];
  const next = pressed.matches("[id^=try-], button") ? tried.at(-1) : undefined;
  page.pressed = null;
  if (document.activeElement === document.body) /** @type {HTMLElement | null} */ (next ?? results.querySelector("#try-search"))?.focus();
  else document.activeElement?.scrollIntoView({ block: "nearest" });
});

// The address holds what is on trial, so that it can be kept or sent on.
document.body.addEventListener("htmx:afterRequest", (event) => {
  const address = /** @type {CustomEvent} */ (event).detail.xhr.getResponseHeader("HX-Replace-Url");
  if (address) history.replaceState(null, "", address);
});

// Folds stay as they were left when what they stand in is drawn again.
results.addEventListener("toggle", (event) => {
  const fold = /** @type {HTMLDetailsElement} */ (event.target);
  if (!fold.isConnected) return;
  page.folds.set(foldName(fold), fold.open);
  if (fold.open && fold.dataset.where) drawWhere(fold);
}, true);
document.body.addEventListener("htmx:afterSwap", () => {
  for (const fold of results.querySelectorAll("details")) fold.open = page.folds.get(foldName(fold)) ?? fold.open;
});

results.addEventListener("input", (event) => {
  const search = /** @type {HTMLInputElement} */ (event.target);
  if (search.id === "try-search") find(search.value);
});

/**
 * Draws where on the machine a limit or a finding is, once.
 *
 * @param {HTMLDetailsElement} fold
 */
function drawWhere(fold) {
  const address = fold.dataset.where;
  delete fold.dataset.where;
  /** @type {any} */ (window).htmx.ajax("GET", address, { target: fold.querySelector(".where-drawn"), swap: "innerHTML" });
}

/**
 * What a fold is called, without the numbers that change with a tempo.
 *
 * @param {HTMLDetailsElement} fold
 */
function foldName(fold) {
  return fold.dataset.fold ?? (fold.querySelector("summary")?.textContent ?? "").replace(/\d+/g, "");
}

/**
 * Where a link or a button of the form leads.
 *
 * @param {HTMLElement} pressed
 */
function addressOf(pressed) {
  if (pressed instanceof HTMLAnchorElement) return pressed.href;
  const asked = new URLSearchParams();
  for (const [name, value] of new FormData(form, pressed)) asked.append(name, String(value));
  return `${form.action}?${asked}`;
}

/**
 * Sets the tempo that a warning proposes, on the handle.
 *
 * @param {HTMLAnchorElement} link
 */
function setTempo(link) {
  const field = /** @type {HTMLInputElement} */ (results.querySelector("#tempo"));
  field.value = new URL(link.href).searchParams.get("tempo") ?? field.value;
  field.dispatchEvent(new Event("input", { bubbles: true }));
  field.dispatchEvent(new Event("change", { bubbles: true }));
  /** @type {HTMLElement | null} */ (results.querySelector(".handle"))?.focus();
}

/**
 * Shows the figures whose names hold all words.
 *
 * @param {string} text
 */
function find(text) {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  const buttons = /** @type {HTMLButtonElement[]} */ ([...results.querySelectorAll(".figure-group button")]);
  let found = 0;
  for (const button of buttons) {
    const name = (button.textContent ?? "").toLowerCase();
    const fits = words.every((word) => name.includes(word));
    /** @type {HTMLElement} */ (button.parentElement).hidden = !fits;
    if (fits) found += 1;
  }
  for (const group of /** @type {NodeListOf<HTMLElement>} */ (results.querySelectorAll(".figure-group"))) group.hidden = !group.querySelector("li:not([hidden])");
  const others = /** @type {HTMLDetailsElement | null} */ (results.querySelector(".figure-choice details"));
  if (others) others.open = words.length > 0;
  const said = results.querySelector("#try-found");
  if (said) said.textContent = words.length === 0 ? "" : found === 1 ? "1 figure" : `${found} figures`;
}

/** Takes the tempo along to wherever the page leads, and to what it keeps. */
function carryTempo() {
  const tempo = /** @type {HTMLInputElement} */ (results.querySelector("#tempo")).value;
  for (const link of /** @type {NodeListOf<HTMLAnchorElement>} */ (results.querySelectorAll('a[href*="tempo="]:not(svg a, .warning a)'))) {
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
