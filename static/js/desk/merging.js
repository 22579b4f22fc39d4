// @ts-check
// Two layers of pins: what the program holds, and over it what was done here
// and the program has not taken yet. What is shown is both together.

import { keyOf, same } from "./pins.js";

/**
 * @typedef {import("./pins.js").Change} Change
 * @typedef {import("./pins.js").InHole} InHole
 */

export class Merging {
  /** @param {import("./pins.js").Pins} pins  as shown */
  constructor(pins) {
    this.pins = pins;
    /** @type {Map<string, {across: number, step: number, is: InHole}>} what the program holds where an edit of this page lies over it */
    this.under = new Map();
  }

  /** Starts from other pins, and lays over them what is not taken yet. @param {import("./pins.js").Pins} pins @param {{changes: Change[]}[]} pending */
  restart(pins, pending) {
    this.pins = pins;
    this.under.clear();
    for (const { changes } of pending) this.show(changes);
  }

  /** A channel's index, or −1 where the hole is not on this wheel. @param {string} channel @param {number} step */
  acrossOf(channel, step) {
    return step < this.pins.turn.steps ? this.pins.across.get(channel) ?? -1 : -1;
  }

  /** The program's holes come to hold something. @param {Change[]} changes */
  hold(changes) {
    for (const { channel, step, now } of changes) {
      const across = this.acrossOf(channel, step);
      if (across < 0) continue;
      const under = this.under.get(keyOf(channel, step));
      if (under) under.is = now ?? null;
      else this.pins.put(across, step, now ?? null);
    }
  }

  /** Shows what the program has not taken yet. @param {Change[]} changes */
  show(changes) {
    for (const { channel, step, now } of changes) {
      const across = this.acrossOf(channel, step);
      if (across < 0) continue;
      const key = keyOf(channel, step);
      if (!this.under.has(key)) this.under.set(key, { across, step, is: this.pins.at(across, step) });
      this.pins.put(across, step, now);
    }
  }

  /**
   * An edit is answered or taken back: its holes show what the program holds,
   * or what the edits that are still under way make of them.
   *
   * @param {Change[]} changes  of the edit
   * @param {{changes: Change[]}[]} pending  the other edits, in their order
   */
  settle(changes, pending) {
    /** @type {Map<string, InHole>} */
    const later = new Map();
    for (const edit of pending) for (const c of edit.changes) later.set(keyOf(c.channel, c.step), c.now);
    for (const { channel, step } of changes) {
      const key = keyOf(channel, step);
      const under = this.under.get(key);
      if (!under) continue;
      const now = later.get(key);
      this.pins.put(under.across, under.step, now === undefined ? under.is : now);
      if (now === undefined) this.under.delete(key);
    }
  }

  /** @param {string} channel @param {number} step @returns {InHole} what the program holds */
  kept(channel, step) {
    const under = this.under.get(keyOf(channel, step));
    if (under) return under.is;
    const across = this.acrossOf(channel, step);
    return across < 0 ? null : this.pins.at(across, step);
  }

  /**
   * What an edit asked for and did not get, because someone else had touched
   * the hole.
   *
   * @param {Change[]} wanted
   * @param {Change[]} got
   */
  heldBack(wanted, got) {
    const kept = new Set(got.map((c) => keyOf(c.channel, c.step)));
    return wanted.filter((c) => !kept.has(keyOf(c.channel, c.step)) && !same(this.kept(c.channel, c.step), c.now));
  }
}
