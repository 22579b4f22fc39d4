// @ts-check
// The wheel page: the face, the hands that work on it, the desk where that is
// kept, and the verdict beside it.

import { Desk } from "../desk/desk.js";
import { Face } from "../face/face.js";
import { find } from "../face/find.js";
import { Hands } from "../desk/hands.js";
import { Overlay } from "../face/overlay.js";
import { Pins } from "../desk/pins.js";
import { counted, placeOf, placeSaid } from "../lib/places.js";
import { prefersReducedMotion } from "../lib/reduced-motion.js";
import { firstNotBelow } from "../lib/sorted.js";
import { Ring } from "../face/ring.js";

/** @typedef {import("../face/face.js").Hole} Hole */

const slowMS = 1000; // an edit that is not kept by then is spoken of
const heardMS = 150; // after an edit, until the strikes are asked for again
const nameKey = "pinwright name";

/**
 * Draws the wheel and joins it to the hands, the desk and the verdict.
 *
 * @param {HTMLElement} section
 */
async function openFace(section) {
  const part = (/** @type {string} */ selector) => /** @type {HTMLElement} */ (document.querySelector(selector));
  const scroll = part(".face-scroll");
  const readout = part("[data-readout]");
  const read = async () => {
    const answer = await fetch(section.dataset.face ?? "");
    if (!answer.ok) throw new Error(await answer.text());
    return answer.json();
  };
  let turn;
  try {
    turn = await read();
  } catch (problem) {
    readout.textContent = `The wheel could not be read: ${problem instanceof Error ? problem.message : problem}. Load the page again.`;
    return;
  }
  await document.fonts.ready;
  let pins = new Pins(turn);
  const face = new Face(scroll, part(".face-size"), /** @type {HTMLCanvasElement} */ (part(".face-scroll canvas")), turn);
  face.isHeld = (across, step) => pins.heldAim(across, step, pins.at(across, step)) !== null;

  // The findings, and the drops that are missed as the machine plays.
  /** @type {{channel: string, step: number}[]} */
  let missed = [];
  const readMarks = () => {
    const verdict = /** @type {HTMLElement | null} */ (document.querySelector("#verdict [data-marks]"));
    /** @type {[string, string, number[]][]} */
    const rows = JSON.parse(verdict?.dataset.marks ?? "[]");
    const found = rows.flatMap(([kind, id, steps]) => steps.map((step) => ({ kind, channel: pins.across.get(id) ?? -1, step })));
    const notHeard = missed.map(({ channel, step }) => ({ kind: "missed", channel: pins.across.get(channel) ?? -1, step }));
    face.setMarks([...found, ...notHeard]);
    if (verdict?.dataset.stock) part("[data-stock-here]").textContent = verdict.dataset.stock;
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

  const reading = (/** @type {Hole} */ hole) => {
    const channel = pins.turn.channels[hole.across];
    const at = firstNotBelow(channel.pins, hole.down);
    const is = channel.pins[at] === hole.down;
    const held = is ? pins.heldAim(hole.across, hole.down, pins.at(hole.across, hole.down)) : null;
    const kinds = face.marksAt.get(hole.across)?.get(hole.down);
    const rest = channel.resting ? ", resting" : "";
    const says = `${is ? "pin" : "no pin"}${held === null ? "" : `, aim held at step ${held}`}${kinds ? `, ${kinds}` : ""}`;
    return `${channel.name}${rest}, ${placeSaid(pins.turn, hole.down)}, step ${hole.down}: ${says}.`;
  };
  let before = ""; // what was done, in front of what is read
  const say = (/** @type {Hole} */ hole, /** @type {string} */ done = "") => {
    before = done;
    readout.textContent = before + reading(hole);
  };
  const sayAgain = () => {
    const hole = face.pointed ?? face.cursor;
    if (!hole) return;
    const text = before + reading(hole);
    if (readout.textContent !== text) readout.textContent = text;
  };
  const told = part("[data-told]");
  const tell = (/** @type {string} */ words) => {
    told.textContent = words;
  };

  const nearer = /** @type {HTMLButtonElement} */ (part("[data-nearer]"));
  const farther = /** @type {HTMLButtonElement} */ (part("[data-farther]"));
  const whole = /** @type {HTMLButtonElement} */ (part("[data-whole]"));
  const look = (/** @type {number} */ near, /** @type {{hole: Hole, x: number, y: number} | undefined} */ under = undefined) => {
    face.look(near, under);
    nearer.disabled = face.nearest;
    farther.disabled = whole.disabled = face.near < 0;
  };
  nearer.addEventListener("click", () => look(face.near + 1));
  farther.addEventListener("click", () => look(face.near - 1));
  whole.addEventListener("click", () => look(-1));

  // The desk.
  const refused = part("[data-refused]");
  const refuse = (/** @type {string} */ why) => {
    refused.hidden = !why;
    refused.textContent = why;
  };
  let slow = 0;
  const hearing = () => /** @type {any} */ (document.querySelector("[data-hear]"))?.hearing;
  let heard = 0;
  const hearAgain = () => {
    clearTimeout(heard);
    heard = setTimeout(() => {
      const it = hearing();
      if (!it?.answer) return;
      it.asked = "";
      it.load();
    }, heardMS);
  };
  let last = { seq: turn.seq, words: "" };
  let judged = turn.seq;
  const desk = new Desk({
    url: section.dataset.live ?? "",
    pinning: section.dataset.pinning ?? "",
    pins,
    seq: turn.seq,
    hears: {
      changed() {
        ring.count();
        face.redraw();
        overlay.changed();
        sayAgain();
      },
      edit(e, mine) {
        const how = e.kind === "undo" ? "taken back: " : e.kind === "redo" ? "brought again: " : "";
        last = { seq: e.seq, words: `${mine ? "" : `${e.by || "another page"}: `}${how}${e.words}` };
        if (mine) refuse("");
        if (!mine || how) {
          before = !mine ? "" : e.kind === "undo" ? "Taken back. " : "Brought again. ";
          sayAgain();
        }
        hearAgain();
      },
      verdict(v) {
        takeVerdict(v);
        section.dataset.judged = String(v.seq);
      },
      state() {
        showState();
      },
      asked: () => showAsked(),
      refused: refuse,
      async anew() {
        const fresh = await read();
        const held = face.cursor && pins.turn.channels[face.cursor.across].id;
        pins = desk.pins = new Pins(fresh);
        face.turn = fresh;
        face.names.clear();
        const across = pins.across.get(held ?? "");
        if (face.cursor) face.cursor = across === undefined || face.cursor.down >= fresh.steps ? null : { across, down: face.cursor.down };
        hands.giveUp();
        face.measure();
        readMarks();
        hearAgain();
        last = { seq: fresh.seq, words: "" };
        return fresh.seq;
      },
    },
  });

  const verdictPart = part("#verdict");
  const brief = part("#brief");
  const made = part("[data-made]");
  /** @type {HTMLElement | null} */
  let listedIn = null; // the list that was set last, and what it says
  let listedNow = "";
  const takeVerdict = (/** @type {import("../desk/desk.js").Verdict} */ v) => {
    const focused = document.activeElement instanceof HTMLAnchorElement && verdictPart.contains(document.activeElement) ? document.activeElement : null;
    if (!verdictPart.querySelector("[data-stands]")) {
      verdictPart.innerHTML = "<div data-stands></div><div data-listed></div>"; // there was no verdict
    }
    /** @type {HTMLElement} */ (verdictPart.querySelector("[data-stands]")).innerHTML = v.stands;
    const listed = /** @type {HTMLElement} */ (verdictPart.querySelector("[data-listed]"));
    if (listed !== listedIn || v.listed !== listedNow) {
      listed.innerHTML = v.listed;
      listedIn = listed;
      listedNow = v.listed;
    }
    brief.innerHTML = v.brief;
    if (focused) sameLink(focused)?.focus({ preventScroll: true });
    if (ledBy && !ledBy.isConnected) {
      ledBy = sameLink(ledBy);
      ledBy?.setAttribute("aria-current", "true");
    }
    if (v.seq > judged) {
      judged = v.seq;
      const words = last.seq === v.seq && last.words ? last.words : "";
      made.textContent = v.made ? `${v.made}${words ? ` (${words})` : ""}` : words && `${words[0].toUpperCase()}${words.slice(1)}: the highest safe tempo stays`;
    }
    readMarks();
    sayAgain();
  };
  const sameLink = (/** @type {HTMLAnchorElement} */ link) =>
    /** @type {HTMLAnchorElement | null} */ (
      [.../** @type {NodeListOf<HTMLElement>} */ (verdictPart.querySelectorAll("a[data-channel]"))].find(
        (a) => a.dataset.channel === link.dataset.channel && a.dataset.step === link.dataset.step && a.querySelector("b")?.textContent === link.querySelector("b")?.textContent,
      ) ?? null
    );

  const deskLine = part("[data-desk]");
  const marksList = part("[data-marks-list]");
  let marksShown = "";
  const showState = () => {
    const { open, pending, state } = desk;
    clearTimeout(slow);
    const line = (/** @type {boolean} */ late) => {
      const waits = pending.length ? `${counted(pending.length, "edit")} ${pending.length === 1 ? "is" : "are"}` : "";
      if (!open && desk.tried > 0) {
        return `The program does not answer; it is asked again and again. ${waits ? `${waits} kept in this browser, and will be sent when it is back.` : "What you do meanwhile is kept in this browser, and sent when it is back."} The verdict is the one before.`;
      }
      if (!open) return waits ? `${waits} about to be sent.` : "";
      if (pending.length && late) return `${waits} being kept…`;
      const others = state.people > 1 ? ` ${state.people} pages have this pinning open.` : "";
      return `Every edit is kept.${others}`;
    };
    const show = (/** @type {boolean} */ late) => {
      const text = line(late);
      if (deskLine.textContent !== text) deskLine.textContent = text;
      deskLine.classList.toggle("away", !open && desk.tried > 0);
    };
    if (open && pending.length) slow = setTimeout(() => show(true), slowMS);
    else show(false);
    section.dataset.open = String(open);
    section.dataset.seq = String(desk.seq);
    section.dataset.waiting = String(pending.length);
    const { undo, redo } = desk.tops;
    for (const [act, words] of /** @type {[string, string | null][]} */ ([["undo", undo], ["redo", redo]])) {
      for (const button of /** @type {NodeListOf<HTMLButtonElement>} */ (document.querySelectorAll(`[data-act=${act}]`))) {
        button.setAttribute("aria-disabled", String(words === null));
        const of = /** @type {HTMLElement} */ (button.querySelector("[data-of]"));
        const text = words === null ? " nothing" : ` ${words}`;
        if (of.textContent !== text) of.textContent = text;
      }
    }
    const marks = JSON.stringify(state.marks);
    if (marks === marksShown) return;
    marksShown = marks;
    overlay.offer(state.marks);
    marksList.replaceChildren(
      ...state.marks.map((mark) => {
        const item = document.createElement("li");
        const words = document.createElement("span");
        words.textContent = `${mark.name}, ${mark.at}`;
        const button = document.createElement("button");
        button.type = "button";
        button.textContent = "Return to it";
        button.setAttribute("aria-label", `Return to it: ${mark.name}`);
        button.addEventListener("click", () => desk.wish({ do: "return", seq: mark.seq }));
        const off = document.createElement("button");
        off.type = "button";
        off.textContent = "Take it off";
        off.setAttribute("aria-label", `Take it off: ${mark.name}`);
        off.addEventListener("click", () => desk.wish({ do: "unmark", mark: mark.id }));
        item.append(words, button, off);
        return item;
      }),
    );
  };

  // Holes that two have changed.
  const askedPart = part("[data-asked]");
  const showAsked = () => {
    const { asked } = desk;
    askedPart.hidden = !asked.length;
    const list = /** @type {HTMLElement} */ (askedPart.querySelector("ul"));
    const words = (/** @type {import("../desk/pins.js").InHole} */ holds) => (!holds ? "no pin" : holds.aim === undefined ? "a pin" : `a pin aimed at step ${holds.aim}`);
    const hadFocus = askedPart.contains(document.activeElement);
    list.replaceChildren(
      ...asked.slice(0, 100).map((hole) => {
        const item = document.createElement("li");
        const at = pins.across.get(hole.channel);
        const text = document.createElement("span");
        text.textContent = `${at === undefined ? hole.channel : pins.turn.channels[at].name}, ${placeOf(pins.turn, hole.step)}: you want ${words(hole.now)}; ${hole.by || "another page"} left ${words(desk.kept(hole.channel, hole.step))}.`;
        const buttons = [["Keep mine", true], ["Keep theirs", false]].map(([label, mine]) => {
          const button = document.createElement("button");
          button.type = "button";
          button.textContent = String(label);
          button.addEventListener("click", () => desk.answer([hole], Boolean(mine)));
          return button;
        });
        item.append(text, ...buttons);
        return item;
      }),
    );
    if (hadFocus) (asked.length ? list.querySelector("button") : scroll)?.focus();
  };
  askedPart.querySelector("[data-all-mine]")?.addEventListener("click", () => desk.answer([...desk.asked], true));
  askedPart.querySelector("[data-all-theirs]")?.addEventListener("click", () => desk.answer([...desk.asked], false));

  // The tempo goes to the desk, so that later verdicts are at it too.
  const tempo = /** @type {HTMLInputElement} */ (part("form.tempo #tempo"));
  const bpm = () => {
    const value = Number(tempo.value.trim().replace(",", "."));
    return tempo.value.trim() && value >= 1 && value <= 1000 ? value : 0;
  };
  desk.tempo = bpm();
  document.body.addEventListener("htmx:beforeRequest", (event) => {
    const { elt } = /** @type {CustomEvent} */ (event).detail;
    if (!elt.matches("form.tempo") || !bpm()) return;
    if (desk.askAt(bpm())) event.preventDefault();
  });

  const name = /** @type {HTMLInputElement} */ (part("[data-name]"));
  try {
    desk.name = name.value = localStorage.getItem(nameKey) ?? "";
  } catch {
    // the browser keeps nothing: no name
  }
  name.addEventListener("change", () => {
    desk.name = name.value.trim();
    try {
      localStorage.setItem(nameKey, desk.name);
    } catch {
      // it holds until the page is closed
    }
    if (desk.open && !desk.pending.length) desk.opening();
  });
  const markForm = /** @type {HTMLFormElement} */ (part("[data-mark-form]"));
  markForm.addEventListener("submit", (event) => {
    event.preventDefault();
    const field = /** @type {HTMLInputElement} */ (markForm.querySelector("input"));
    const words = field.value.trim();
    if (!words) return refuse("The mark has no name; write one, such as “before the school visit”.");
    refuse("");
    desk.wish({ do: "mark", words });
    field.value = "";
  });

  // The hands, the ring, the find box, the overlay.
  const findForm = /** @type {HTMLFormElement} */ (part("[data-find]"));
  const findField = /** @type {HTMLInputElement} */ (findForm.querySelector("input"));
  const found = part("[data-found]");
  const kinds = [.../** @type {NodeListOf<HTMLOptionElement>} */ (document.querySelectorAll("#find-words [data-kind]"))].map((o) => o.value);
  const hands = new Hands({ face, pins: () => pins, desk: () => desk, tools: part("[data-tools]"), say, tell, look, find: () => (findField.focus(), findField.select()) });
  const ring = new Ring(/** @type {HTMLCanvasElement} */ (part("[data-ring]")), face, (step) => {
    face.cursor = { across: face.cursor?.across ?? 0, down: step };
    face.turnTowards(step);
    say(face.cursor);
  });
  face.onDrawn = () => ring.show();
  const overlay = new Overlay(part("[data-overlay]"), section.dataset.differences ?? "", face, () => pins);
  findForm.addEventListener("submit", (event) => {
    event.preventDefault();
    const { hole, says } = find(findField.value, face, kinds);
    found.textContent = says;
    if (!hole) return;
    if (face.near < 1) look(1);
    hands.go(hole);
    found.textContent = reading(hole);
  });
  findField.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    found.textContent = "";
    scroll.focus();
  });

  scroll.addEventListener("pointermove", (event) => {
    const box = scroll.getBoundingClientRect();
    const hole = event.pointerType === "touch" ? null : face.holeAt(event.clientX - box.left - scroll.clientLeft, event.clientY - box.top - scroll.clientTop);
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

  /** @type {HTMLAnchorElement | null} */
  let ledBy = null; // the finding that led to where the cursor is
  scroll.addEventListener("keydown", (event) => {
    if (event.key === " " && !event.ctrlKey && !event.altKey && !event.metaKey) {
      event.preventDefault();
      if (!event.repeat) document.dispatchEvent(new Event("wheelcrank"));
      return;
    }
    face.pointed = null; // the keys have it now
    if (hands.pressed(event)) event.preventDefault();
    else if (event.key === "Escape" && ledBy?.isConnected) ledBy.focus();
  });
  // What presses keys for people may send this although the key was taken.
  scroll.addEventListener("keypress", (event) => {
    if (event.key === " ") event.preventDefault();
  });

  document.addEventListener("click", (event) => {
    const link = /** @type {HTMLElement} */ (event.target).closest?.("a[data-channel]");
    if (!(link instanceof HTMLAnchorElement)) return;
    const to = pins.across.get(link.dataset.channel ?? "");
    if (to === undefined) return;
    event.preventDefault();
    history.replaceState(null, "", link.hash);
    for (const other of document.querySelectorAll("a[data-channel][aria-current]")) other.removeAttribute("aria-current");
    link.setAttribute("aria-current", "true");
    ledBy = link;
    if (face.near < 1) look(1);
    hands.go({ across: to, down: Number(link.dataset.step) });
    scroll.focus({ preventScroll: true });
    section.scrollIntoView({ block: "nearest" });
  });

  const [, id, step] = decodeURIComponent(location.hash).match(/^#(.+)\.(\d+)$/) ?? [];
  const start = pins.across.get(id ?? "");
  if (start !== undefined && Number(step) < turn.steps) hands.go({ across: start, down: Number(step) });
  showAsked();
  showState();
  desk.connect();
  Object.assign(section, { face, desk, hands });
  section.dataset.ready = "true";
}

openFace(/** @type {HTMLElement} */ (document.querySelector("[data-face]")));
