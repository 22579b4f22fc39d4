// @ts-check
// The crank page: what a sensor tells, and taps, both measured by the program.

import { Taps, ask } from "../lib/crank.js";

/** @typedef {import("../lib/crank.js").Says} Says */

const askEveryMS = 1000;

class Sheet {
  /**
   * @param {Element} sheet
   * @param {HTMLButtonElement} take that takes its figures
   */
  constructor(sheet, take) {
    this.take = take;
    const part = (/** @type {string} */ name) => /** @type {HTMLElement} */ (sheet.querySelector(`[data-${name}]`));
    this.parts = { bpm: part("bpm"), rpm: part("rpm"), mean: part("mean"), wander: part("wander"), sure: part("sure"), ripple: part("ripple"), rippleSure: part("ripple-sure"), ripples: part("ripples"), beats: part("beats"), spans: part("spans"), judged: part("judged"), state: part("state") };
    this.problem = part("problem");
    this.notes = part("notes");
    /** @type {number | null} */
    this.wander = null;
    /** @type {number | null} */
    this.ripple = null;
  }

  /** @param {Says} says */
  show(says) {
    const { parts } = this;
    if (says.bpm !== null) {
      write(parts.bpm, shown(says.last_bpm, 1));
      write(parts.mean, shown(says.bpm, 1));
      write(parts.rpm, shown(says.crank_rpm, 1));
      write(parts.wander, percent(says.wander));
      write(parts.sure, doubt(says.wander_u));
      write(parts.ripple, percent(says.ripple));
      write(parts.rippleSure, doubt(says.ripple_u));
      write(parts.beats, shown(says.beats, 0));
      write(parts.spans, String(says.spans));
      this.wander = says.wander;
      this.ripple = says.ripple;
      this.take.disabled = says.wander === null && says.ripple === null;
    }
    write(parts.judged, says.judged);
    parts.judged.classList.toggle("over", says.slower);
    write(parts.state, says.says);
    this.tellRipple(says.ripples);
    this.note(says.notes ?? []);
    this.fail(says.problem);
  }

  /** Nothing is measured any more. */
  clear() {
    const { parts } = this;
    for (const part of [parts.bpm, parts.mean, parts.rpm, parts.wander, parts.ripple]) write(part, "–");
    for (const part of [parts.beats, parts.spans]) write(part, "0");
    for (const part of [parts.sure, parts.rippleSure, parts.judged, parts.state]) write(part, "");
    parts.judged.classList.remove("over");
    this.wander = null;
    this.ripple = null;
    this.take.disabled = true;
    this.tellRipple("");
    this.note([]);
    this.fail("");
  }

  /** @param {string} text */
  tellRipple(text) {
    this.parts.ripples.hidden = !text;
    write(this.parts.ripples, text);
  }

  /** What was wrong with the marks. @param {string[]} notes */
  note(notes) {
    this.notes.hidden = notes.length === 0;
    write(this.notes, notes.join(" "));
  }

  /** What is shown stays. @param {string} problem */
  fail(problem) {
    this.problem.hidden = !problem;
    write(this.problem, problem);
  }
}

/**
 * @param {Element} element
 * @param {string} text
 */
function write(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/**
 * @param {number | null} value
 * @param {number} decimals
 */
function shown(value, decimals) {
  return value === null ? "–" : String(Number(value.toFixed(decimals)));
}

/** @param {number | null} part of the tempo */
function percent(part) {
  return part === null ? "–" : shown(part * 100, 2);
}

/** @param {number | null} part of the tempo */
function doubt(part) {
  return part === null ? "" : ` ± ${shown(part * 100, 2)}`;
}

/**
 * All that the page knows while it is open.
 *
 * @typedef {object} CrankPage
 * @property {Element} root
 * @property {Sheet} sensor  what the sensor tells
 * @property {Sheet} tapped  what the taps tell
 * @property {Element} tapSheet
 * @property {HTMLSelectElement} pinning  which is turned
 * @property {Taps} taps  since they were begun
 * @property {boolean} asking  whether the taps are being measured
 */

/** @param {Element} root @returns {CrankPage} */
function pageOf(root) {
  const take = (/** @type {string} */ name) => /** @type {HTMLButtonElement} */ (document.querySelector(`[data-take="${name}"]`));
  const tapSheet = /** @type {Element} */ (root.querySelector("[data-taps]"));
  return {
    root,
    sensor: new Sheet(/** @type {Element} */ (root.querySelector("[data-sensor]")), take("sensor")),
    tapped: new Sheet(tapSheet, take("taps")),
    tapSheet,
    pinning: /** @type {HTMLSelectElement} */ (root.querySelector("[data-pinning]")),
    taps: new Taps(),
    asking: false,
  };
}

/** The address that measures the taps as they are now. @param {CrankPage} page */
function addressOf({ taps, tapSheet, pinning }) {
  const per = /** @type {HTMLInputElement} */ (tapSheet.querySelector("input[name=per]:checked")).value;
  return taps.address(per, pinning.value);
}

/** Has the taps measured, again where more came meanwhile. @param {CrankPage} page */
async function measure(page) {
  if (page.asking) return;
  page.asking = true;
  for (let stands = false; !stands && page.taps.at.length > 1; ) {
    const { taps } = page;
    const address = addressOf(page);
    /** @type {Says | null} */
    let says = null;
    let problem = "";
    try {
      says = await ask(address);
    } catch (error) {
      problem = /** @type {Error} */ (error).message;
    }
    stands = taps === page.taps && address === addressOf(page);
    if (!stands) continue; // more was tapped since, or all was begun again
    if (says) page.tapped.show(says);
    else page.tapped.fail(problem);
  }
  page.asking = false;
}

/** @param {CrankPage} page */
function attachTaps(page) {
  const { root, tapSheet, pinning } = page;
  const restart = () => {
    page.taps = new Taps();
    page.tapped.clear();
  };
  const tap = (/** @type {Event} */ event) => {
    page.taps.tap(event.timeStamp / 1000);
    measure(page);
  };
  const button = root.querySelector("[data-tap]");
  button?.addEventListener("pointerdown", tap);
  button?.addEventListener("keydown", (event) => {
    const { key, repeat } = /** @type {KeyboardEvent} */ (event);
    if (!repeat && (key === " " || key === "Enter")) tap(event);
  });
  root.querySelector("[data-again]")?.addEventListener("click", restart);
  for (const way of tapSheet.querySelectorAll("input[name=per]")) way.addEventListener("change", restart);
  pinning.addEventListener("change", () => measure(page));
}

/** Asks what the sensor tells, again and again. @param {CrankPage} page */
async function look(page) {
  try {
    page.sensor.show(await ask(`/crank/now?${new URLSearchParams({ pinning: page.pinning.value })}`));
  } catch (error) {
    page.sensor.fail(/** @type {Error} */ (error).message);
  }
  setTimeout(() => look(page), askEveryMS);
}

/** A sheet's figures can be taken for the machine's. @param {Sheet} sheet */
function attachTake(sheet) {
  const take = (/** @type {string} */ id, /** @type {number | null} */ part) => {
    if (part !== null) /** @type {HTMLInputElement} */ (document.getElementById(id)).value = percent(part);
  };
  sheet.take.addEventListener("click", () => {
    take("wander", sheet.wander);
    take("ripple", sheet.ripple);
  });
}

const root = document.querySelector("[data-crank-page]");
if (root) {
  const page = pageOf(root);
  attachTaps(page);
  look(page);
  for (const sheet of [page.sensor, page.tapped]) attachTake(sheet);
}
