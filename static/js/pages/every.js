// @ts-check
// What every page needs: files dropped on it, menus that close, and fields that
// belong together.

import { onFilesDropped } from "../lib/drops.js";
import { closesElsewhere } from "../lib/menus.js";

for (const form of /** @type {NodeListOf<HTMLFormElement>} */ (document.querySelectorAll("form[data-drop]"))) {
  takeDrops(form);
}

for (const menu of /** @type {NodeListOf<HTMLDetailsElement>} */ (document.querySelectorAll("details.more, details.menu"))) {
  closesElsewhere(menu);
}

for (const slide of /** @type {NodeListOf<HTMLInputElement>} */ (document.querySelectorAll("input[data-slide]"))) {
  attachSlide(slide);
}

document.body.addEventListener("htmx:sendError", (event) => {
  const { target } = /** @type {CustomEvent} */ (event).detail;
  const problem = document.createElement("p");
  problem.className = "problem";
  problem.setAttribute("role", "alert");
  problem.textContent = "The program does not answer. Start it again if it was stopped, then load this page again.";
  target.replaceChildren(problem);
  document.getElementById("brief")?.replaceChildren("No verdict on this.");
});

/**
 * Sends files that are dropped anywhere on the page, or picked, and says of a
 * file that is too large or no MIDI file why it is not sent.
 *
 * @param {HTMLFormElement} form
 */
function takeDrops(form) {
  const input = /** @type {HTMLInputElement} */ (form.querySelector("input[type=file]"));
  const problem = /** @type {HTMLElement} */ (form.querySelector("[data-problem]"));
  const mostMiB = Number(form.dataset.most);

  /** @returns {boolean} */
  const check = () => {
    const large = [...(input.files ?? [])].find((f) => f.size > mostMiB * 2 ** 20);
    problem.hidden = !large;
    problem.textContent = large ? `${large.name} is larger than ${mostMiB} MiB; that is the most that is read.` : "";
    return !large;
  };
  input.addEventListener("change", check);
  form.addEventListener("submit", (event) => {
    if (!check()) event.preventDefault();
  });

  onFilesDropped(form, (data) => {
    input.files = data.files;
    if (check()) form.requestSubmit();
  });
}

/**
 * Keeps a slide and the field that it stands for at one value. The field is
 * what is sent.
 *
 * @param {HTMLInputElement} slide
 */
function attachSlide(slide) {
  const field = /** @type {HTMLInputElement} */ (document.querySelector(slide.dataset.slide ?? ""));
  slide.addEventListener("input", () => {
    field.value = slide.value;
  });
  field.addEventListener("input", () => {
    const value = Number(field.value.replace(",", "."));
    if (Number.isFinite(value)) slide.value = String(value);
  });
}
