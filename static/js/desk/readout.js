// @ts-check
// The hole under the cursor or the pointer, in words and in an address.

import { placeSaid } from "../lib/places.js";
import { part, write } from "./page.js";

/**
 * @typedef {import("../face/face.js").Hole} Hole
 * @typedef {import("./page.js").WheelPage} WheelPage
 */

/**
 * "Bar C5, bar 1 beat 2, step 4: pin, unready."
 *
 * @param {import("./pins.js").Pins} pins
 * @param {Hole} hole
 * @param {string} kinds  of the findings there, with commas between
 */
export function readingOf(pins, { across, down }, kinds) {
  const channel = pins.turn.channels[across];
  const holds = pins.at(across, down);
  const held = pins.heldAim(across, down, holds);
  const rest = channel.resting ? ", resting" : "";
  const says = `${holds ? "pin" : "no pin"}${held === null ? "" : `, aim held at step ${held}`}${kinds ? `, ${kinds}` : ""}`;
  return `${channel.name}${rest}, ${placeSaid(pins.turn, down)}, step ${down}: ${says}.`;
}

/** @param {WheelPage} page @param {Hole} hole */
export function reading({ desk, face }, hole) {
  return readingOf(desk.pins, hole, face.marksAt.get(hole.across)?.get(hole.down) ?? "");
}

/** Reads a hole out, after what was done. @param {WheelPage} page @param {Hole} hole @param {string} done */
export function say(page, hole, done = "") {
  page.done = done;
  part("[data-readout]").textContent = done + reading(page, hole);
}

/** Reads the same hole out again where something of it has changed. @param {WheelPage} page */
export function sayAgain(page) {
  const hole = page.face.pointed ?? page.face.cursor;
  if (hole) write(part("[data-readout]"), page.done + reading(page, hole));
}

/**
 * The hole that an address names: "#bar-c5.12".
 *
 * @param {string} hash
 * @param {import("./pins.js").Pins} pins
 * @returns {Hole | null}
 */
export function holeNamed(hash, pins) {
  const [, id, step] = decodeURIComponent(hash).match(/^#(.+)\.(\d+)$/) ?? [];
  const across = pins.across.get(id ?? "");
  return across !== undefined && Number(step) < pins.turn.steps ? { across, down: Number(step) } : null;
}
