// @ts-check
// Holes that two have changed: which pin is to hold is asked, over reloads as
// well, until someone answers.

import { keyOf } from "./pins.js";

/**
 * @typedef {import("./pins.js").InHole} InHole
 * @typedef {{channel: string, step: number, was: InHole, now: InHole, by?: string}} Asked   wanted now; the hole may hold something else
 */

export class Questions {
  /** @param {string} key  under which the browser keeps them */
  constructor(key) {
    this.key = key;
    this.list = this.stored();
  }

  /** A hole is asked about once, for what was wanted last. @param {Asked[]} holes */
  add(holes) {
    const again = new Set(holes.map((a) => keyOf(a.channel, a.step)));
    this.list = [...this.list.filter((a) => !again.has(keyOf(a.channel, a.step))), ...holes];
    this.keep();
  }

  /** Takes who changed the holes. @param {Asked[]} holes */
  name(holes) {
    const by = new Map(holes.map((h) => [keyOf(h.channel, h.step), h.by]));
    for (const a of this.list) a.by = by.get(keyOf(a.channel, a.step)) ?? a.by;
    this.keep();
  }

  /** @param {Asked[]} holes */
  answered(holes) {
    const answered = new Set(holes);
    this.list = this.list.filter((a) => !answered.has(a));
    this.keep();
  }

  /** @returns {Asked[]} */
  stored() {
    try {
      const asked = JSON.parse(localStorage.getItem(this.key) ?? "[]");
      return Array.isArray(asked) ? asked : [];
    } catch {
      return [];
    }
  }

  keep() {
    try {
      if (this.list.length) localStorage.setItem(this.key, JSON.stringify(this.list));
      else localStorage.removeItem(this.key);
    } catch {
      // asked until the page is closed
    }
  }
}
