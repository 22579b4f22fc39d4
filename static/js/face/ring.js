// @ts-check
// The wheel from its side: where on the turn the face looks, where the cursor
// is, and where the pins stand close. Step 0 is at the top, the turn goes
// clockwise.

import { placeOf } from "../lib/places.js";

const parts = 120; // around; finer cannot be told apart

/**
 * The step that lies in a direction from the ring's middle.
 *
 * @param {number} right
 * @param {number} below
 * @param {number} steps
 */
export function stepTowards(right, below, steps) {
  const turn = Math.atan2(right, -below) / (2 * Math.PI);
  return Math.min(steps - 1, Math.floor((turn - Math.floor(turn)) * steps));
}

/**
 * Where a key takes one from a step, within the turn; undefined for other keys.
 *
 * @param {string} key
 * @param {number} at
 * @param {import("../lib/places.js").Grid} grid
 * @returns {number | undefined}
 */
export function stepByKey(key, at, { steps, steps_per_beat: beat, beats_per_bar: beats }) {
  const bar = beat * beats;
  /** @type {Record<string, number>} */
  const to = { ArrowRight: at + beat, ArrowUp: at + beat, ArrowLeft: at - beat, ArrowDown: at - beat, PageUp: at + bar, PageDown: at - bar, Home: 0, End: steps - 1 };
  return to[key] === undefined ? undefined : Math.max(0, Math.min(steps - 1, to[key]));
}

/**
 * Counts the pins of each part of the turn.
 *
 * @param {{pins: number[]}[]} channels
 * @param {number} steps
 * @param {number} parts  as many as there are steps at the most
 */
export function pinsPerPart(channels, steps, parts) {
  const pins = new Uint32Array(parts);
  for (const c of channels) for (const step of c.pins) pins[Math.floor((step * parts) / steps)]++;
  return pins;
}

export class Ring {
  /**
   * @param {HTMLCanvasElement} canvas  a slider over the turn
   * @param {import("./face.js").Face} face
   * @param {(step: number) => void} go
   */
  constructor(canvas, face, go) {
    this.canvas = canvas;
    this.face = face;
    this.go = go;
    this.ink = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    this.drawn = "";
    this.dense = new Path2D();
    canvas.addEventListener("pointerdown", (event) => this.point(event));
    canvas.addEventListener("pointermove", (event) => event.buttons & 1 && this.point(event));
    canvas.addEventListener("keydown", (event) => this.pressed(event));
    this.count();
  }

  /** @param {PointerEvent} event */
  point(event) {
    event.preventDefault();
    if (event.type === "pointerdown") {
      this.canvas.setPointerCapture(event.pointerId);
      this.canvas.focus({ preventScroll: true });
    }
    const box = this.canvas.getBoundingClientRect();
    this.go(stepTowards(event.clientX - box.left - box.width / 2, event.clientY - box.top - box.height / 2, this.face.turn.steps));
  }

  /** @param {KeyboardEvent} event */
  pressed(event) {
    const to = stepByKey(event.key, this.at, this.face.turn);
    if (to === undefined || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    this.go(to);
  }

  get at() {
    return this.face.cursor?.down ?? Math.floor(this.face.inView.from);
  }

  /** Counts the pins of each part of the turn. */
  count() {
    const { channels, steps } = this.face.turn;
    const n = Math.min(parts, steps);
    const pins = pinsPerPart(channels, steps, n);
    const most = Math.max(1, ...pins);
    this.dense = new Path2D();
    pins.forEach((count, i) => {
      if (!count) return;
      const turn = ((i + 0.5) / n) * 2 * Math.PI - Math.PI / 2;
      const long = 0.12 + (0.3 * count) / most;
      this.dense.moveTo(Math.cos(turn) * 0.74, Math.sin(turn) * 0.74);
      this.dense.lineTo(Math.cos(turn) * (0.74 - long), Math.sin(turn) * (0.74 - long));
    });
    this.drawn = "";
    this.show();
  }

  /** Draws the ring if anything of it has changed. */
  show() {
    const { face, canvas, ink } = this;
    const { turn, colours, inView, cursor, at: turned } = face;
    const box = canvas.clientWidth;
    const ratio = devicePixelRatio || 1;
    const now = [inView.from, inView.long, cursor?.down, turned, box, ratio, colours?.ink].join();
    if (now === this.drawn || !box || !colours) return;
    this.drawn = now;
    const at = Math.min(this.at, turn.steps - 1);
    canvas.setAttribute("aria-valuemax", String(turn.steps - 1));
    canvas.setAttribute("aria-valuenow", String(at));
    canvas.setAttribute("aria-valuetext", `${placeOf(turn, at)}, step ${at} of ${turn.steps}`);
    const size = Math.round(box * ratio);
    if (canvas.width !== size) canvas.width = canvas.height = size;
    ink.setTransform(size / 2, 0, 0, size / 2, size / 2, size / 2);
    ink.clearRect(-1, -1, 2, 2);
    const px = 2 / box;
    const angle = (/** @type {number} */ step) => (step / turn.steps) * 2 * Math.PI - Math.PI / 2;
    ink.strokeStyle = colours.ink;
    ink.lineWidth = 1.5 * px;
    ink.beginPath();
    ink.arc(0, 0, 0.78, 0, 2 * Math.PI);
    ink.stroke();
    ink.lineWidth = Math.min(0.035, 2 * px);
    ink.stroke(this.dense);
    ink.strokeStyle = colours.accent;
    ink.lineWidth = 5 * px;
    ink.beginPath();
    ink.arc(0, 0, 0.9, angle(inView.from), Math.max(angle(inView.from + inView.long), angle(inView.from) + 0.06));
    ink.stroke();
    ink.lineWidth = 2.5 * px;
    ink.setLineDash([4 * px, 3 * px]);
    ink.beginPath();
    ink.moveTo(0, -0.98);
    ink.lineTo(0, -0.3);
    ink.stroke();
    ink.setLineDash([]);
    ink.fillStyle = colours.accent;
    if (cursor) this.index(angle(cursor.down + 0.5), 0.62, 0.82);
    ink.fillStyle = colours.ink;
    if (turned !== null) this.index(angle(turned + 0.5), 1, 0.8);
  }

  /** A triangle that points from one radius to another. @param {number} angle @param {number} from @param {number} to */
  index(angle, from, to) {
    const { ink } = this;
    ink.beginPath();
    ink.moveTo(Math.cos(angle) * to, Math.sin(angle) * to);
    ink.lineTo(Math.cos(angle - 0.13) * from, Math.sin(angle - 0.13) * from);
    ink.lineTo(Math.cos(angle + 0.13) * from, Math.sin(angle + 0.13) * from);
    ink.fill();
  }
}
