// @ts-check
// Pulling and driving, step by step, with a phone in one hand. What is left to
// do comes from the pins on the wheel, as the program knows them, and from what
// was tapped here and has not arrived yet.

import { drawHoles } from "../face/holes.js";
import { counted } from "../lib/places.js";
import { focusOnPart, keepInView, oncePerStep, reopenAt, showNetwork, showRefusal } from "../lib/steps.js";
import { Taps } from "../lib/taps.js";

/**
 * @typedef {import("../lib/taps.js").Stop} Stop
 * @typedef {import("../lib/taps.js").Tap} Tap
 */

const page = /** @type {HTMLElement} */ (document.querySelector("[data-at-wheel]"));
const find = (/** @type {string} */ name) => /** @type {HTMLElement} */ (page.querySelector(`[data-${name}]`));

/** @type {{row: number, channel: string, name: string}[]} */
const rows = JSON.parse(page.dataset.rows ?? "[]");
const job = page.dataset.job ?? "";
const start = Number(page.dataset.start);
const steps = Number(page.dataset.steps);
const index = new Map(rows.map((r, i) => [r.channel, i]));

/** What this page itself has done, and where it works, outlives a reload. */
const memory = {
  key: `pinwright hand ${job}`,
  /** @returns {{way: "" | "forward" | "backward", later: number[], mine: {id: string, was: Stop}[]}} */
  read() {
    const empty = { way: /** @type {""} */ (""), later: [], mine: [] };
    try {
      return { ...empty, ...JSON.parse(sessionStorage.getItem(this.key) ?? "{}") };
    } catch {
      return empty;
    }
  },
  write() {
    hand.mine = hand.mine.slice(-100);
    try {
      sessionStorage.setItem(this.key, JSON.stringify(hand));
    } catch {
      // remembered until the page is closed
    }
  },
};
const hand = memory.read();
/** @type {Set<string>} channels of the step under the hand that are in trouble, and left undone by Done */
let troubled = new Set();
let shownStep = -1;
let anotherStep = () => {};
const intoView = keepInView(page);

const taps = new Taps(job, { changed: show, refused: (why) => showRefusal(page, why) });

/** What is left once everything tapped here has arrived, in the order of the wheel. @returns {Stop[]} */
function left() {
  /** @type {Map<number, Stop>} */
  const stops = new Map((taps.state?.stops ?? []).map((s) => [s.step, s]));
  for (const tap of taps.waiting) {
    if (tap.do === "done") {
      const stop = stops.get(tap.step);
      if (!stop) continue;
      const done = new Set(tap.channels?.map((c) => index.get(c)));
      const moves = stop.moves.filter((m) => !done.has(m.row));
      if (moves.length) stops.set(tap.step, { ...stop, moves });
      else stops.delete(tap.step);
    } else if (tap.do === "back" && tap.was) {
      const stop = stops.get(tap.step);
      const there = new Set(stop?.moves.map((m) => m.row));
      stops.set(tap.step, { ...tap.was, moves: [...(stop?.moves ?? []), ...tap.was.moves.filter((m) => !there.has(m.row))] });
    }
  }
  const order = (/** @type {Stop} */ s) => (s.step - start + steps) % steps;
  return [...stops.values()].sort((a, b) => order(a) - order(b));
}

/** The step under the hand: the first from this end that was not left for later. @param {Stop[]} stops */
function under(stops) {
  const mine = hand.way === "backward" ? [...stops].reverse() : stops;
  const later = new Set(hand.later);
  return mine.find((s) => !later.has(s.step)) ?? mine[0];
}

