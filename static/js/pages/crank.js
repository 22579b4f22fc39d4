// @ts-check
// The crank page: what a sensor tells, and taps, both measured by the program.

import { Taps, ask } from "../lib/crank.js";

/** @typedef {import("../lib/crank.js").Says} Says */

const askEveryMS = 1000;

class Sheet {
  /**
   * @param {Element} sheet
   * @param {HTMLButtonElement} take that takes its wander
   */
  constructor(sheet, take) {
    this.take = take;
    const part = (/** @type {string} */ name) => /** @type {HTMLElement} */ (sheet.querySelector(`[data-${name}]`));
    this.parts = { bpm: part("bpm"), rpm: part("rpm"), mean: part("mean"), wander: part("wander"), sure: part("sure"), beats: part("beats"), spans: part("spans"), judged: part("judged"), state: part("state") };
    this.problem = part("problem");
    /** @type {number | null} */
    this.wander = null;
  }

  /** @param {Says} says */
  show(says) {
    const { parts } = this;
    if (says.bpm !== null) {
      write(parts.bpm, shown(says.last_bpm, 1));
      write(parts.mean, shown(says.bpm, 1));
      write(parts.rpm, shown(says.crank_rpm, 1));
      write(parts.wander, says.wander === null ? "–" : shown(says.wander * 100, 2));
      write(parts.sure, says.wander_se === null ? "" : ` ± ${shown(says.wander_se * 100, 2)}`);
      write(parts.beats, shown(says.beats, 0));
      write(parts.spans, String(says.spans));
      this.wander = says.wander;
      this.take.disabled = says.wander === null;
    }
    write(parts.judged, says.judged);
    parts.judged.classList.toggle("over", says.slower);
    write(parts.state, says.says);
    this.fail(says.problem);
  }

  /** Nothing is measured any more. */
  clear() {
    const { parts } = this;
    for (const part of [parts.bpm, parts.mean, parts.rpm, parts.wander]) write(part, "–");
    for (const part of [parts.beats, parts.spans]) write(part, "0");
    for (const part of [parts.sure, parts.judged, parts.state]) write(part, "");
    parts.judged.classList.remove("over");
    this.wander = null;
    this.take.disabled = true;
    this.fail("");
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

/** @param {Element} page */
function join(page) {
  const take = (/** @type {string} */ name) => /** @type {HTMLButtonElement} */ (document.querySelector(`[data-take="${name}"]`));
  const sensor = new Sheet(/** @type {Element} */ (page.querySelector("[data-sensor]")), take("sensor"));
  const tapSheet = /** @type {Element} */ (page.querySelector("[data-taps]"));
  const tapped = new Sheet(tapSheet, take("taps"));
  const pinning = /** @type {HTMLSelectElement} */ (page.querySelector("[data-pinning]"));
  let taps = new Taps();
  const per = () => /** @type {HTMLInputElement} */ (tapSheet.querySelector("input[name=per]:checked")).value;
  let asking = false;
  const measure = async () => {
    if (asking) return;
    asking = true;
    for (let stands = false; !stands && taps.at.length > 1; ) {
      const of = taps;
      const address = taps.address(per(), pinning.value);
      /** @type {Says | null} */
      let says = null;
      let problem = "";
      try {
        says = await ask(address);
      } catch (error) {
        problem = /** @type {Error} */ (error).message;
      }
      stands = of === taps && address === taps.address(per(), pinning.value);
      if (!stands) continue; // more was tapped since, or all begun anew
      if (says) tapped.show(says);
      else tapped.fail(problem);
    }
    asking = false;
  };
  const anew = () => {
    taps = new Taps();
    tapped.clear();
  };
  page.querySelector("[data-tap]")?.addEventListener("pointerdown", (event) => {
    taps.tap(event.timeStamp / 1000);
    measure();
  });
  page.querySelector("[data-tap]")?.addEventListener("keydown", (event) => {
    const { key, repeat } = /** @type {KeyboardEvent} */ (event);
    if (repeat || (key !== " " && key !== "Enter")) return;
    taps.tap(event.timeStamp / 1000);
    measure();
  });
  page.querySelector("[data-anew]")?.addEventListener("click", anew);
  for (const way of tapSheet.querySelectorAll("input[name=per]")) way.addEventListener("change", anew);
  pinning.addEventListener("change", measure);
  const look = async () => {
    try {
      sensor.show(await ask(`/crank/now?${new URLSearchParams({ pinning: pinning.value })}`));
    } catch (error) {
      sensor.fail(/** @type {Error} */ (error).message);
    }
    setTimeout(look, askEveryMS);
  };
  look();
  for (const sheet of [sensor, tapped]) {
    sheet.take.addEventListener("click", () => {
      const field = /** @type {HTMLInputElement} */ (document.getElementById("wander"));
      if (sheet.wander !== null) field.value = shown(sheet.wander * 100, 2);
    });
  }
}

const page = document.querySelector("[data-crank-page]");
if (page) join(page);
