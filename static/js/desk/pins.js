// @ts-check
// The pins on the wheel, and what each piece of handwork makes of them. An
// aim that is left out follows its pin: step + the channel's advance. One that
// is given is held, unless it was written only because of the seam.

import { firstNotBelow } from "../lib/sorted.js";

/**
 * @typedef {{aim?: number} | null} InHole   a pin, with its aim where one is given, or none
 * @typedef {{channel: string, step: number, was: InHole, now: InHole}} Change
 * @typedef {import("../face/face.js").Turn} Turn
 * @typedef {import("../face/face.js").Hole} Hole
 * @typedef {import("../face/face.js").Stretch} Stretch
 * @typedef {{wide: number, long: number, cells: {right: number, on: number, from: number, holds: {aim?: number}, held: number | null}[]}} Copy
 */

/** @param {InHole} a @param {InHole} b */
export const same = (a, b) => (a === null || b === null ? a === b : a.aim === b.aim);

/** @param {string} channel @param {number} step */
export const keyOf = (channel, step) => `${step} ${channel}`;

export class Pins {
  /** @param {Turn} turn  its channels' pins are kept in order of their steps */
  constructor(turn) {
    this.turn = turn;
    /** @type {Map<string, number>} */
    this.across = new Map(turn.channels.map((c, i) => [c.id, i]));
    /** @type {Map<number, number>[]} the aims that are given */
    this.aims = turn.channels.map((c) => new Map(Object.entries(c.aims ?? {}).map(([step, aim]) => [Number(step), aim])));
  }

  /** @param {number} across @param {number} step @returns {InHole} */
  at(across, step) {
    const { pins } = this.turn.channels[across];
    if (pins[firstNotBelow(pins, step)] !== step) return null;
    const aim = this.aims[across].get(step);
    return aim === undefined ? {} : { aim };
  }

  /** @param {number} across @param {number} step @param {InHole} holds */
  put(across, step, holds) {
    const { pins } = this.turn.channels[across];
    const i = firstNotBelow(pins, step);
    const is = pins[i] === step;
    if (holds && !is) pins.splice(i, 0, step);
    if (!holds && is) pins.splice(i, 1);
    if (holds?.aim !== undefined) this.aims[across].set(step, holds.aim);
    else this.aims[across].delete(step);
  }

  /** @param {number} step */
  wrap(step) {
    const n = this.turn.steps;
    return ((step % n) + n) % n;
  }

  /**
   * The aim at which a pin is held, or null where it follows.
   *
   * @param {number} across
   * @param {number} step
   * @param {InHole} holds
   */
  heldAim(across, step, holds) {
    if (holds?.aim === undefined) return null;
    const own = step + this.turn.channels[across].advance;
    return holds.aim !== own && this.wrap(holds.aim - own) === 0 ? null : holds.aim;
  }

  /**
   * What a pin becomes at another step: a held aim stays, and is written so
   * that it is not taken for one that follows.
   *
   * @param {number} across
   * @param {number} step
   * @param {number | null} held
   * @returns {{aim?: number}}
   */
  withAim(across, step, held) {
    if (held === null) return {};
    const own = step + this.turn.channels[across].advance;
    return { aim: this.wrap(held - own) === 0 ? own : held };
  }

  /**
   * The pins of a stretch.
   *
   * @param {Stretch} s
   */
  *in({ across, down, wide, long }) {
    for (let x = across; x < across + wide; x++) {
      const { pins } = this.turn.channels[x];
      for (let i = firstNotBelow(pins, down); i < pins.length && pins[i] < down + long; i++) yield { across: x, step: pins[i] };
    }
  }

  /** @param {Stretch} s */
  count(s) {
    let n = 0;
    for (const _ of this.in(s)) n++;
    return n;
  }

  /** A piece of work that starts from the pins as they are. */
  work() {
    return new Work(this);
  }

  /** @param {Hole} hole */
  driveOrPull({ across, down }) {
    const work = this.work();
    work.put(across, down, this.at(across, down) ? null : {});
    return work.changes;
  }

