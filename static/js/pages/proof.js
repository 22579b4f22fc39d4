// @ts-check
// Proofreading: what should be there, step by step, and one touch on a row that
// is not so.

import { drawHole } from "../face/holes.js";
import { focusOnPart, keepInView, oncePerStep, reopenAt, showNetwork, showRefusal } from "../lib/steps.js";
import { Taps } from "../lib/taps.js";

const page = /** @type {HTMLElement} */ (document.querySelector("[data-proof]"));
const find = (/** @type {string} */ name) => /** @type {HTMLElement} */ (page.querySelector(`[data-${name}]`));

/** @type {{row: number, channel: string, name: string}[]} */
const rows = JSON.parse(page.dataset.rows ?? "[]");
/** @type {number[][]} */
const expected = JSON.parse(page.dataset.expected ?? "[]");
/** @type {string[]} */
const places = JSON.parse(page.dataset.places ?? "[]");
const start = Number(page.dataset.start);
const steps = Number(page.dataset.steps);
const ended = page.dataset.ended ?? "";
const index = new Map(rows.map((r, i) => [r.channel, i]));

/** The step that is looked at; −1: the first that was not read. */
let at = -1;
let shownStep = -1;
let anotherStep = () => {};
const intoView = keepInView(page);

const taps = new Taps(page.dataset.job ?? "", { changed: show, refused: (why) => showRefusal(page, why) });

/** Steps read, those on their way among them. */
function read() {
  const all = new Set(taps.state?.read);
  for (const tap of taps.waiting) if (tap.do === "read") all.add(tap.step);
  return all;
}

/** Whether the holes of a step have pins, as far as anyone has said. @param {number} step */
function there(step) {
  const is = rows.map(() => false);
  for (const row of expected[step] ?? []) is[row] = true;
  for (const f of taps.state?.found ?? []) if (f.step === step) is[f.row] = f.there;
  for (const tap of taps.waiting) {
    const row = index.get(tap.channel ?? "");
    if (tap.do === "found" && tap.step === step && row !== undefined) is[row] = tap.there === true;
  }
  return is;
}

/** The next step from one that fits, as the wheel turns, or −1. @param {number} from @param {(step: number) => boolean} fits */
function next(from, fits) {
  for (let n = 0; n < steps; n++) {
    const step = (from + n) % steps;
    if (fits(step)) return step;
  }
  return -1;
}

function show() {
  showNetwork(page, taps);
  const { state } = taps;
  if (!state) return;
  if (state.ended !== ended && !taps.waiting.length) {
    reopenAt(state.ended ? "result" : "step");
    return;
  }
  page.dataset.ready = "";
  if (ended) return;
  const done = read();
  if (at < 0) at = next(start, (s) => !done.has(s));
  find("count").textContent = `${done.size} of ${steps} steps read`;
  const held = find("hand").contains(document.activeElement);
  find("all").hidden = at >= 0;
  find("stop").hidden = at < 0;
  find("hand").hidden = at < 0;
  if (at >= 0) showStep(at);
  else if (held) find("whole").focus();
}

/** @param {number} step */
function showStep(step) {
  const first = shownStep < 0;
  const another = step !== shownStep;
  if (another) anotherStep();
  shownStep = step;
  const should = new Set(expected[step]);
  const is = there(step);
  find("step").textContent = `${places[step]} · step ${step}`;
  const calls = [...should].map((r) => rows[r].row);
  find("calls").textContent = calls.length ? `${calls.length === 1 ? "Row" : "Rows"} ${calls.join(", ")}` : "No pins";
  let wrong = 0;
  const buttons = rows.map(({ row, name }, i) => {
    const other = is[i] !== should.has(i);
    if (other) wrong++;
    const word = other ? (is[i] ? "extra" : "missing") : "";
    const button = old(i);
    const key = `${row} ${is[i]} ${other}`;
    if (button.dataset.key === key) return button;
    button.dataset.key = key;
    button.className = other ? "off" : is[i] ? "pin" : "";
    button.setAttribute("aria-pressed", String(other));
    button.replaceChildren(span("unseen", "Row "), span("", String(row)), drawHole(is[i], other), span("word", word), span("unseen", ` ${word ? "" : is[i] ? "a pin" : "no pin"}, ${name}`));
    return button;
  });
  const touch = find("touch");
  if (touch.children.length !== buttons.length) touch.replaceChildren(...buttons);
  find("here").textContent = wrong ? `${wrong} not as it should be` : "";
  find("next").textContent = wrong ? "Noted, next step" : "All right, next step";
  if (another) intoView();
  if (first) focusOnPart();
}

/** The button of a row. @param {number} i @returns {HTMLElement} */
function old(i) {
  const there = /** @type {HTMLElement | undefined} */ (find("touch").children[i]);
  if (there) return there;
  const button = document.createElement("button");
  button.type = "button";
  button.dataset.row = String(rows[i].row);
  button.addEventListener("click", () => {
    if (at < 0) return;
    taps.add({ do: "found", step: at, channel: rows[i].channel, there: !isThere(i) });
  });
  return button;
}

/** @param {string} className @param {string} text */
function span(className, text) {
  const element = document.createElement("span");
  element.className = className;
  element.textContent = text;
  return element;
}

/** @param {number} i */
function isThere(i) {
  return there(at)[i];
}

if (!ended) {
  anotherStep = oncePerStep(find("next"), () => {
    if (at < 0) return;
    const step = at;
    const done = read().add(step);
    at = next((step + 1) % steps, (s) => !done.has(s));
    taps.add({ do: "read", step });
  });
  find("previous").addEventListener("click", () => {
    at = ((at < 0 ? start : at) + steps - 1) % steps;
    show();
  });
  find("skip").addEventListener("click", () => {
    const done = read();
    const on = next((at + 1) % steps, (s) => !done.has(s) && expected[s].length > 0);
    if (on >= 0) at = on;
    show();
  });
}

focusOnPart();
show();
