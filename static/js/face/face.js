// @ts-check
// The wheel's face as someone standing in front of it sees it: channels
// across, the turn running down. Only what is in view is drawn.

import { drawGutter, drawHead, drawTurned } from "./edges.js";
import { cellAt, gutter, head, holeAt, lookedAt, middleOf, nearest, nearWithin, scrollInto, sizeOf, viewsOf } from "./geometry.js";
import { drawCarried, drawCursor, drawDiffer, drawHeldAims, drawHoles, drawLines, drawMarks, drawPins, drawResting, drawStretch } from "./paint.js";

/**
 * @typedef {{id: string, name: string, kind: string, row: number, resting: boolean, advance: number, pins: number[], aims?: Record<string, number>}} Channel
 * @typedef {{steps: number, steps_per_beat: number, beats_per_bar: number, channels: Channel[]}} Turn
 * @typedef {{kind: string, channel: number, step: number}} Mark
 * @typedef {import("./geometry.js").Hole} Hole
 * @typedef {{across: number, down: number, wide: number, long: number}} Stretch   channels and steps of a part of the face
 */

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
    this.attach();
  }

  /** Follows its window and the screen's colours. */
  attach() {
    const { scroll } = this;
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
    const of = { viewWidth: this.viewWidth, viewHeight: this.viewHeight, channels: turn.channels.length, steps: turn.steps };
    Object.assign(this, cellAt(this.near, of));
    Object.assign(this, sizeOf({ ...of, cellWidth: this.cellWidth, cellHeight: this.cellHeight }));
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

  /** @returns {import("./geometry.js").Layout} */
  get layout() {
    const { viewWidth, viewHeight, cellWidth, cellHeight, top, rolls } = this;
    const { channels, steps } = this.turn;
    return { viewWidth, viewHeight, left: this.scroll.scrollLeft, top, cellWidth, cellHeight, channels: channels.length, steps, rolls };
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
    const { scroll, layout } = this;
    this.near = nearWithin(near);
    this.measure();
    if (this.follows) return;
    if (under) {
      scroll.scrollTop = (under.hole.down + 0.5) * this.cellHeight + head - under.y;
      scroll.scrollLeft = (under.hole.across + 0.5) * this.cellWidth + gutter - under.x;
      return;
    }
    const { across, down } = lookedAt(layout, this.cursor);
    scroll.scrollTop = (down + 0.5) * this.cellHeight - (this.viewHeight - head) / 2;
    scroll.scrollLeft = (across + 0.5) * this.cellWidth - (this.viewWidth - gutter) / 2;
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
    return this.near === nearest;
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
    return holeAt(this.layout, x, y);
  }

  /**
   * The middle of a hole in the window.
   *
   * @param {Hole} hole
   */
  middleOf(hole) {
    return middleOf(this.layout, hole);
  }

  /**
   * Moves the cursor and brings it into view.
   *
   * @param {Hole} hole
   */
  moveTo(hole) {
    this.letGo();
    this.cursor = hole;
    const { scroll } = this;
    const { left, top } = scrollInto(this.layout, hole);
    if (left !== scroll.scrollLeft) scroll.scrollLeft = left;
    if (top !== scroll.scrollTop) scroll.scrollTop = top;
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
    return viewsOf(this.layout);
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
    drawResting(this, views[0]);
    for (const view of views) {
      if (h >= 10) drawHoles(this, view);
      drawLines(this, view);
      drawStretch(this, view);
      drawPins(this, view);
      if (h >= 10) drawHeldAims(this, view);
      drawMarks(this, view);
      drawDiffer(this, view);
      drawCarried(this, view);
      drawCursor(this, view);
    }
    ink.restore();
    drawGutter(this, views);
    drawTurned(this);
    drawHead(this, views[0]);
    this.onDrawn();
  }
}
