// @ts-check
// The wheel's page: the face, the hands that work on it, the desk where that is
// kept, and the verdict beside it.

import { attachAsked } from "../desk/askedview.js";
import { Desk } from "../desk/desk.js";
import { attachMarkForm, attachName, attachTempo } from "../desk/fields.js";
import { Hands } from "../desk/hands.js";
import { listenerOf, readTurn, sayUnread } from "../desk/listener.js";
import { findField, attachFinding, attachLinks, attachLooking, attachPointing, attachTurning, look } from "../desk/looking.js";
import { part } from "../desk/page.js";
import { Pins } from "../desk/pins.js";
import { holeNamed, say } from "../desk/readout.js";
import { attachStanding } from "../desk/standing.js";
import { attachVerdict, readMarks } from "../desk/verdict.js";
import { Face } from "../face/face.js";
import { setMarks } from "../face/marks.js";
import { printsWhole } from "../face/printed.js";
import { Overlay } from "../face/overlay.js";
import { Ring } from "../face/ring.js";

/** @typedef {import("../desk/page.js").WheelPage} WheelPage */

/**
 * Draws the wheel and joins it to the hands, the desk and the verdict.
 *
 * @param {HTMLElement} section
 */
async function open(section) {
  let turn;
  try {
    turn = await readTurn(section);
  } catch (problem) {
    sayUnread(problem);
    return;
  }
  await document.fonts.ready;
  const page = pageOf(section, turn);
  const showState = attachStanding(page);
  attachDesk(page, new Pins(turn), turn.seq, showState);
  readMarks(page);
  document.body.addEventListener("htmx:afterSettle", () => readMarks(page));
  for (const attach of [attachLooking, attachTurning, attachTempo, attachName, attachMarkForm]) attach(page);
  attachHands(page);
  for (const attach of [attachFinding, attachPointing, attachKeys, attachLinks]) attach(page);
  const start = holeNamed(location.hash, page.desk.pins);
  if (start) page.hands.go(start);
  page.desk.listener.asked();
  showState();
  page.desk.connect();
  Object.assign(section, { face: page.face, desk: page.desk, hands: page.hands });
  section.dataset.ready = "true";
}

/**
 * @param {HTMLElement} section
 * @param {import("../face/face.js").Turn & {seq: number}} turn
 * @returns {WheelPage} without the desk and the hands, that are joined next
 */
function pageOf(section, turn) {
  const scroll = part(".face-scroll");
  const shapes = /** @type {NodeListOf<HTMLOptionElement>} */ (document.querySelectorAll("#find-words [data-mark]"));
  setMarks([...shapes].map((o) => [o.value, o.dataset.mark ?? ""]));
  const face = new Face(scroll, part(".face-size"), /** @type {HTMLCanvasElement} */ (part(".face-scroll canvas")), turn);
  const started = { section, scroll, face, missed: [], done: "", last: { seq: turn.seq, words: "" }, judged: turn.seq, ledBy: null };
  return /** @type {any} */ (started);
}

/** @param {WheelPage} page @param {Pins} pins @param {number} seq @param {() => void} showState */
function attachDesk(page, pins, seq, showState) {
  const { section, face } = page;
  const shows = { verdict: attachVerdict(page), state: showState, asked: () => showAsked() };
  page.desk = new Desk({ url: section.dataset.live ?? "", pinning: section.dataset.pinning ?? "", pins, seq, listener: listenerOf(page, shows) });
  const showAsked = attachAsked(page);
  face.isHeld = (across, step) => page.desk.pins.heldAim(across, step, page.desk.pins.at(across, step)) !== null;
}

/** The hands, the ring and the overlay. @param {WheelPage} page */
function attachHands(page) {
  const { face, section, desk } = page;
  page.hands = new Hands({
    face,
    desk,
    tools: part("[data-tools]"),
    say: (hole, done) => say(page, hole, done),
    tell: (words) => (part("[data-told]").textContent = words),
    look: (near, under) => look(page, near, under),
    find: () => (findField().focus(), findField().select()),
  });
  page.ring = new Ring(/** @type {HTMLCanvasElement} */ (part("[data-ring]")), face, (step) => {
    face.cursor = { across: face.cursor?.across ?? 0, down: step };
    face.turnTowards(step);
    say(page, face.cursor);
  });
  face.onDrawn = () => page.ring.show();
  printsWhole(face, part("[data-printed]"));
  page.overlay = new Overlay(part("[data-overlay]"), section.dataset.differences ?? "", face, () => desk.pins);
}

/** The keys of the face. @param {WheelPage} page */
function attachKeys(page) {
  const { scroll, face, hands } = page;
  scroll.addEventListener("keydown", (event) => {
    if (event.key === " " && !event.ctrlKey && !event.altKey && !event.metaKey) {
      event.preventDefault();
      if (!event.repeat) document.dispatchEvent(new Event("wheelcrank"));
      return;
    }
    face.pointed = null; // the keys have it now
    if (hands.pressed(event)) event.preventDefault();
    else if (event.key === "Escape" && page.ledBy?.isConnected) page.ledBy.focus();
  });
  // What presses keys for people may send this although the key was taken.
  scroll.addEventListener("keypress", (event) => {
    if (event.key === " ") event.preventDefault();
  });
}

open(/** @type {HTMLElement} */ (document.querySelector("[data-face]")));