function show() {
  showNetwork(page, taps);
  const { state } = taps;
  const ended = page.dataset.ended ?? "";
  showBack();
  if (!state) return;
  if (state.ended !== ended && !taps.waiting.length) {
    reopenAt(state.ended ? "result" : "step");
    return;
  }
  page.dataset.ready = "";
  page.dataset.seq = String(state.seq);
  if (ended) return;
  if (state.problem) {
    find("count").textContent = state.problem;
    return;
  }
  const stops = left();
  const moves = stops.reduce((n, s) => n + s.moves.length, 0);
  const total = Math.max(state.total, moves);
  find("count").textContent = `${moves} of ${total} pulls and drives left, on ${stops.length} ${stops.length === 1 ? "step" : "steps"}`;
  const held = find("hand").contains(document.activeElement);
  find("ways").hidden = hand.way !== "" || moves === 0;
  find("hand").hidden = hand.way === "" || moves === 0;
  find("all").hidden = moves !== 0;
  if (hand.way !== "" && moves) showStep(under(stops), stops);
  else if (held) find("all").focus();
}

/** @param {Stop} stop @param {Stop[]} stops */
function showStep(stop, stops) {
  const first = shownStep < 0;
  const another = stop.step !== shownStep;
  if (another) {
    shownStep = stop.step;
    anotherStep();
    troubled = new Set();
    toggleWrong(false);
  }
  find("step").textContent = `${stop.place} · step ${stop.step}`;
  find("moves").replaceChildren(
    ...stop.moves.map((m) => {
      const item = document.createElement("li");
      const verb = document.createElement("strong");
      verb.textContent = m.do === "pull" ? "Pull" : "Drive";
      const where = document.createElement("span");
      const { row, name, channel } = rows[m.row];
      where.textContent = `row ${row}`;
      const what = document.createElement("bdi");
      what.textContent = troubled.has(channel) ? `${name}: left, trouble noted` : name;
      item.className = m.do;
      item.append(verb, " ", where, " ", what);
      return item;
    }),
  );
  /** @type {("pull" | "drive" | "stay" | "none")[]} */
  const marks = rows.map(() => "none");
  for (const r of stop.stay) marks[r] = "stay";
  for (const m of stop.moves) marks[m.row] = m.do;
  find("holes").replaceChildren(drawHoles(rows, marks));
  const here = stop.moves.filter((m) => !troubled.has(rows[m.row].channel)).length;
  const done = /** @type {HTMLButtonElement} */ (find("done"));
  done.disabled = here === 0;
  done.textContent = here === stop.moves.length ? "Done" : here ? "The others are done" : "Done";
  const later = find("later");
  const waiting = stops.filter((s) => hand.later.includes(s.step)).length;
  later.hidden = waiting === 0;
  later.textContent = `${waiting} ${waiting === 1 ? "step is" : "steps are"} left for later.`;
  find("turn").textContent = hand.way === "backward" ? "Work from the start instead" : "Work from the other end instead";
  const where = /** @type {HTMLSelectElement} */ (page.querySelector("#where"));
  const places = ["", ...stop.moves.map((m) => rows[m.row].channel)].join("\n");
  if (where.dataset.places !== places) {
    where.dataset.places = places;
    where.replaceChildren(...stop.moves.map((m) => new Option(`row ${rows[m.row].row}, ${rows[m.row].name}`, rows[m.row].channel)), new Option("the whole step", ""));
  }
  if (another) intoView();
  if (first) focusOnPart();
  tellHere();
}

/** What is to be done at the step, and how much of it lies below what is in view. */
function tellHere() {
  const moves = [...find("moves").children];
  const edge = /** @type {HTMLElement} */ (page.querySelector(".hand-bar")).getBoundingClientRect().top;
  const below = moves.filter((m) => m.getBoundingClientRect().bottom > edge).length;
  const pulls = moves.filter((m) => m.className === "pull").length;
  const parts = [pulls && counted(pulls, "pull"), pulls < moves.length && counted(moves.length - pulls, "drive")];
  find("here").textContent = parts.filter(Boolean).join(", ") + (below ? ` · ${below} further down` : "");
}

/** The focus goes to Done, or where that takes none to what is to be done. */
function toHand() {
  const done = /** @type {HTMLButtonElement} */ (find("done"));
  (done.disabled ? find("step") : done).focus({ preventScroll: true });
}

