// @ts-check
// Pulling and driving, step by step, with a phone in one hand. What is left to
// do comes from the pins on the wheel, as the program knows them, and from what
// was tapped here and has not arrived yet.

import { drawHoles } from "../face/holes.js";
import { counted } from "../lib/places.js";
import { remaining, underHand } from "../lib/remaining.js";
import { focusOnPart, keepInView, oncePerStep, reopenAt, showNetwork, showRefusal } from "../lib/steps.js";
import { Taps } from "../lib/taps.js";

/**
 * @typedef {import("../lib/taps.js").Stop} Stop
 * @typedef {"" | "forward" | "backward"} Way
 */

/**
 * What this page itself has done, and where it works: outlives a reload.
 *
 * @typedef {object} Hand
 * @property {Way} way  from which end
 * @property {number[]} later  steps that were left for later
 * @property {{id: string, was: Stop}[]} mine  taps that were made here, the last at the end
 */

/**
 * All that the page knows while it is open.
 *
 * @typedef {object} WorkPage
 * @property {HTMLElement} root
 * @property {{row: number, channel: string, name: string}[]} rows
 * @property {{index: Map<string, number>, start: number, steps: number}} wheel
 * @property {string} key  under which the browser keeps the hand
 * @property {Hand} hand
 * @property {Taps} taps
 * @property {Set<string>} troubled  channels of the step under the hand that are in trouble, and left undone by Done
 * @property {number} shownStep  −1: none yet
 * @property {() => void} stepChanged  called when the step under the hand is another
 * @property {() => void} intoView
 */

const root = /** @type {HTMLElement} */ (document.querySelector("[data-at-wheel]"));
const find = (/** @type {string} */ name) => /** @type {HTMLElement} */ (root.querySelector(`[data-${name}]`));

/** @returns {WorkPage} */
function open() {
  /** @type {WorkPage["rows"]} */
  const rows = JSON.parse(root.dataset.rows ?? "[]");
  const job = root.dataset.job ?? "";
  const key = `pinwright hand ${job}`;
  return {
    root,
    rows,
    wheel: { index: new Map(rows.map((r, i) => [r.channel, i])), start: Number(root.dataset.start), steps: Number(root.dataset.steps) },
    key,
    hand: readHand(key),
    taps: new Taps(job, { changed: () => show(), refused: (why) => showRefusal(root, why) }),
    troubled: new Set(),
    shownStep: -1,
    stepChanged: () => {},
    intoView: keepInView(root),
  };
}

/** @param {string} key @returns {Hand} */
function readHand(key) {
  /** @type {Hand} */
  const empty = { way: "", later: [], mine: [] };
  try {
    return { ...empty, ...JSON.parse(sessionStorage.getItem(key) ?? "{}") };
  } catch {
    return empty;
  }
}

function keepHand() {
  page.hand.mine = page.hand.mine.slice(-100);
  try {
    sessionStorage.setItem(page.key, JSON.stringify(page.hand));
  } catch {
    // remembered until the page is closed
  }
}

const left = () => remaining(page.taps.state?.stops ?? [], page.taps.waiting, page.wheel);

/** The step under the hand. @param {Stop[]} stops */
const under = (stops) => underHand(stops, page.hand.way, page.hand.later);

function show() {
  const { taps, hand } = page;
  const { state } = taps;
  const ended = root.dataset.ended ?? "";
  showNetwork(root, taps);
  showBack();
  if (!state) return;
  if (state.ended !== ended && !taps.waiting.length) {
    reopenAt(state.ended ? "result" : "step");
    return;
  }
  root.dataset.ready = "";
  root.dataset.seq = String(state.seq);
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
  const stop = under(stops);
  if (hand.way !== "" && moves && stop) showStep(stop, stops);
  else if (held) find("all").focus();
}

/** @param {Stop} stop @param {Stop[]} stops */
function showStep(stop, stops) {
  const first = page.shownStep < 0;
  const changed = stop.step !== page.shownStep;
  if (changed) {
    page.shownStep = stop.step;
    page.stepChanged();
    page.troubled = new Set();
    toggleWrong(false);
  }
  find("step").textContent = `${stop.place} · step ${stop.step}`;
  find("moves").replaceChildren(...stop.moves.map(moveItem));
  showHoles(stop);
  showDone(stop);
  showLater(stops);
  showPlaces(stop);
  if (changed) page.intoView();
  if (first) focusOnPart();
  showHere();
}

/** @param {Stop["moves"][number]} move */
function moveItem(move) {
  const item = document.createElement("li");
  const verb = document.createElement("strong");
  verb.textContent = move.do === "pull" ? "Pull" : "Drive";
  const where = document.createElement("span");
  const { row, name, channel } = page.rows[move.row];
  where.textContent = `row ${row}`;
  const what = document.createElement("bdi");
  what.textContent = page.troubled.has(channel) ? `${name}: left, trouble noted` : name;
  item.className = move.do;
  item.append(verb, " ", where, " ", what);
  return item;
}

/** @param {Stop} stop */
function showHoles(stop) {
  /** @type {("pull" | "drive" | "stay" | "none")[]} */
  const marks = page.rows.map(() => "none");
  for (const r of stop.stay) marks[r] = "stay";
  for (const m of stop.moves) marks[m.row] = m.do;
  find("holes").replaceChildren(drawHoles(page.rows, marks));
}

/** The moves of a step that no trouble holds up. @param {Stop} stop */
const doable = (stop) => stop.moves.filter((m) => !page.troubled.has(page.rows[m.row].channel));

