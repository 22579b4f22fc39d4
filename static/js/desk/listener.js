// @ts-check
// What the page does when its desk reports something.

import { part, refuse } from "./page.js";
import { Pins } from "./pins.js";
import { sayAgain } from "./readout.js";
import { readMarks } from "./verdict.js";

/**
 * @typedef {import("./page.js").WheelPage} WheelPage
 * @typedef {import("./desk.js").Edit} Edit
 */

const heardMS = 150; // after an edit, until the strikes are asked for again

/** The wheel as the program has it. @param {HTMLElement} section */
export async function readTurn(section) {
  const answer = await fetch(section.dataset.face ?? "");
  if (!answer.ok) throw new Error(await answer.text());
  return answer.json();
}

/** @returns {() => void} has the pinning that is heard asked for again, soon */
function hearingAgain() {
  let heard = 0;
  return () => {
    clearTimeout(heard);
    heard = setTimeout(() => {
      /** @type {any} */ (document.querySelector("[data-hear]"))?.hearing?.reload();
    }, heardMS);
  };
}

/**
 * An edit, as the page speaks of it.
 *
 * @param {Edit} edit
 * @param {boolean} mine
 */
export function editWords({ kind, by, words }, mine) {
  const how = kind === "undo" ? "taken back: " : kind === "redo" ? "brought again: " : "";
  return `${mine ? "" : `${by || "another page"}: `}${how}${words}`;
}

/**
 * @param {WheelPage} page
 * @param {{verdict: (v: import("./desk.js").Verdict) => void, state: () => void, asked: () => void}} shows
 * @returns {import("./desk.js").Listener}
 */
export function listenerOf(page, shows) {
  const hearAgain = hearingAgain();
  return {
    ...shows,
    refused: refuse,
    changed() {
      page.ring.count();
      page.face.redraw();
      page.overlay.changed();
      sayAgain(page);
    },
    edit(edit, mine) {
      page.last = { seq: edit.seq, words: editWords(edit, mine) };
      if (mine) refuse("");
      const back = edit.kind === "undo" || edit.kind === "redo";
      if (!mine || back) {
        page.done = !mine ? "" : edit.kind === "undo" ? "Taken back. " : "Brought again. ";
        sayAgain(page);
      }
      hearAgain();
    },
    async reread() {
      const turn = await readTurn(page.section);
      return { pins: new Pins(turn), seq: turn.seq };
    },
    replaced(before) {
      showOthers(page, before);
      hearAgain();
      page.last = { seq: page.desk.seq, words: "" };
    },
  };
}

/**
 * Shows other pins on the face; the cursor stays on its channel where that is
 * still there.
 *
 * @param {WheelPage} page
 * @param {Pins} before
 */
function showOthers(page, before) {
  const { face, hands } = page;
  const { pins } = page.desk;
  const { cursor } = face;
  const across = cursor ? pins.across.get(before.turn.channels[cursor.across].id) : undefined;
  face.cursor = cursor === null || across === undefined || cursor.down >= pins.turn.steps ? null : { across, down: cursor.down };
  face.turn = pins.turn;
  face.names.clear();
  hands.giveUp();
  face.measure();
  readMarks(page);
}

/** The wheel could not be read: the page says so where a hole is read out. @param {unknown} problem */
export function sayUnread(problem) {
  part("[data-readout]").textContent = `The wheel could not be read: ${problem instanceof Error ? problem.message : problem}. Load the page again.`;
}
