// @ts-check
// What lies on the face: its holes, its lines, its pins and all that is marked.
// Only what is in view is drawn.

import { firstNotBelow } from "../lib/sorted.js";
import { gutter, head } from "./geometry.js";
import { drawDifference, drawHeld, drawMark } from "./marks.js";

/**
 * @typedef {import("./face.js").Face} Face
 * @typedef {import("./face.js").Hole} Hole
 * @typedef {import("./geometry.js").View} View
 */

/** @param {{step: number}} at */
const stepOf = (at) => at.step;

/** @param {Face} face @param {View} view */
export function drawStretch(face, { x0, y0 }) {
  if (!face.stretch) return;
  const { ink, colours, cellWidth: w, cellHeight: h } = face;
  const { across, down, wide, long } = face.stretch;
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

/** @param {Face} face @param {View} view */
export function drawHeldAims(face, { x0, y0, firstStep, lastStep, firstAcross, lastAcross }) {
  const { ink, turn, colours, cellWidth: w, cellHeight: h } = face;
  const r = Math.min(w * 0.36, h * 0.36, 8);
  for (let i = firstAcross; i <= lastAcross; i++) {
    const { pins } = turn.channels[i];
    for (let k = firstNotBelow(pins, firstStep); k < pins.length && pins[k] <= lastStep; k++) {
      if (face.isHeld(i, pins[k])) drawHeld(ink, x0 + (i + 0.5) * w, y0 + (pins[k] + 0.5) * h, r, colours.sheet);
    }
  }
}

/** @param {Face} face @param {View} view */
export function drawDiffer(face, { x0, y0, firstStep, lastStep, firstAcross, lastAcross }) {
  if (!face.differ) return;
  const { ink, colours, cellWidth: w, cellHeight: h } = face;
  const r = Math.max(5, Math.min(w * 0.36, h * 0.36, 8) + 4);
  for (let i = firstAcross; i <= lastAcross; i++) {
    const list = face.differ.get(i) ?? [];
    let lastY = -Infinity;
    for (let k = firstNotBelow(list, firstStep, stepOf); k < list.length && list[k].step <= lastStep; k++) {
      const y = y0 + (list[k].step + 0.5) * h;
      if (y - lastY < 2) continue; // one where several would lie on each other
      lastY = y;
      drawDifference(ink, list[k].kind, x0 + (i + 0.5) * w, y, r, colours.ink, colours.sheet);
    }
  }
}

/** @param {Face} face @param {View} view */
export function drawCarried(face, { x0, y0, firstStep, lastStep, firstAcross, lastAcross }) {
  const { ink, colours, cellWidth: w, cellHeight: h } = face;
  const r = Math.max(2, Math.min(w * 0.36, h * 0.36, 8));
  ink.strokeStyle = colours.accent;
  ink.fillStyle = colours.sheet;
  ink.lineWidth = 2;
  for (const { across, step } of face.carried) {
    if (across < firstAcross || across > lastAcross || step < firstStep || step > lastStep) continue;
    ink.beginPath();
    ink.arc(x0 + (across + 0.5) * w, y0 + (step + 0.5) * h, r, 0, Math.PI * 2);
    ink.fill();
    ink.stroke();
  }
}

/** @param {Face} face @param {View} view */
export function drawResting(face, { x0, firstAcross, lastAcross }) {
  const { ink, turn, colours, cellWidth: w } = face;
  ink.fillStyle = colours.faint;
  for (let i = firstAcross; i <= lastAcross; i++) {
    if (turn.channels[i].resting) ink.fillRect(x0 + i * w, head, w, face.viewHeight - head);
  }
}

/**
 * One hole, drawn once, laid over the view as a pattern.
 *
 * @param {Face} face
 * @param {View} view
 */
export function drawHoles(face, { x0, y0, firstStep, lastStep, firstAcross, lastAcross }) {
  const { ink, colours, cellWidth: w, cellHeight: h, ratio } = face;
  if (!face.tile) {
    const tile = new OffscreenCanvas(Math.max(1, Math.round(w * ratio)), Math.max(1, Math.round(h * ratio)));
    const t = /** @type {OffscreenCanvasRenderingContext2D} */ (tile.getContext("2d"));
    t.scale(tile.width / w, tile.height / h);
    t.strokeStyle = colours.hole;
    t.lineWidth = 1;
    t.beginPath();
    t.arc(w / 2, h / 2, Math.min(Math.min(w, h) * 0.2, 5.5), 0, Math.PI * 2);
    t.stroke();
    face.tile = ink.createPattern(tile, "repeat");
    face.tile?.setTransform(new DOMMatrix([w / tile.width, 0, 0, h / tile.height, 0, 0]));
  }
  if (!face.tile) return;
  const left = x0 + firstAcross * w;
  const top = y0 + firstStep * h;
  ink.save();
  ink.translate(left, top);
  ink.fillStyle = face.tile;
  ink.fillRect(0, 0, (lastAcross - firstAcross + 1) * w, (lastStep - firstStep + 1) * h);
  ink.restore();
}

/** @param {Face} face @param {View} view */
export function drawLines(face, { x0, y0, firstStep, lastStep, right }) {
  const { ink, turn, colours, cellHeight: h } = face;
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

/** @param {Face} face @param {View} view */
export function drawPins(face, { x0, y0, firstStep, lastStep, firstAcross, lastAcross }) {
  const { ink, turn, colours, cellWidth: w, cellHeight: h } = face;
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

/** @param {Face} face @param {View} view */
export function drawMarks(face, { x0, y0, firstStep, lastStep, firstAcross, lastAcross }) {
  const { ink, colours, cellWidth: w, cellHeight: h } = face;
  const words = h >= 24;
  const round = h >= 10;
  const r = Math.min(w * 0.36, h * 0.36, 8);
  const size = round ? Math.min(15, h * 0.85) : 9;
  ink.textBaseline = "middle";
  ink.textAlign = "center";
  ink.font = `600 11px ${face.text}`;
  for (const [i, marks] of face.marks) {
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
      const kinds = face.marksAt.get(i)?.get(mark.step)?.split(", ") ?? [mark.kind];
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

/** @param {Face} face @param {View} view */
export function drawCursor(face, { x0, y0 }) {
  const { ink, colours, cellWidth: w, cellHeight: h } = face;
  for (const [hole, colour, width] of /** @type {[Hole | null, string, number][]} */ ([
    [face.pointed, colours.soft, 1],
    [face.cursor, colours.accent, 2.5],
  ])) {
    if (!hole) continue;
    const tall = Math.max(h, 7);
    ink.strokeStyle = colour;
    ink.lineWidth = width;
    ink.strokeRect(x0 + hole.across * w + 0.5, y0 + (hole.down + 0.5) * h - tall / 2 + 0.5, w - 1, tall - 1);
  }
}