/** @param {Stop} stop */
function showDone(stop) {
  const here = doable(stop).length;
  const done = /** @type {HTMLButtonElement} */ (find("done"));
  done.disabled = here === 0;
  done.textContent = here === stop.moves.length ? "Done" : here ? "The others are done" : "Done";
  find("turn").textContent = page.hand.way === "backward" ? "Work from the start instead" : "Work from the other end instead";
}

/** @param {Stop[]} stops */
function showLater(stops) {
  const later = find("later");
  const waiting = stops.filter((s) => page.hand.later.includes(s.step)).length;
  later.hidden = waiting === 0;
  later.textContent = `${waiting} ${waiting === 1 ? "step is" : "steps are"} left for later.`;
}

/** Where trouble may be at the step; what was chosen stays chosen. @param {Stop} stop */
function showPlaces(stop) {
  const where = /** @type {HTMLSelectElement} */ (root.querySelector("#where"));
  const places = ["", ...stop.moves.map((m) => page.rows[m.row].channel)].join("\n");
  if (where.dataset.places === places) return;
  where.dataset.places = places;
  const options = stop.moves.map((m) => new Option(`row ${page.rows[m.row].row}, ${page.rows[m.row].name}`, page.rows[m.row].channel));
  where.replaceChildren(...options, new Option("the whole step", ""));
}

/** What is to be done at the step, and how much of it lies below what is in view. */
function showHere() {
  const moves = [...find("moves").children];
  const edge = /** @type {HTMLElement} */ (root.querySelector(".hand-bar")).getBoundingClientRect().top;
  const below = moves.filter((m) => m.getBoundingClientRect().bottom > edge).length;
  const pulls = moves.filter((m) => m.className === "pull").length;
  const parts = [pulls && counted(pulls, "pull"), pulls < moves.length && counted(moves.length - pulls, "drive")];
  find("here").textContent = parts.filter(Boolean).join(", ") + (below ? ` · ${below} further down` : "");
}

/** The focus goes to Done, or where that takes none to what is to be done. */
function focusOnHand() {
  const done = /** @type {HTMLButtonElement} */ (find("done"));
  (done.disabled ? find("step") : done).focus({ preventScroll: true });
}

/** What Back would undo: what this page did last, else what anyone did. */
function backable() {
  const { taps, hand } = page;
  const undone = new Set(taps.waiting.filter((t) => t.do === "back").map((t) => t.of));
  const mine = hand.mine.filter((m) => !undone.has(m.id)).at(-1);
  if (mine) return { id: mine.id, step: mine.was.step, place: mine.was.place, was: mine.was };
  const last = taps.state?.last;
  return last && !undone.has(last.tap) ? { id: last.tap, step: last.step, place: last.place, was: undefined } : undefined;
}

function showBack() {
  const button = /** @type {HTMLButtonElement | null} */ (root.querySelector("[data-back]"));
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

/** @param {string} words */
function note(words) {
  find("noted").textContent = words;
}

/** @param {Way} way */
function choose(way) {
  page.hand.way = way;
  page.hand.later = [];
  keepHand();
  show();
}

function back() {
  const last = backable();
  if (!last) return;
  const { hand } = page;
  hand.mine = hand.mine.filter((m) => m.id !== last.id);
  hand.later = hand.later.filter((s) => s !== last.step);
  keepHand();
  page.taps.add({ do: "back", step: last.step, of: last.id, was: last.was });
  if (/** @type {HTMLButtonElement} */ (find("back")).disabled && !root.dataset.ended) focusOnHand();
}

function done() {
  const stop = under(left());
  if (!stop || stop.step !== page.shownStep) return show();
  const moves = doable(stop);
  if (!moves.length) return;
  const was = { ...stop, moves };
  const tap = page.taps.add({ do: "done", step: stop.step, channels: moves.map((m) => page.rows[m.row].channel), was });
  page.hand.mine.push({ id: tap.id, was });
  if (moves.length < stop.moves.length) page.hand.later.push(stop.step);
  keepHand();
  note("");
  show();
}

function leaveForLater() {
  const { hand } = page;
  const stop = under(left());
  if (!stop) return;
  hand.later = [...hand.later.filter((s) => s !== stop.step), stop.step];
  if (left().every((s) => hand.later.includes(s.step))) hand.later = hand.later.slice(-1); // once round: begin again after this one
  keepHand();
  show();
}

/** @param {SubmitEvent} event */
function noteTrouble(event) {
  event.preventDefault();
  const form = /** @type {HTMLFormElement} */ (event.target);
  const data = new FormData(form);
  const channel = String(data.get("channel") ?? "");
  page.taps.add({ do: "trouble", step: page.shownStep, trouble: String(data.get("trouble")), channel, note: String(data.get("note") ?? "").trim() });
  if (channel) page.troubled.add(channel);
  form.reset();
  toggleWrong(false);
  note("Noted. It stands in the trouble list of the machine.");
  show();
  focusOnHand();
}

function attachHand() {
  for (const button of /** @type {NodeListOf<HTMLElement>} */ (root.querySelectorAll("[data-way]"))) {
    button.addEventListener("click", () => {
      choose(/** @type {Way} */ (button.dataset.way));
      focusOnHand();
    });
  }
  find("turn").addEventListener("click", () => choose(page.hand.way === "backward" ? "forward" : "backward"));
  page.stepChanged = oncePerStep(find("done"), done);
  for (const moved of ["scroll", "resize"]) addEventListener(moved, () => find("hand").hidden || showHere(), { passive: true });
  find("leave").addEventListener("click", leaveForLater);
  find("wrong").addEventListener("click", () => toggleWrong(find("wrong-form").hidden));
  find("wrong-form").addEventListener("submit", noteTrouble);
}

const page = open();
root.querySelector("[data-back]")?.addEventListener("click", back);
if (!root.dataset.ended) attachHand();
focusOnPart();
show();
