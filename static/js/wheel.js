// @ts-check
// The wheel page: the face, the cursor on it, and the verdict beside it.

import { Face, firstNotBelow } from "./face.js";
import { prefersReducedMotion } from "./reduced-motion.js";

/** @typedef {import("./face.js").Hole} Hole */

/**
 * Draws the wheel and joins it to the verdict.
 *
 * @param {HTMLElement} section
 */
export async function openFace(section) {
  const part = (/** @type {string} */ selector) => /** @type {HTMLElement} */ (section.querySelector(selector));
  const scroll = part(".face-scroll");
  const readout = part("[data-readout]");
  let turn;
  try {
    const answer = await fetch(section.dataset.face ?? "");
    if (!answer.ok) throw new Error(await answer.text());
    turn = await answer.json();
  } catch (problem) {
    readout.textContent = `The wheel could not be read: ${problem instanceof Error ? problem.message : problem}. Load the page again.`;
    return;
  }
  await document.fonts.ready;
  const face = new Face(scroll, part(".face-size"), /** @type {HTMLCanvasElement} */ (part("canvas")), turn);
  /** @type {Map<string, number>} */
  const across = new Map(turn.channels.map((/** @type {{id: string}} */ c, /** @type {number} */ i) => [c.id, i]));

  /** @type {{channel: string, step: number}[]} */
  let missed = [];
  const readMarks = () => {
    const verdict = /** @type {HTMLElement | null} */ (document.querySelector("#verdict [data-marks]"));
    /** @type {[string, string, number[]][]} */
    const rows = JSON.parse(verdict?.dataset.marks ?? "[]");
    const found = rows.flatMap(([kind, id, steps]) => steps.map((step) => ({ kind, channel: across.get(id) ?? -1, step })));
    const notHeard = missed.map(({ channel, step }) => ({ kind: "missed", channel: across.get(channel) ?? -1, step }));
    face.setMarks([...found, ...notHeard]);
  };
  readMarks();
  document.body.addEventListener("htmx:afterSettle", readMarks);

  // While the pinning is heard the face goes with the wheel.
  document.addEventListener("wheelmissed", (event) => {
    missed = /** @type {CustomEvent} */ (event).detail.pins;
    readMarks();
  });
  document.addEventListener("wheelturn", (event) => {
    const { step, follow } = /** @type {CustomEvent} */ (event).detail;
    if (prefersReducedMotion()) face.turnTo(null, false);
    else face.turnTo(step, follow ?? face.follows);
  });
  scroll.addEventListener("letgo", () => document.dispatchEvent(new Event("wheelletgo")));

  const place = (/** @type {number} */ step) => {
    const beat = turn.steps_per_beat;
    const bar = beat * turn.beats_per_bar;
    const past = step % beat;
    const within = past ? `, ${past} of ${beat} steps into it` : "";
    return `bar ${Math.floor(step / bar) + 1} beat ${Math.floor((step % bar) / beat) + 1}${within}`;
  };
  const say = (/** @type {Hole} */ hole) => {
    const channel = turn.channels[hole.across];
    const at = firstNotBelow(channel.pins, hole.down);
    const pin = channel.pins[at] === hole.down ? "pin" : "no pin";
    const kinds = face.marksAt.get(hole.across)?.get(hole.down);
    const rest = channel.resting ? ", resting" : "";
    readout.textContent = `${channel.name}${rest}, ${place(hole.down)}, step ${hole.down}: ${pin}${kinds ? `, ${kinds}` : ""}.`;
  };
  const go = (/** @type {Hole} */ hole) => {
    face.moveTo(hole);
    say(hole);
  };

  const nearer = /** @type {HTMLButtonElement} */ (part("[data-nearer]"));
  const farther = /** @type {HTMLButtonElement} */ (part("[data-farther]"));
  const whole = /** @type {HTMLButtonElement} */ (part("[data-whole]"));
  const look = (/** @type {number} */ near) => {
    face.look(near);
    nearer.disabled = face.nearest;
    farther.disabled = whole.disabled = face.near < 0;
  };
  nearer.addEventListener("click", () => look(face.near + 1));
  farther.addEventListener("click", () => look(face.near - 1));
  whole.addEventListener("click", () => look(-1));

  scroll.addEventListener("pointermove", (event) => {
    const box = scroll.getBoundingClientRect();
    const hole = face.holeAt(event.clientX - box.left - scroll.clientLeft, event.clientY - box.top - scroll.clientTop);
    if (hole?.across === face.pointed?.across && hole?.down === face.pointed?.down) return;
    face.pointed = hole;
    if (hole) say(hole);
    face.redraw();
  });
  scroll.addEventListener("pointerleave", () => {
    face.pointed = null;
    if (face.cursor) say(face.cursor);
    face.redraw();
  });
  scroll.addEventListener("click", (event) => {
    const box = scroll.getBoundingClientRect();
    const hole = face.holeAt(event.clientX - box.left - scroll.clientLeft, event.clientY - box.top - scroll.clientTop);
    if (hole) go(hole);
  });
  /** @type {HTMLAnchorElement | null} */
  let ledBy = null; // the finding that led to where the cursor is
  scroll.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const { across: x, down: y } = face.cursor ?? { across: 0, down: -1 };
    const bar = turn.steps_per_beat * turn.beats_per_bar;
    const last = { x: turn.channels.length - 1, y: turn.steps - 1 };
    /** @type {Record<string, [number, number]>} */
    const moves = {
      ArrowUp: [x, y - 1],
      ArrowDown: [x, y + 1],
      ArrowLeft: [x - 1, y],
      ArrowRight: [x + 1, y],
      PageUp: [x, y - bar],
      PageDown: [x, y + bar],
      Home: [x, 0],
      End: [x, last.y],
    };
    if (event.key === " ") {
      event.preventDefault();
      if (!event.repeat) document.dispatchEvent(new Event("wheelcrank"));
    }
    if (event.key === "Escape" && ledBy?.isConnected) ledBy.focus();
    const move = moves[event.key];
    if (!move) return;
    event.preventDefault();
    go({ across: Math.max(0, Math.min(last.x, move[0])), down: Math.max(0, Math.min(last.y, move[1])) });
  });
  // What presses keys for people may send this although the key was taken.
  scroll.addEventListener("keypress", (event) => {
    if (event.key === " ") event.preventDefault();
  });

  document.addEventListener("click", (event) => {
    const link = /** @type {HTMLElement} */ (event.target).closest?.("a[data-channel]");
    if (!(link instanceof HTMLAnchorElement)) return;
    const to = across.get(link.dataset.channel ?? "");
    if (to === undefined) return;
    event.preventDefault();
    history.replaceState(null, "", link.hash);
    for (const other of document.querySelectorAll("a[data-channel][aria-current]")) other.removeAttribute("aria-current");
    link.setAttribute("aria-current", "true");
    ledBy = link;
    if (face.near < 1) look(1);
    go({ across: to, down: Number(link.dataset.step) });
    scroll.focus({ preventScroll: true });
    section.scrollIntoView({ block: "nearest" });
  });

  const [, id, step] = decodeURIComponent(location.hash).match(/^#(.+)\.(\d+)$/) ?? [];
  const start = across.get(id ?? "");
  if (start !== undefined && Number(step) < turn.steps) go({ across: start, down: Number(step) });
  Object.assign(section, { face });
  section.dataset.ready = "true";
}
