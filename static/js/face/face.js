// @ts-check
// The wheel's face as someone standing in front of it sees it: channels
// across, the turn running down. Only what is in view is drawn.

import { firstNotBelow } from "../lib/sorted.js";
import { drawDifference, drawHeld, drawMark } from "./marks.js";

/**
 * @typedef {{id: string, name: string, kind: string, row: number, resting: boolean, advance: number, pins: number[], aims?: Record<string, number>}} Channel
 * @typedef {{steps: number, steps_per_beat: number, beats_per_bar: number, channels: Channel[]}} Turn
 * @typedef {{kind: string, channel: number, step: number}} Mark
 * @typedef {{across: number, down: number}} Hole   the index of a channel, and a step
 */

/** @typedef {import("../desk/pins.js").Stretch} Stretch */

/** How near one can look: the least width and the height of a hole's cell, in CSS pixels. */
const scales = [
  { width: 14, widest: 30, height: 5 },
  { width: 22, widest: 40, height: 13 },
  { width: 60, widest: 76, height: 56 },
];

const head = 118; // the channels' names
const gutter = 64; // bars and beats
const foot = 22; // below the turn, for the seam

export class Face {
  /**
   * @param {HTMLElement} scroll  the window that scrolls over the face
   * @param {HTMLElement} size    as large as the face, so that it scrolls
   * @param {HTMLCanvasElement} canvas
   * @param {Turn} turn
   */
  constructor(scroll, size, canvas, turn) {
    this.scroll = scroll;
    this.size = size;
    this.canvas = canvas;
    this.turn = turn;
    this.ink = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    /** @type {Map<number, Mark[]>} findings by channel */
    this.marks = new Map();
    /** @type {Map<number, Map<number, string>>} the kinds at a channel's steps, for reading out */
    this.marksAt = new Map();
    /** @type {Hole | null} */
    this.cursor = null;
    /** @type {Hole | null} */
    this.pointed = null;
    /** @type {Map<string, string>} */
    this.names = new Map();
    /** @type {number | null} the step under the line, where the wheel was turned */
    this.at = null;
    /** @type {Stretch | null} what is selected */
    this.stretch = null;
    /** @type {{across: number, step: number}[]} where the pins that are carried would be set down */
    this.carried = [];
    /** @type {Map<number, {step: number, kind: string}[]> | null} by channel, what differs of two sets of pins laid over each other */
    this.differ = null;
    /** @type {(across: number, step: number) => boolean} whether a pin's aim is held */
    this.isHeld = () => false;
    /** @type {() => void} */
    this.onDrawn = () => {};
    this.follows = false; // the face goes with the wheel, and the line stays
    this.ownTop = 0; // where following has put the scroll
    this.near = 1; // index in scales; −1 is the whole turn
    this.viewWidth = this.viewHeight = 0;
    this.cellWidth = this.cellHeight = 1;
    this.width = this.height = 0;
    this.ratio = 1;
    /** @type {CanvasPattern | null} */
    this.tile = null;
    /** @type {Record<"sheet" | "ink" | "soft" | "line" | "faint" | "accent" | "wash" | "hole", string>} */
    this.colours = { sheet: "", ink: "", soft: "", line: "", faint: "", accent: "", wash: "", hole: "" };
    this.text = "";
    this.drawn = 0; // milliseconds the last drawing took
    this.waiting = false;
    this.readColours();
    this.measure();
    scroll.addEventListener(
      "scroll",
      () => {
        const same = scroll.clientHeight === this.viewHeight; // the window's size did not move it
        if (this.rolls && same && Math.abs(scroll.scrollTop - this.ownTop) > 2) this.letGo();
        this.redraw();
      },
      { passive: true },
    );
    new ResizeObserver(() => {
      this.measure();
      this.draw(); // a canvas that changes its size is empty until it is drawn on
    }).observe(scroll);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
      this.readColours();
      this.redraw();
    });
  }

  readColours() {
    const style = getComputedStyle(document.documentElement);
    const colour = (/** @type {string} */ name) => style.getPropertyValue(name).trim();
    this.colours = {
      sheet: colour("--sheet"),
      ink: colour("--ink"),
      soft: colour("--soft"),
      line: colour("--line"),
      faint: colour("--faint"),
      accent: colour("--accent"),
      wash: colour("--wash"),
      hole: colour("--hole"),
    };
    this.text = style.getPropertyValue("--text");
    this.tile = null;
  }

  /** Fits the face to its window at the present scale. */
  measure() {
    const { scroll, turn } = this;
    this.viewWidth = scroll.clientWidth;
    this.viewHeight = scroll.clientHeight;
    const room = this.viewWidth - gutter - 12;
    const across = room / turn.channels.length;
    if (this.near < 0) {
      this.cellWidth = Math.max(2, Math.min(30, across));
      this.cellHeight = Math.max(0.05, (this.viewHeight - head - foot) / turn.steps);
    } else {
      const scale = scales[this.near];
      this.cellWidth = Math.max(scale.width, Math.min(scale.widest, Math.floor(across)));
      this.cellHeight = scale.height;
    }
    this.width = gutter + this.cellWidth * turn.channels.length + 12;
    this.height = head + this.cellHeight * turn.steps + foot;
    this.size.style.width = `${Math.max(this.width, this.viewWidth)}px`;
    this.size.style.height = `${Math.max(this.height, this.viewHeight)}px`;
    const ratio = devicePixelRatio || 1;
    this.canvas.width = Math.round(this.viewWidth * ratio);
    this.canvas.height = Math.round(this.viewHeight * ratio);
    this.canvas.style.width = `${this.viewWidth}px`;
    this.canvas.style.height = `${this.viewHeight}px`;
    this.ratio = ratio;
    this.tile = null;
    if (this.at !== null) this.turnTo(this.at, this.follows);
    this.redraw();
  }

  /** What of the turn, in pixels from the seam, is at the top of the view. */
  get top() {
    return this.rolls ? /** @type {number} */ (this.at) * this.cellHeight - this.lineBelow : this.scroll.scrollTop;
  }

  /** Whether the face rolls under the line: a turn that is all in view does not. */
  get rolls() {
    return this.follows && this.at !== null && this.cellHeight * this.turn.steps > this.viewHeight - head;
  }

  /** How far below the names the line stays while the face follows. */
  get lineBelow() {
    return Math.round((this.viewHeight - head) * 0.3);
  }

  /**
   * Shows that a step, or a part of one past it, stands under the line. The
   * face follows: the end of the turn comes before its beginning, as on the
   * wheel.
   *
   * @param {number | null} at  null where nothing is to be shown
   * @param {boolean} follow
   */
  turnTo(at, follow) {
    if (at === null && this.at === null) return;
    this.at = at;
    this.follows = follow && at !== null;
    if (this.rolls) {
      this.scroll.scrollTop = this.top;
      this.ownTop = this.scroll.scrollTop;
    }
    this.redraw();
  }

  /** Someone looks elsewhere: the face stays there. */
  letGo() {
    if (!this.follows) return;
    this.follows = false;
    this.scroll.dispatchEvent(new Event("letgo"));
  }

  /**
   * Looks from nearer or farther, and keeps in place a hole that is under the
   * pointer, or the cursor, or where that is out of view the middle.
   *
   * @param {number} near
   * @param {{hole: Hole, x: number, y: number}} [under]
   */
  look(near, under) {
    if (this.follows) {
      this.near = Math.max(-1, Math.min(scales.length - 1, near));
      this.measure();
      return;
    }
    const { scroll, cellWidth: w, cellHeight: h } = this;
    if (under) {
      this.near = Math.max(-1, Math.min(scales.length - 1, near));
      this.measure();
      scroll.scrollTop = (under.hole.down + 0.5) * this.cellHeight + head - under.y;
      scroll.scrollLeft = (under.hole.across + 0.5) * this.cellWidth + gutter - under.x;
      return;
    }
    let mid = (scroll.scrollTop + (this.viewHeight - head) / 2) / h;
    let side = (scroll.scrollLeft + (this.viewWidth - gutter) / 2) / w;
    const sees = (/** @type {number} */ at, /** @type {number} */ from, /** @type {number} */ room) => at >= from && at < from + room;
    const { across = -1, down = -1 } = this.cursor ?? {};
    if (sees(down * h, scroll.scrollTop, this.viewHeight - head) && sees(across * w, scroll.scrollLeft, this.viewWidth - gutter)) {
      mid = down;
      side = across;
    }
    this.near = Math.max(-1, Math.min(scales.length - 1, near));
    this.measure();
    this.scroll.scrollTop = (mid + 0.5) * this.cellHeight - (this.viewHeight - head) / 2;
    this.scroll.scrollLeft = (side + 0.5) * this.cellWidth - (this.viewWidth - gutter) / 2;
  }

  /** What a finger can be sure to hit: WCAG 2.2, 2.5.8, 24 CSS pixels. */
  get fitsFinger() {
    return Math.min(this.cellWidth, this.cellHeight) >= 24;
  }

  /** What can be told apart by a pointer. */
  get fitsPointer() {
    return this.cellHeight >= 10 && this.cellWidth >= 10;
  }

  /** The first step in view, and how many there are. */
  get inView() {
    const { steps } = this.turn;
    const long = Math.min(steps, (this.viewHeight - head) / this.cellHeight);
    return { from: Math.max(0, this.top / this.cellHeight), long };
  }

  get nearest() {
    return this.near === scales.length - 1;
  }

  /** @param {Mark[]} marks */
  setMarks(marks) {
    this.marks.clear();
    this.marksAt.clear();
    for (const mark of marks) {
      const list = this.marks.get(mark.channel) ?? [];
      const at = this.marksAt.get(mark.channel) ?? new Map();
      const before = at.get(mark.step);
      if (!before?.split(", ").includes(mark.kind)) {
        at.set(mark.step, before ? `${before}, ${mark.kind}` : mark.kind);
        list.push(mark);
      }
      this.marks.set(mark.channel, list);
      this.marksAt.set(mark.channel, at);
    }
    for (const list of this.marks.values()) list.sort((a, b) => a.step - b.step);
    this.redraw();
  }

  /**
   * The hole at a point of the window, or null.
   *
   * @param {number} x
   * @param {number} y
   * @returns {Hole | null}
   */
  holeAt(x, y) {
    if (x < gutter || y < head) return null;
    const across = Math.floor((x - gutter + this.scroll.scrollLeft) / this.cellWidth);
    const down = Math.floor((y - head + this.top) / this.cellHeight);
    const { channels, steps } = this.turn;
    if (across >= channels.length || (down >= steps && !this.rolls)) return null;
    return { across, down: (down + steps) % steps };
  }

  /**
   * The middle of a hole in the window.
   *
   * @param {Hole} hole
   */
  middleOf({ across, down }) {
    return {
      x: gutter - this.scroll.scrollLeft + (across + 0.5) * this.cellWidth,
      y: head - this.top + (down + 0.5) * this.cellHeight,
    };
  }

  /**
   * Moves the cursor and brings it into view.
   *
   * @param {Hole} hole
   */
  moveTo(hole) {
    this.letGo();
    this.cursor = hole;
    const { scroll, cellWidth, cellHeight } = this;
    const left = hole.across * cellWidth;
    const top = hole.down * cellHeight;
    const roomX = this.viewWidth - gutter - cellWidth * 2;
    const roomY = this.viewHeight - head - cellHeight * 3;
    if (left < scroll.scrollLeft + cellWidth) scroll.scrollLeft = left - cellWidth;
    else if (left > scroll.scrollLeft + roomX) scroll.scrollLeft = left - roomX;
    if (top < scroll.scrollTop + cellHeight) scroll.scrollTop = top - cellHeight * 2;
    else if (top > scroll.scrollTop + roomY) scroll.scrollTop = top - roomY;
    this.redraw();
  }

  /**
   * Brings a step to the middle of the view.
   *
   * @param {number} step
   */
  turnTowards(step) {
    this.letGo();
    this.scroll.scrollTop = (step + 0.5) * this.cellHeight - (this.viewHeight - head) / 2;
    this.redraw();
  }

  /**
   * A channel's name as far as there is room for it.
   *
   * @param {string} name
   */
  fitted(name) {
    let fit = this.names.get(name);
    if (fit === undefined) {
      fit = name;
      for (let n = Math.min(name.length, 40); n > 0 && this.ink.measureText(fit).width > head - 14; n--) fit = `${name.slice(0, n)}…`;
      this.names.set(name, fit);
    }
    return fit;
  }

  /** Draws in the next frame, once however often it is asked. */
  redraw() {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      if ((devicePixelRatio || 1) !== this.ratio) this.measure(); // the page was zoomed, or moved to another screen
      const start = performance.now();
      this.draw();
      this.drawn = performance.now() - start;
    });
  }

  /** The turns in view: one, or the two that meet at the seam as the face rolls. */
  get views() {
    const { turn, cellWidth: w, cellHeight: h, viewWidth, viewHeight, top } = this;
    const x0 = gutter - this.scroll.scrollLeft;
    const firstAcross = Math.max(0, Math.floor((gutter - x0) / w));
    const lastAcross = Math.min(turn.channels.length - 1, Math.ceil((viewWidth - x0) / w));
    const right = Math.min(viewWidth, x0 + w * turn.channels.length);
    const round = turn.steps * h;
    const [first, last] = this.rolls ? [Math.floor(top / round), Math.floor((top + viewHeight - head) / round)] : [0, 0];
    const views = [];
    for (let n = first; n <= last; n++) {
      const y0 = head - top + n * round;
      const firstStep = Math.max(0, Math.floor((head - y0) / h));
      const lastStep = Math.min(turn.steps - 1, Math.ceil((viewHeight - y0) / h));
      views.push({ x0, y0, firstStep, lastStep, firstAcross, lastAcross, right });
    }
    return views;
  }

  draw() {
    const { ink, colours, cellHeight: h, viewWidth, viewHeight, views } = this;
    if (!viewWidth || !viewHeight) return;

    ink.setTransform(this.ratio, 0, 0, this.ratio, 0, 0);
    ink.fillStyle = colours.sheet;
    ink.fillRect(0, 0, viewWidth, viewHeight);

    ink.save();
    ink.beginPath();
    ink.rect(gutter, head, viewWidth - gutter, viewHeight - head);
    ink.clip();
    this.drawResting(views[0]);
    for (const view of views) {
      if (h >= 10) this.drawHoles(view);
      this.drawLines(view);
      this.drawStretch(view);
      this.drawPins(view);
      if (h >= 10) this.drawHeldAims(view);
      this.drawMarks(view);
      this.drawDiffer(view);
      this.drawCarried(view);
      this.drawCursor(view);
    }
    ink.restore();
    this.drawGutter(views);
    this.drawTurned();
    this.drawHead(views[0]);
    this.onDrawn();
  }

  /** @param {View} view */
  drawStretch({ x0, y0 }) {
    if (!this.stretch) return;
    const { ink, colours, cellWidth: w, cellHeight: h } = this;
    const { across, down, wide, long } = this.stretch;
    const tall = Math.max(long * h, 4);
    ink.fillStyle = colours.wash;
    ink.globalAlpha = 0.75;
    ink.fillRect(x0 + across * w, y0 + down * h, wide * w, tall);
    ink.globalAlpha = 1;
    ink.strokeStyle = colours.accent;
    ink.lineWidth = 2;
    ink.setLineDash([2, 3]);
    ink.strokeRect(x0 + across * w + 0.5, y0 + down * h + 0.5, wide * w - 1, tall - 1);
    ink.setLineDash([]);
  }

  /** @param {View} view */
  drawHeldAims({ x0, y0, firstStep, lastStep, firstAcross, lastAcross }) {
    const { ink, turn, colours, cellWidth: w, cellHeight: h } = this;
    const r = Math.min(w * 0.36, h * 0.36, 8);
    for (let i = firstAcross; i <= lastAcross; i++) {
      const { pins } = turn.channels[i];
      for (let k = firstNotBelow(pins, firstStep); k < pins.length && pins[k] <= lastStep; k++) {
        if (this.isHeld(i, pins[k])) drawHeld(ink, x0 + (i + 0.5) * w, y0 + (pins[k] + 0.5) * h, r, colours.sheet);
      }
    }
  }

  /** @param {View} view */
  drawDiffer({ x0, y0, firstStep, lastStep, firstAcross, lastAcross }) {
    if (!this.differ) return;
    const { ink, colours, cellWidth: w, cellHeight: h } = this;
    const r = Math.max(5, Math.min(w * 0.36, h * 0.36, 8) + 4);
    for (let i = firstAcross; i <= lastAcross; i++) {
      const list = this.differ.get(i) ?? [];
      let lastY = -Infinity;
      for (let k = firstNotBelow(list, firstStep, stepOf); k < list.length && list[k].step <= lastStep; k++) {
        const y = y0 + (list[k].step + 0.5) * h;
        if (y - lastY < 2) continue; // one where several would lie on each other
        lastY = y;
        drawDifference(ink, list[k].kind, x0 + (i + 0.5) * w, y, r, colours.ink, colours.sheet);
      }
    }
  }

  /** @param {View} view */
  drawCarried({ x0, y0, firstStep, lastStep, firstAcross, lastAcross }) {
    const { ink, colours, cellWidth: w, cellHeight: h } = this;
    const r = Math.max(2, Math.min(w * 0.36, h * 0.36, 8));
    ink.strokeStyle = colours.accent;
    ink.fillStyle = colours.sheet;
    ink.lineWidth = 2;
    for (const { across, step } of this.carried) {
      if (across < firstAcross || across > lastAcross || step < firstStep || step > lastStep) continue;
      ink.beginPath();
      ink.arc(x0 + (across + 0.5) * w, y0 + (step + 0.5) * h, r, 0, Math.PI * 2);
      ink.fill();
      ink.stroke();
    }
  }

  /** @param {View} view */
  drawResting({ x0, firstAcross, lastAcross }) {
    const { ink, turn, colours, cellWidth: w } = this;
    ink.fillStyle = colours.faint;
    for (let i = firstAcross; i <= lastAcross; i++) {
      if (turn.channels[i].resting) ink.fillRect(x0 + i * w, head, w, this.viewHeight - head);
    }
  }

  /**
   * One hole, drawn once, laid over the view as a pattern.
   *
   * @param {View} view
   */
  drawHoles({ x0, y0, firstStep, lastStep, firstAcross, lastAcross }) {
    const { ink, colours, cellWidth: w, cellHeight: h, ratio } = this;
    if (!this.tile) {
      const tile = new OffscreenCanvas(Math.max(1, Math.round(w * ratio)), Math.max(1, Math.round(h * ratio)));
      const t = /** @type {OffscreenCanvasRenderingContext2D} */ (tile.getContext("2d"));
      t.scale(tile.width / w, tile.height / h);
      t.strokeStyle = colours.hole;
      t.lineWidth = 1;
      t.beginPath();
      t.arc(w / 2, h / 2, Math.min(Math.min(w, h) * 0.2, 5.5), 0, Math.PI * 2);
      t.stroke();
      this.tile = ink.createPattern(tile, "repeat");
      this.tile?.setTransform(new DOMMatrix([w / tile.width, 0, 0, h / tile.height, 0, 0]));
    }
    if (!this.tile) return;
    const left = x0 + firstAcross * w;
    const top = y0 + firstStep * h;
    ink.save();
    ink.translate(left, top);
    ink.fillStyle = this.tile;
    ink.fillRect(0, 0, (lastAcross - firstAcross + 1) * w, (lastStep - firstStep + 1) * h);
    ink.restore();
  }

  /** @param {View} view */
  drawLines({ x0, y0, firstStep, lastStep, right }) {
    const { ink, turn, colours, cellHeight: h } = this;
    const beat = turn.steps_per_beat;
    const bar = beat * turn.beats_per_bar;
    const level = (/** @type {number} */ step) => Math.round(y0 + step * h) + 0.5;
    const rule = (/** @type {number} */ every, /** @type {string} */ colour, /** @type {number} */ width) => {
      if (every * h < 5) return;
      ink.strokeStyle = colour;
      ink.lineWidth = width;
      ink.beginPath();
      for (let s = Math.ceil(firstStep / every) * every; s <= lastStep; s += every) {
        ink.moveTo(gutter, level(s));
        ink.lineTo(right, level(s));
      }
      ink.stroke();
    };
    rule(beat, colours.faint, 1);
    rule(bar, colours.soft, 1);
    ink.strokeStyle = colours.accent;
    ink.lineWidth = 3;
    ink.setLineDash([10, 5]);
    ink.beginPath();
    for (const s of [0, turn.steps]) {
      ink.moveTo(gutter, level(s));
      ink.lineTo(Math.max(right, x0), level(s));
    }
    ink.stroke();
    ink.setLineDash([]);
  }

  /** @param {View} view */
  drawPins({ x0, y0, firstStep, lastStep, firstAcross, lastAcross }) {
    const { ink, turn, colours, cellWidth: w, cellHeight: h } = this;
    ink.fillStyle = colours.ink;
    const round = h >= 10;
    const r = Math.min(w * 0.36, h * 0.36, 8);
    const tall = Math.max(1, Math.min(h * 0.8, 8));
    // Thousands of rectangles are filled faster one by one than as one path.
    ink.beginPath();
    for (let i = firstAcross; i <= lastAcross; i++) {
      const { pins } = turn.channels[i];
      const x = x0 + (i + 0.5) * w;
      for (let k = firstNotBelow(pins, firstStep); k < pins.length && pins[k] <= lastStep; k++) {
        const y = y0 + (pins[k] + 0.5) * h;
        if (round) {
          ink.moveTo(x + r, y);
          ink.arc(x, y, r, 0, Math.PI * 2);
        } else {
          ink.fillRect(x - w * 0.36, y - tall / 2, w * 0.72, tall);
        }
      }
    }
    ink.fill();
  }

  /** @param {View} view */
  drawMarks({ x0, y0, firstStep, lastStep, firstAcross, lastAcross }) {
    const { ink, colours, cellWidth: w, cellHeight: h } = this;
    const words = h >= 24;
    const round = h >= 10;
    const r = Math.min(w * 0.36, h * 0.36, 8);
    const size = round ? Math.min(15, h * 0.85) : 9;
    ink.textBaseline = "middle";
    ink.textAlign = "center";
    ink.font = `600 11px ${this.text}`;
    for (const [i, marks] of this.marks) {
      if (i < firstAcross || i > lastAcross) continue;
      let lastY = -Infinity;
      for (let k = firstNotBelow(marks, firstStep, stepOf); k < marks.length && marks[k].step <= lastStep; k++) {
        const mark = marks[k];
        const x = x0 + (i + 0.5) * w;
        const y = y0 + (mark.step + 0.5) * h;
        if (y - lastY < (round ? 0.1 : 8)) continue; // one mark where several would lie on each other
        lastY = y;
        if (!round) {
          const beside = w >= 20 ? x + w * 0.36 + size / 2 + 1 : x;
          ink.fillStyle = colours.sheet;
          ink.fillRect(beside - size / 2 - 1, y - size / 2 - 1, size + 2, size + 2);
          drawMark(ink, mark.kind, beside, y, size, colours.accent);
          continue;
        }
        ink.strokeStyle = colours.accent;
        ink.lineWidth = 2;
        ink.beginPath();
        ink.arc(x, y, r + 2, 0, Math.PI * 2);
        ink.stroke();
        drawMark(ink, mark.kind, x + r + 4 + size / 2, y, size, colours.accent);
        const kinds = this.marksAt.get(i)?.get(mark.step)?.split(", ") ?? [mark.kind];
        ink.fillStyle = colours.accent;
        for (let n = 1; n < kinds.length; n++) {
          ink.fillRect(x + r + 4 + (n - 1) * 4, y + size / 2 + 0.5, 2.5, 2.5);
        }
        if (words) {
          const wide = Math.max(...kinds.map((kind) => ink.measureText(kind).width));
          ink.fillStyle = colours.sheet;
          ink.fillRect(x - wide / 2 - 2, y + r + 4, wide + 4, kinds.length * 12);
          ink.fillStyle = colours.accent;
          kinds.forEach((kind, n) => ink.fillText(kind, x, y + r + 10 + n * 12));
        }
      }
    }
  }

  /** @param {View} view */
  drawCursor({ x0, y0 }) {
    const { ink, colours, cellWidth: w, cellHeight: h } = this;
    for (const [hole, colour, width] of /** @type {[Hole | null, string, number][]} */ ([
      [this.pointed, colours.soft, 1],
      [this.cursor, colours.accent, 2.5],
    ])) {
      if (!hole) continue;
      const tall = Math.max(h, 7);
      ink.strokeStyle = colour;
      ink.lineWidth = width;
      ink.strokeRect(x0 + hole.across * w + 0.5, y0 + (hole.down + 0.5) * h - tall / 2 + 0.5, w - 1, tall - 1);
    }
  }

  /** @param {View[]} views */
  drawGutter(views) {
    const { ink, turn, colours, cellHeight: h, viewHeight } = this;
    const beat = turn.steps_per_beat;
    const bar = beat * turn.beats_per_bar;
    ink.save();
    ink.fillStyle = colours.sheet;
    ink.fillRect(0, 0, gutter, viewHeight);
    ink.beginPath();
    ink.rect(0, head, gutter, viewHeight - head);
    ink.clip();
    ink.textBaseline = "top";
    const every = bar * Math.max(1, Math.ceil(17 / (bar * h)));
    for (const { y0, firstStep, lastStep } of views) {
      ink.textAlign = "left";
      for (let s = Math.floor(firstStep / every) * every; s <= lastStep; s += every) {
        ink.font = `700 13px ${this.text}`;
        ink.fillStyle = s === 0 ? colours.accent : colours.ink;
        const y = y0 + s * h + (s === 0 ? 4 : 3);
        ink.fillText(s === 0 ? "seam 1" : `${s / bar + 1}`, 8, y);
      }
      if (beat * h >= 18) {
        ink.textAlign = "right";
        ink.font = `400 12px ${this.text}`;
        ink.fillStyle = colours.soft;
        for (let s = Math.floor(firstStep / beat) * beat; s <= lastStep; s += beat) {
          if (s % bar) ink.fillText(`${(s % bar) / beat + 1}`, gutter - 8, y0 + s * h + 3);
        }
      }
    }
    if (!this.rolls) {
      ink.textAlign = "left";
      ink.font = `700 13px ${this.text}`;
      ink.fillStyle = colours.accent;
      ink.fillText("seam", 8, views[0].y0 + turn.steps * h + 4);
    }
    ink.restore();
    ink.strokeStyle = colours.ink;
    ink.lineWidth = 1.5;
    ink.beginPath();
    ink.moveTo(gutter - 0.75, 0);
    ink.lineTo(gutter - 0.75, viewHeight);
    ink.stroke();
  }

  /** The line that the wheel turns under, and its index beside the bars. */
  drawTurned() {
    if (this.at === null) return;
    const { ink, colours, viewWidth, viewHeight } = this;
    const y = head - this.top + (this.at + 0.5) * this.cellHeight;
    if (y < head || y > viewHeight) return;
    ink.strokeStyle = ink.fillStyle = colours.accent;
    ink.lineWidth = 2;
    ink.beginPath();
    ink.moveTo(gutter - 12, y);
    ink.lineTo(viewWidth, y);
    ink.stroke();
    ink.beginPath();
    ink.moveTo(gutter - 20, y - 7);
    ink.lineTo(gutter - 3, y);
    ink.lineTo(gutter - 20, y + 7);
    ink.fill();
  }

  /** @param {View} view */
  drawHead({ x0, firstAcross, lastAcross }) {
    const { ink, turn, colours, cellWidth: w, viewWidth } = this;
    ink.save();
    ink.fillStyle = colours.sheet;
    ink.fillRect(0, 0, viewWidth, head);
    ink.fillStyle = colours.soft;
    ink.textAlign = "left";
    ink.textBaseline = "bottom";
    ink.font = `400 12px ${this.text}`;
    ink.fillText("bar, beat", 6, head - 6);
    ink.beginPath();
    ink.rect(gutter, 0, viewWidth - gutter, head);
    ink.clip();
    const every = Math.max(1, Math.ceil(11 / w));
    ink.textBaseline = "middle";
    for (let i = firstAcross - (firstAcross % every); i <= lastAcross; i += every) {
      const channel = turn.channels[i];
      ink.save();
      ink.translate(x0 + (i + 0.5) * w, head - 8);
      ink.rotate(-Math.PI / 2);
      const here = this.cursor?.across === i;
      const two = w >= 26; // room for a second line
      ink.font = `${here ? 700 : 400} 13px ${this.text}`;
      ink.fillStyle = channel.resting ? colours.soft : here ? colours.accent : colours.ink;
      ink.fillText(this.fitted(channel.resting && !two ? `${channel.name}, resting` : channel.name), 0, two ? -6 : 0);
      if (two) {
        const found = this.marks.get(i)?.length ?? 0;
        const state = channel.resting ? ", resting" : found ? `, ${found} found` : "";
        ink.font = `400 11px ${this.text}`;
        ink.fillStyle = found && !channel.resting ? colours.accent : colours.soft;
        ink.fillText(this.fitted(`${channel.kind}, ${channel.pins.length} ${channel.pins.length === 1 ? "pin" : "pins"}${state}`), 0, 7);
      }
      ink.restore();
    }
    ink.restore();
    ink.strokeStyle = colours.ink;
    ink.lineWidth = 1.5;
    ink.beginPath();
    ink.moveTo(0, head - 0.75);
    ink.lineTo(viewWidth, head - 0.75);
    ink.stroke();
  }
}

/** @typedef {{x0: number, y0: number, firstStep: number, lastStep: number, firstAcross: number, lastAcross: number, right: number}} View */

/** @param {{step: number}} at */
const stepOf = (at) => at.step;
