// @ts-check
// The list of holes that two have changed, with a button for either's pin.

import { placeOf } from "../lib/places.js";
import { part } from "./page.js";

/**
 * @typedef {import("./page.js").WheelPage} WheelPage
 * @typedef {import("./asked.js").Asked} Asked
 */

const listedMost = 100;

/** @param {import("./pins.js").InHole} holds */
const holdsWords = (holds) => (!holds ? "no pin" : holds.aim === undefined ? "a pin" : `a pin aimed at step ${holds.aim}`);

/**
 * @param {import("./pins.js").Pins} pins
 * @param {Asked} hole
 * @param {import("./pins.js").InHole} kept  what the program holds there
 */
export function askedWords({ turn, across }, hole, kept) {
  const at = across.get(hole.channel);
  return `${at === undefined ? hole.channel : turn.channels[at].name}, ${placeOf(turn, hole.step)}: you want ${holdsWords(hole.now)}; ${hole.by || "another page"} left ${holdsWords(kept)}.`;
}

/** @param {WheelPage} page @returns {() => void} shows what is asked now */
export function attachAsked(page) {
  const asked = part("[data-asked]");
  const { desk } = page;
  asked.querySelector("[data-all-mine]")?.addEventListener("click", () => desk.answer([...desk.asked], true));
  asked.querySelector("[data-all-theirs]")?.addEventListener("click", () => desk.answer([...desk.asked], false));
  return () => {
    const list = /** @type {HTMLElement} */ (asked.querySelector("ul"));
    asked.hidden = !desk.asked.length;
    const hadFocus = asked.contains(document.activeElement);
    list.replaceChildren(...desk.asked.slice(0, listedMost).map((hole) => askedItem(page, hole)));
    if (hadFocus) (desk.asked.length ? list.querySelector("button") : page.scroll)?.focus();
  };
}

/** @param {WheelPage} page @param {Asked} hole */
function askedItem({ desk }, hole) {
  const item = document.createElement("li");
  const text = document.createElement("span");
  text.textContent = askedWords(desk.pins, hole, desk.merging.kept(hole.channel, hole.step));
  const button = (/** @type {string} */ label, /** @type {boolean} */ mine) => {
    const element = document.createElement("button");
    element.type = "button";
    element.textContent = label;
    element.addEventListener("click", () => desk.answer([hole], mine));
    return element;
  };
  item.append(text, button("Keep mine", true), button("Keep theirs", false));
  return item;
}