  /** @param {Stretch} s */
  clear(s) {
    const work = this.work();
    for (const { across, step } of this.in(s)) work.put(across, step, null);
    return work.changes;
  }

  /**
   * Moves the pins of a stretch, round the seam where they come to it. Pins
   * that stand where they come to stay. Null where there are no channels.
   *
   * @param {Stretch} s
   * @param {number} right  channels
   * @param {number} on  steps
   */
  move(s, right, on) {
    if (s.across + right < 0 || s.across + s.wide + right > this.turn.channels.length) return null;
    const work = this.work();
    const taken = [...this.in(s)].map(({ across, step }) => ({ across, step, held: this.heldAim(across, step, this.at(across, step)) }));
    for (const { across, step } of taken) work.put(across, step, null);
    for (const { across, step, held } of taken) {
      const to = this.wrap(step + on);
      work.put(across + right, to, this.withAim(across + right, to, held));
    }
    return work.changes;
  }

  /** @param {number} across @param {number} on */
  nudge(across, on) {
    return this.move({ across, down: 0, wide: 1, long: this.turn.steps }, 0, on) ?? [];
  }

  /** @param {Stretch} s @returns {Copy} */
  copy(s) {
    const cells = [...this.in(s)].map(({ across, step }) => {
      const holds = /** @type {{aim?: number}} */ (this.at(across, step));
      return { right: across - s.across, on: step - s.down, from: step, holds, held: this.heldAim(across, step, holds) };
    });
    return { wide: s.wide, long: s.long, cells };
  }

  /**
   * Lays a copy down: its holes come to hold what the copied ones did, empty
   * ones as well. A held aim goes as far as its pin.
   *
   * @param {Work} work
   * @param {Copy} copy
   * @param {number} across
   * @param {number} down
   * @param {number} [long]  how much of the copy, in steps
   */
  lay(work, copy, across, down, long = copy.long) {
    const wide = Math.min(copy.wide, this.turn.channels.length - across);
    for (let x = 0; x < wide; x++) {
      for (let y = 0; y < long; y++) {
        const step = this.wrap(down + y);
        if (this.at(across + x, step)) work.put(across + x, step, null);
      }
    }
    for (const { right, on, from, held } of copy.cells) {
      if (right >= wide || on >= long) continue;
      const to = this.wrap(down + on);
      const aim = held === null ? null : held + to - from;
      work.put(across + right, to, this.withAim(across + right, to, aim));
    }
    return work;
  }

  /**
   * Repeats a stretch from its own end to the end of the turn. The last time
   * may be cut by the seam.
   *
   * @param {Stretch} s
   */
  repeat(s) {
    const work = this.work();
    const copy = this.copy(s);
    for (let at = s.down + s.long; at < this.turn.steps; at += s.long) {
      this.lay(work, copy, s.across, at, Math.min(s.long, this.turn.steps - at));
    }
    return work.changes;
  }

  /**
   * Holds the aims of a stretch's pins as they are, or lets them follow.
   *
   * @param {Stretch} s
   * @param {boolean} hold
   */
  hold(s, hold) {
    const work = this.work();
    for (const { across, step } of this.in(s)) {
      const holds = this.at(across, step);
      if (!hold) work.put(across, step, {});
      else if (this.heldAim(across, step, holds) === null) work.put(across, step, { aim: step + this.turn.channels[across].advance });
    }
    return work.changes;
  }
}

/** What a piece of work makes of the holes it touches; each counts once. */
class Work {
  /** @param {Pins} pins */
  constructor(pins) {
    this.pins = pins;
    /** @type {Map<number, {across: number, step: number, now: InHole}>} */
    this.touched = new Map();
  }

  /** @param {number} across @param {number} step @param {InHole} now */
  put(across, step, now) {
    this.touched.set(across * this.pins.turn.steps + step, { across, step, now });
  }

  /** @returns {Change[]} those that change something */
  get changes() {
    const changes = [];
    for (const { across, step, now } of this.touched.values()) {
      const was = this.pins.at(across, step);
      if (!same(was, now)) changes.push({ channel: this.pins.turn.channels[across].id, step, was, now });
    }
    return changes;
  }
}
