// @ts-check
// The page of a song that is set on the wheel.

import { SongMap } from "../lib/songmap.js";

/**
 * All that the page knows while it is open.
 *
 * @typedef {object} ArrangingPage
 * @property {number} changes  of the form, counted
 * @property {number} asked  how many there were when the program was asked last
 * @property {number} decisions  about changes of easing, counted
 * @property {boolean} countsOpen  whether the counts of notes were open when an answer came
 * @property {string} focused  CSS selectors of what had the focus before an answer was drawn, and of what stands around it
 * @property {{as: string, next: string[]} | null} decided  the last of them, until it is drawn: what as, and the changes that follow
 */

/** @type {ArrangingPage} */
const page = { changes: 0, asked: 0, decisions: 0, countsOpen: false, focused: "", decided: null };

const form = /** @type {HTMLFormElement} */ (document.getElementById("arranging"));
/** @param {string} name */
const field = (name) => /** @type {HTMLInputElement} */ (document.getElementById(name));
const strip = document.getElementById("song-map");

if (strip) new SongMap(strip, field("from_bar"), field("bars"));

// An answer to a form that has been changed since would put back what was
// changed: the next one is on its way.
form.addEventListener("input", () => {
  page.changes++;
});
document.body.addEventListener("htmx:beforeRequest", () => {
  page.asked = page.changes;
});
document.body.addEventListener("htmx:beforeSwap", (event) => {
  if (page.asked !== page.changes) /** @type {CustomEvent} */ (event).detail.shouldSwap = false;
});

// The address holds the form, so that it can be kept or sent on.
document.body.addEventListener("htmx:afterRequest", (event) => {
  const address = /** @type {CustomEvent} */ (event).detail.xhr.getResponseHeader("HX-Replace-Url");
  if (address) history.replaceState(null, "", address);
});

// Parts of the page that were opened stay open when their content is replaced.
document.body.addEventListener("htmx:oobBeforeSwap", (event) => {
  const { target, fragment } = /** @type {CustomEvent} */ (event).detail;
  keepOpen(target, fragment);
});
document.body.addEventListener("htmx:beforeSwap", () => {
  page.countsOpen = Boolean(document.querySelector("#counts > details[open]"));
});
document.body.addEventListener("htmx:afterSwap", () => {
  if (page.countsOpen) document.querySelector("#counts > details")?.setAttribute("open", "");
});

/**
 * Opens the folds of a new part of the page that are open in the old one.
 *
 * @param {ParentNode} was
 * @param {ParentNode} is
 */
function keepOpen(was, is) {
  for (const fold of /** @type {NodeListOf<HTMLElement>} */ (was.querySelectorAll("[id] > details[open]"))) {
    const same = is.querySelector(`#${CSS.escape(fold.parentElement?.id ?? "")} > details`);
    if (same) /** @type {HTMLDetailsElement} */ (same).open = true;
  }
}

// Nor is the focus lost with what is replaced: it goes to what stands in the place
// of what had it, or to what is around it.
document.body.addEventListener("htmx:beforeSwap", () => {
  page.focused = placesOf(document.activeElement);
});
document.body.addEventListener("htmx:afterSettle", () => {
  if (document.activeElement !== document.body || !page.focused || page.decided) return;
  for (const selector of page.focused.split(", ")) {
    const there = /** @type {HTMLElement | null} */ (document.querySelector(selector));
    if (!there) continue;
    if (there.tabIndex < 0 && !there.hasAttribute("tabindex")) there.tabIndex = -1;
    there.focus({ preventScroll: true });
    return;
  }
});

/**
 * What finds an element again once its part of the page has been replaced, the
 * nearest first.
 *
 * @param {Element | null} element
 * @returns {string} CSS selectors with commas between them; empty where there are none
 */
function placesOf(element) {
  if (!element || element === document.body) return "";
  const selectors = [];
  if (element.id) selectors.push(`#${CSS.escape(element.id)}`);
  for (let e = element.closest("[id]"); e && e.id !== "arranging"; e = e.parentElement?.closest("[id]") ?? null) {
    selectors.push(`#${CSS.escape(e.id)} > details > summary`, `#${CSS.escape(e.id)}`);
  }
  return selectors.join(", ");
}

// What is heard can be started and stopped from the bar too.
const heard = /** @type {HTMLElement | null} */ (document.querySelector("[data-hear]"));
const hearHere = /** @type {HTMLButtonElement | null} */ (document.querySelector("[data-hear-here]"));
if (heard && hearHere) {
  hearHere.hidden = false;
  hearHere.addEventListener("click", () => {
    document.querySelector("#sound > details")?.setAttribute("open", ""); // where the wheel stands, and what cannot be heard
    /** @type {HTMLElement | null} */ (heard.querySelector("[data-crank]"))?.click();
  });
  new MutationObserver(() => {
    hearHere.textContent = heard.dataset.turning ? "Stop" : "Hear it";
  }).observe(heard, { attributes: true, attributeFilter: ["data-turning"] });
}

// A stretch that is taken fills the fields; without a script its link does.
form.addEventListener("click", (event) => {
  const link = /** @type {HTMLElement} */ (event.target).closest("a[data-take-from]");
  if (!(link instanceof HTMLElement) || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  field("from_bar").value = link.dataset.takeFrom ?? "1";
  field("bars").value = "";
  field("from_bar").dispatchEvent(new Event("input", { bubbles: true }));
  field("from_bar").focus();
});

// What an answer says is wrong with a field is said of the field too.
document.body.addEventListener("htmx:afterSettle", () => {
  for (const says of /** @type {NodeListOf<HTMLElement>} */ (form.querySelectorAll("[data-wrong]"))) {
    field(says.dataset.wrong ?? "").ariaInvalid = String(says.textContent !== "");
  }
});

// A change that was decided on leaves its place in the list, or its buttons
// change. The focus goes to the change that follows, for the same decision; of
// those that followed it, the first that is still there when the rest has been
// solved again. No field changed, so what is heard is told that it is another.
form.addEventListener("click", (event) => {
  const button = /** @type {HTMLElement} */ (event.target).closest("button[data-decides]");
  const change = button?.closest("li");
  if (!(button instanceof HTMLButtonElement) || !change) return;
  const all = [...(change.parentElement?.children ?? [])].map((li) => li.id);
  const at = all.indexOf(change.id);
  page.decided = { as: button.name, next: [...all.slice(at + 1), ...all.slice(0, at).reverse()] };
});
document.body.addEventListener("htmx:afterSettle", () => {
  if (!page.decided) return;
  const { as, next } = page.decided;
  page.decided = null;
  if (document.activeElement === document.body) {
    const change = next.map((id) => document.getElementById(id)).find((li) => li);
    const button = change?.querySelector(`button[name="${as}"]`) ?? change?.querySelector("button");
    /** @type {HTMLElement | null} */ (button ?? document.getElementById("ease-title"))?.focus();
  }
  if (heard) heard.dataset.hear = `${heard.dataset.hear?.split("#")[0]}#${++page.decisions}`;
});
