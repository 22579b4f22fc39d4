// @ts-check
// Two sets of pins laid over each other: marks of this pinning, this pinning
// as it is now, or another of the same machine. What differs is drawn on the
// face and told in a list.

import { counted, placeOf } from "../lib/places.js";

/** @typedef {{name: string, pins: number}} Side */

const listedMost = 200;

export class Overlay {
  /**
   * @param {HTMLElement} part
   * @param {string} url
   * @param {import("./face.js").Face} face
   * @param {() => import("../desk/pins.js").Pins} pins
   */
  constructor(part, url, face, pins) {
    this.url = url;
    this.face = face;
    this.pins = pins;
    this.on = false;
    this.from = /** @type {HTMLSelectElement} */ (part.querySelector("[data-from]"));
    this.to = /** @type {HTMLSelectElement} */ (part.querySelector("[data-to]"));
    this.out = /** @type {HTMLElement} */ (part.querySelector("[data-differ-list]"));
    this.says = /** @type {HTMLElement} */ (part.querySelector("[data-differ]"));
    this.clearButton = /** @type {HTMLButtonElement} */ (part.querySelector("[data-lift]"));
    part.querySelector("[data-over]")?.addEventListener("click", () => this.compare());
    this.clearButton.addEventListener("click", () => this.clear());
    this.later = 0;
    this.asks = 0;
  }

  /** Offers the marks of the pinning. @param {import("../desk/desk.js").State["marks"]} marks */
  offer(marks) {
    for (const select of [this.from, this.to]) {
      const group = /** @type {HTMLOptGroupElement} */ (select.querySelector("[data-marks-here]"));
      const had = select.value;
      group.replaceChildren(...marks.map((m) => new Option(`${m.name} (${m.at})`, `mark:${m.id}`)));
      group.hidden = !marks.length;
      select.value = had;
      if (select.selectedIndex < 0) select.selectedIndex = 0;
    }
  }

  /** The pins have changed: what differs is asked for again. */
  changed() {
    if (!this.on || (this.from.value !== "now" && this.to.value !== "now")) return;
    clearTimeout(this.later);
    this.later = setTimeout(() => this.compare(), 150);
  }

  async compare() {
    const ask = ++this.asks;
    const address = new URL(this.url, location.href);
    address.searchParams.set("from", this.from.value);
    address.searchParams.set("to", this.to.value);
    let answer;
    let problem = "";
    try {
      const response = await fetch(address, { headers: { Accept: "application/json" } });
      answer = await response.json();
      if (!response.ok) problem = answer.problem;
    } catch {
      problem = "The program does not answer.";
    }
    if (ask !== this.asks) return;
    if (problem) {
      this.clear();
      this.says.textContent = problem;
      return;
    }
    this.on = true;
    this.clearButton.hidden = false;
    this.show(answer);
  }

  clear() {
    this.asks++;
    this.on = false;
    this.clearButton.hidden = true;
    this.face.differ = null;
    this.says.textContent = "";
    this.out.replaceChildren();
    this.face.redraw();
  }

  /**
   * @param {{from: Side, to: Side, driven: number, pulled: number, aimed: number,
   *   changes: import("../desk/pins.js").Change[]}} answer
   */
  show({ from, to, driven, pulled, aimed, changes }) {
    const { turn, across } = this.pins();
    /** @type {Map<number, {step: number, kind: string}[]>} */
    const differ = new Map();
    const items = [];
    for (const c of changes) {
      const at = across.get(c.channel);
      if (at === undefined) continue;
      const kind = !c.was ? "driven" : !c.now ? "pulled" : "aimed";
      const list = differ.get(at) ?? [];
      list.push({ step: c.step, kind });
      differ.set(at, list);
      if (items.length >= listedMost) continue;
      const link = document.createElement("a");
      link.href = `#${encodeURIComponent(c.channel)}.${c.step}`;
      link.dataset.channel = c.channel;
      link.dataset.step = String(c.step);
      const how = kind === "driven" ? `only in “${to.name}”` : kind === "pulled" ? `only in “${from.name}”` : `aimed elsewhere: ${aimWords(c.was)} in “${from.name}”, ${aimWords(c.now)} in “${to.name}”`;
      link.textContent = `${shapes[kind]} ${turn.channels[at].name}, ${placeOf(turn, c.step)}: ${how}`;
      const item = document.createElement("li");
      item.append(link);
      items.push(item);
    }
    for (const list of differ.values()) list.sort((a, b) => a.step - b.step);
    this.face.differ = differ;
    this.face.redraw();
    this.says.textContent = changes.length
      ? `From “${from.name}” (${counted(from.pins, "pin")}) to “${to.name}” (${counted(to.pins, "pin")}): ${driven} only in the second, ${pulled} only in the first, ${aimed} aimed elsewhere.`
      : `“${from.name}” and “${to.name}” have the same ${counted(to.pins, "pin")}.`;
    const list = document.createElement("ul");
    list.setAttribute("role", "list");
    list.append(...items);
    const rest = changes.length - items.length;
    const more = document.createElement("p");
    more.className = "quiet small";
    more.textContent = rest > 0 ? `${rest} more; all are marked on the wheel.` : "";
    this.out.replaceChildren(...(items.length ? [list, more] : []));
  }
}

/** @type {Record<string, string>} */
const shapes = { driven: "△", pulled: "▽", aimed: "◇" };

/** @param {import("../desk/pins.js").InHole} holds */
const aimWords = (holds) => (holds?.aim === undefined ? "it follows" : `step ${holds.aim}`);
