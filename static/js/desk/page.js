// @ts-check
// What the parts of the wheel's page share.

/**
 * All that the wheel's page knows while it is open.
 *
 * @typedef {object} WheelPage
 * @property {HTMLElement} section  the wheel's face with all that belongs to it
 * @property {HTMLElement} scroll  the window over the face; it takes the keys
 * @property {import("../face/face.js").Face} face
 * @property {import("./desk.js").Desk} desk  has the pins
 * @property {import("./hands.js").Hands} hands
 * @property {import("../face/ring.js").Ring} ring
 * @property {import("../face/overlay.js").Overlay} overlay
 * @property {{channel: string, step: number}[]} missed  pins whose drops are missed as the machine plays
 * @property {string} done  what was done, in front of what is read out
 * @property {{seq: number, words: string}} last  the edit that came last
 * @property {number} judged  the edit that the verdict on the page is of
 * @property {HTMLAnchorElement | null} ledBy  the finding that led to where the cursor is
 */

/**
 * A part of the page that is always there.
 *
 * @param {string} selector
 */
export const part = (selector) => /** @type {HTMLElement} */ (document.querySelector(selector));

/** Writes a text where it is another: what stays the same is not read out again. @param {Element} element @param {string} text */
export function write(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/** Says why something was not done; nothing takes the words off. @param {string} why */
export function refuse(why) {
  const refused = part("[data-refused]");
  refused.hidden = !why;
  refused.textContent = why;
}