/** What Back would take back: what this page did last, else what anyone did. */
function backable() {
  const taken = new Set(taps.waiting.filter((t) => t.do === "back").map((t) => t.of));
  const mine = hand.mine.filter((m) => !taken.has(m.id)).at(-1);
  if (mine) return { id: mine.id, step: mine.was.step, place: mine.was.place, was: mine.was };
  const last = taps.state?.last;
  return last && !taken.has(last.tap) ? { id: last.tap, step: last.step, place: last.place, was: undefined } : undefined;
}

function showBack() {
  const button = /** @type {HTMLButtonElement | null} */ (page.querySelector("[data-back]"));
  if (!button) return;
  const last = backable();
  button.disabled = !last;
  button.textContent = last ? `Back: ${last.place}, step ${last.step}, is not done` : "Back";
}

/** @param {boolean} open */
function toggleWrong(open) {
  find("wrong-form").hidden = !open;
  find("wrong").setAttribute("aria-expanded", String(open));
}

page.querySelector("[data-back]")?.addEventListener("click", () => {
  const last = backable();
  if (!last) return;
  hand.mine = hand.mine.filter((m) => m.id !== last.id);
  hand.later = hand.later.filter((s) => s !== last.step);
  memory.write();
  taps.add({ do: "back", step: last.step, of: last.id, was: last.was });
  if (/** @type {HTMLButtonElement} */ (find("back")).disabled && !page.dataset.ended) toHand();
});

if (!page.dataset.ended) {
  for (const button of /** @type {NodeListOf<HTMLElement>} */ (page.querySelectorAll("[data-way]"))) {
    button.addEventListener("click", () => {
      choose(/** @type {"forward" | "backward"} */ (button.dataset.way));
      toHand();
    });
  }
  find("turn").addEventListener("click", () => choose(hand.way === "backward" ? "forward" : "backward"));
  anotherStep = oncePerStep(find("done"), () => {
    const stop = under(left());
    if (!stop || stop.step !== shownStep) return show();
    const moves = stop.moves.filter((m) => !troubled.has(rows[m.row].channel));
    if (!moves.length) return;
    const tap = taps.add({ do: "done", step: stop.step, channels: moves.map((m) => rows[m.row].channel), was: { ...stop, moves } });
    hand.mine.push({ id: tap.id, was: { ...stop, moves } });
    if (moves.length < stop.moves.length) hand.later.push(stop.step);
    memory.write();
    note("");
    show();
  });
  for (const moved of ["scroll", "resize"]) addEventListener(moved, () => find("hand").hidden || tellHere(), { passive: true });
  find("leave").addEventListener("click", () => {
    const stop = under(left());
    if (!stop) return;
    hand.later = [...hand.later.filter((s) => s !== stop.step), stop.step];
    if (left().every((s) => hand.later.includes(s.step))) hand.later = hand.later.slice(-1); // once round: begin again after this one
    memory.write();
    show();
  });
  find("wrong").addEventListener("click", () => toggleWrong(find("wrong-form").hidden));
  find("wrong-form").addEventListener("submit", (event) => {
    event.preventDefault();
    const form = /** @type {HTMLFormElement} */ (event.target);
    const data = new FormData(form);
    const channel = String(data.get("channel") ?? "");
    taps.add({ do: "trouble", step: shownStep, trouble: String(data.get("trouble")), channel, note: String(data.get("note") ?? "").trim() });
    if (channel) troubled.add(channel);
    form.reset();
    toggleWrong(false);
    note("Noted. It stands in the trouble list of the machine.");
    show();
    toHand();
  });
}

/** @param {"forward" | "backward"} way */
function choose(way) {
  hand.way = way;
  hand.later = [];
  memory.write();
  show();
}

/** @param {string} words */
function note(words) {
  find("noted").textContent = words;
}

focusOnPart();
show();
