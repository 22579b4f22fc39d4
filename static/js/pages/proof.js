// @ts-check
// Proofreading: what should be there, step by step, and one touch on a row that
// is wrong.

import { drawHole } from "../face/holes.js";
import { counted } from "../lib/places.js";
import { nextStep } from "../lib/remaining.js";
import { focusOnPart, keepInView, oncePerStep, reopenAt, showNetwork, showRefusal } from "../lib/steps.js";
import { Taps } from "../lib/taps.js";

/**
 * All that the page knows while it is open.
 *
 * @typedef {object} ProofPage
 * @property {{row: number, channel: string, name: string}[]} rows
 * @property {number[][]} expected  at each step, the rows that should have a pin
 * @property {string[]} places  of the steps, in words
 * @property {number} start  where reading starts
 * @property {number} steps
 * @property {Taps} taps
 * @property {number} at  the step that is looked at; −1: the first that was not read
 * @property {number} shownStep  −1: none yet
 * @property {() => void} stepChanged  called when the step that is looked at is another
 * @property {() => void} intoView
 */

const root = /** @type {HTMLElement} */ (document.querySelector("[data-proof]"));
const find = (/** @type {string} */ name) => /** @type {HTMLElement} */ (root.querySelector(`[data-${name}]`));

/** @returns {ProofPage} */
function open() {
  return {
    rows: JSON.parse(root.dataset.rows ?? "[]"),
    expected: JSON.parse(root.dataset.expected ?? "[]"),
    places: JSON.parse(root.dataset.places ?? "[]"),
    start: Number(root.dataset.start),
    steps: Number(root.dataset.steps),
    taps: new Taps(root.dataset.job ?? "", { changed: () => show(), refused: (why) => showRefusal(root, why) }),
    at: -1,
    shownStep: -1,
    stepChanged: () => {},
    intoView: keepInView(root),
  };
}

/** Steps read, those on their way among them. */
function read() {
  const { taps } = page;
  const all = new Set(taps.state?.read);
  for (const tap of taps.waiting) if (tap.do === "read") all.add(tap.step);
  return all;
}

/** Whether the holes of a step have pins, as far as anyone has said. @param {number} step */
function pinsAt(step) {
  const { rows, expected, taps } = page;
  const is = rows.map(() => false);
  for (const row of expected[step] ?? []) is[row] = true;
  for (const f of taps.state?.found ?? []) if (f.step === step) is[f.row] = f.there;
  for (const tap of taps.waiting) {
    const row = rows.findIndex((r) => r.channel === tap.channel);
    if (tap.do === "found" && tap.step === step && row >= 0) is[row] = tap.there === true;
  }
  return is;
}

function show() {
  const { taps, start, steps } = page;
  const { state } = taps;
  const ended = root.dataset.ended ?? "";
  showNetwork(root, taps);
  if (!state) return;
  if (state.ended !== ended && !taps.waiting.length) {
    reopenAt(state.ended ? "result" : "step");
    return;
  }
  root.dataset.ready = "";
  if (ended) return;
  const done = read();
  if (page.at < 0) page.at = nextStep(start, steps, (s) => !done.has(s));
  find("count").textContent = `${done.size} of ${steps} steps read`;
  const held = find("hand").contains(document.activeElement);
  find("all").hidden = page.at >= 0;
  find("stop").hidden = page.at < 0;
  find("hand").hidden = page.at < 0;
  if (page.at >= 0) showStep(page.at);
  else if (held) find("whole").focus();
}

/** @param {number} step */
function showStep(step) {
  const { rows, expected, places } = page;
  const first = page.shownStep < 0;
  const changed = step !== page.shownStep;
  if (changed) page.stepChanged();
  page.shownStep = step;
  const should = new Set(expected[step]);
  const is = pinsAt(step);
  find("step").textContent = `${places[step]} · step ${step}`;
  const calls = [...should].map((r) => rows[r].row);
  find("calls").textContent = calls.length ? `${calls.length === 1 ? "Row" : "Rows"} ${calls.join(", ")}` : "No pins";
  const buttons = rows.map((_, i) => rowButton(i, is[i], should.has(i)));
  const touch = find("touch");
  if (touch.children.length !== buttons.length) touch.replaceChildren(...buttons);
  const wrong = rows.filter((_, i) => is[i] !== should.has(i)).length;
  find("here").textContent = wrong ? `${counted(wrong, "row is", "rows are")} wrong` : "";
  find("next").textContent = wrong ? "Noted, next step" : "All right, next step";
  if (changed) page.intoView();
  if (first) focusOnPart();
}

/**
 * The button of a row, which says whether there is a pin and whether there
 * should be one.
 *
 * @param {number} i
 * @param {boolean} is
 * @param {boolean} should
 */
function rowButton(i, is, should) {
  const { row, name } = page.rows[i];
  const wrong = is !== should;
  const button = /** @type {HTMLElement | undefined} */ (find("touch").children[i]) ?? newButton(i);
  const key = `${row} ${is} ${wrong}`;
  if (button.dataset.key === key) return button;
  const word = wrong ? (is ? "extra" : "missing") : "";
  button.dataset.key = key;
  button.className = wrong ? "off" : is ? "pin" : "";
  button.setAttribute("aria-pressed", String(wrong));
  button.replaceChildren(span("unseen", "Row "), span("", String(row)), drawHole(is, wrong), span("word", word), span("unseen", ` ${word ? "" : is ? "a pin" : "no pin"}, ${name}`));
  return button;
}

/** @param {number} i */
function newButton(i) {
  const { row, channel } = page.rows[i];
  const button = document.createElement("button");
  button.type = "button";
  button.dataset.row = String(row);
  button.addEventListener("click", () => {
    if (page.at >= 0) page.taps.add({ do: "found", step: page.at, channel, there: !pinsAt(page.at)[i] });
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

function attachHand() {
  const { steps, start, expected } = page;
  page.stepChanged = oncePerStep(find("next"), () => {
    if (page.at < 0) return;
    const step = page.at;
    const done = read().add(step);
    page.at = nextStep((step + 1) % steps, steps, (s) => !done.has(s));
    page.taps.add({ do: "read", step });
  });
  find("previous").addEventListener("click", () => {
    page.at = ((page.at < 0 ? start : page.at) + steps - 1) % steps;
    show();
  });
  find("skip").addEventListener("click", () => {
    const done = read();
    const next = nextStep((page.at + 1) % steps, steps, (s) => !done.has(s) && expected[s].length > 0);
    if (next >= 0) page.at = next;
    show();
  });
}

const page = open();
if (!root.dataset.ended) attachHand();
focusOnPart();
show();
