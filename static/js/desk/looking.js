// @ts-check
// Looking at the face: from nearer or farther, with the pointer, with what was
// found or led to, and with the wheel while it turns.

import { find } from "../face/find.js";
import { prefersReducedMotion } from "../lib/reduced-motion.js";
import { part } from "./page.js";
import { reading, say } from "./readout.js";
import { readMarks } from "./verdict.js";

/**
 * @typedef {import("../face/face.js").Hole} Hole
 * @typedef {import("./page.js").WheelPage} WheelPage
 */

/**
 * Looks from nearer or farther; the buttons say how far one can go.
 *
 * @param {WheelPage} page
 * @param {number} near
 * @param {{hole: Hole, x: number, y: number}} [under]
 */
export function look({ face }, near, under) {
  face.look(near, under);
  /** @type {HTMLButtonElement} */ (part("[data-nearer]")).disabled = face.nearest;
  for (const name of ["farther", "whole"]) /** @type {HTMLButtonElement} */ (part(`[data-${name}]`)).disabled = face.near < 0;
}

/** @param {WheelPage} page */
export function attachLooking(page) {
  const { face } = page;
  part("[data-nearer]").addEventListener("click", () => look(page, face.near + 1));
  part("[data-farther]").addEventListener("click", () => look(page, face.near - 1));
  part("[data-whole]").addEventListener("click", () => look(page, -1));
}

/** While the pinning is heard the face goes with the wheel. @param {WheelPage} page */
export function attachTurning(page) {
  const { face, scroll } = page;
  document.addEventListener("wheelmissed", (event) => {
    page.missed = /** @type {CustomEvent} */ (event).detail.pins;
    readMarks(page);
  });
  document.addEventListener("wheelturn", (event) => {
    const { step, follow } = /** @type {CustomEvent} */ (event).detail;
    if (prefersReducedMotion()) face.turnTo(null, false);
    else face.turnTo(step, follow ?? face.follows);
  });
  scroll.addEventListener("letgo", () => document.dispatchEvent(new Event("wheelletgo")));
}

/** The hole under the mouse is read out. @param {WheelPage} page */
export function attachPointing(page) {
  const { face, scroll } = page;
  scroll.addEventListener("pointermove", (event) => {
    const box = scroll.getBoundingClientRect();
    const hole = event.pointerType === "touch" ? null : face.holeAt(event.clientX - box.left - scroll.clientLeft, event.clientY - box.top - scroll.clientTop);
    if (hole?.across === face.pointed?.across && hole?.down === face.pointed?.down) return;
    face.pointed = hole;
    if (hole) say(page, hole);
    face.redraw();
  });
  scroll.addEventListener("pointerleave", () => {
    face.pointed = null;
    if (face.cursor) say(page, face.cursor);
    face.redraw();
  });
}

/** @param {WheelPage} page */
export function attachFinding(page) {
  const { face, hands, scroll } = page;
  const form = /** @type {HTMLFormElement} */ (part("[data-find]"));
  const field = findField();
  const found = part("[data-found]");
  const kinds = [.../** @type {NodeListOf<HTMLOptionElement>} */ (document.querySelectorAll("#find-words [data-mark]"))].map((o) => o.value);
  const lanes = new Map([.../** @type {NodeListOf<HTMLOptionElement>} */ (document.querySelectorAll("#find-words [data-lane]"))].map((o) => [o.value, JSON.parse(o.dataset.lane ?? "[]")]));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const { hole, says } = find(field.value, face, kinds, channelsOf(lanes, page.desk.pins.across));
    found.textContent = says;
    if (!hole) return;
    if (face.near < 1) look(page, 1);
    hands.go(hole);
    found.textContent = reading(page, hole);
  });
  field.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    found.textContent = "";
    scroll.focus();
  });
}

/** The channels of each lane by their places on the face. @param {Map<string, string[]>} lanes @param {Map<string, number>} across */
function channelsOf(lanes, across) {
  return new Map([...lanes].map(([id, channels]) => [id, new Set(channels.flatMap((channel) => across.get(channel) ?? []))]));
}

export const findField = () => /** @type {HTMLInputElement} */ (part("[data-find] input"));

/** Links to holes, of findings and of what differs, lead to the face. @param {WheelPage} page */
export function attachLinks(page) {
  const { face, hands, desk, scroll, section } = page;
  document.addEventListener("click", (event) => {
    const link = /** @type {HTMLElement} */ (event.target).closest?.("a[data-channel]");
    if (!(link instanceof HTMLAnchorElement)) return;
    const across = desk.pins.across.get(link.dataset.channel ?? "");
    if (across === undefined) return;
    event.preventDefault();
    history.replaceState(null, "", link.hash);
    for (const other of document.querySelectorAll("a[data-channel][aria-current]")) other.removeAttribute("aria-current");
    link.setAttribute("aria-current", "true");
    page.ledBy = link;
    if (face.near < 1) look(page, 1);
    hands.go({ across, down: Number(link.dataset.step) });
    scroll.focus({ preventScroll: true });
    section.scrollIntoView({ block: "nearest" });
  });
}
