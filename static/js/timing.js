// @ts-check
// The timing page: the handle on the tempo strip, and figures on trial.

const form = /** @type {HTMLFormElement} */ (document.getElementById("timing-form"));
const results = /** @type {HTMLElement} */ (document.getElementById("timing"));

join();
document.body.addEventListener("htmx:afterSettle", join);

// Fields of the form stand among the results. A change of one draws them anew;
// what is typed into another form does not.
results.addEventListener("change", (event) => {
  const field = /** @type {HTMLInputElement} */ (event.target);
  if (field.form === form || field.matches(".handle")) form.dispatchEvent(new Event("redraw"));
});

// The address holds what is on trial, so that it can be kept or sent on.
document.body.addEventListener("htmx:afterRequest", (event) => {
  const address = /** @type {CustomEvent} */ (event).detail.xhr.getResponseHeader("HX-Replace-Url");
  if (address) history.replaceState(null, "", address);
});

/** Joins a handle that was just put on the page to its field. */
function join() {
  const handle = /** @type {HTMLInputElement | null} */ (results.querySelector(".handle:not([data-joined])"));
  const field = /** @type {HTMLInputElement | null} */ (results.querySelector("#tempo"));
  if (!handle || !field) return;
  handle.dataset.joined = "true";
  handle.addEventListener("input", () => {
    field.value = handle.value;
    mark(Number(handle.value), handle);
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
  field.addEventListener("input", () => {
    const bpm = Number(field.value.replace(",", "."));
    if (!Number.isFinite(bpm)) return;
    handle.value = String(bpm);
    mark(bpm, handle);
  });
}

/**
 * Stands the mark of the chosen tempo on every strip.
 *
 * @param {number} bpm
 * @param {HTMLInputElement} handle
 */
function mark(bpm, handle) {
  const least = Number(handle.min);
  const share = Math.min(1, Math.max(0, (bpm - least) / (Number(handle.max) - least)));
  for (const at of results.querySelectorAll("[data-at]")) at.setAttribute("x", String(share * 1000 - 1));
}
