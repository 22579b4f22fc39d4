// @ts-check
// The wheel's face on paper: the whole turn, in pieces of whole bars that each
// fit a page, with the channels' names over every piece.

import { drawGutter, drawHead } from "./edges.js";
import { foot, gutter, head } from "./geometry.js";
import { drawDiffer, drawHeldAims, drawHoles, drawLines, drawMarks, drawPins, drawResting } from "./paint.js";

/**
 * @typedef {import("./face.js").Face} Face
 * @typedef {{from: number, long: number}} Piece  the first step of a piece of the turn, and how many there are
 */

const page = { width: 690, height: 900 }; // what A4 and US letter both have room for beside a heading, in CSS pixels
const cell = { least: 14, most: 30, tall: 13, low: 3 };
const mostPages = 12; // where the turn would take more, its steps are drawn closer

/** What is drawn is dark on white, whatever the screen has. */
const colours = { sheet: "#fff", ink: "#000", soft: "#444", line: "#777", faint: "#e4e4e4", accent: "#8a2a12", wash: "#f3dcd4", hole: "#999" };

/**
 * How a turn is cut into pieces for paper.
 *
 * @param {{steps: number, steps_per_beat: number, beats_per_bar: number, channels: ArrayLike<unknown>}} turn
 * @returns {{width: number, cellWidth: number, cellHeight: number, pieces: Piece[]}}
 */
export function piecesOf({ steps, steps_per_beat: beat, beats_per_bar: beats, channels }) {
  const cellWidth = Math.min(cell.most, Math.max(cell.least, (page.width - gutter - 12) / channels.length));
  const width = Math.max(page.width, gutter + cellWidth * channels.length + 12);
  const room = (page.height * width) / page.width - head - foot; // a wide face is printed smaller
  const cellHeight = Math.max(cell.low, Math.min(cell.tall, (room * mostPages) / steps));
  const bar = beat * beats;
  const fits = Math.max(1, Math.floor(room / cellHeight));
  const long = fits >= bar ? fits - (fits % bar) : fits;
  /** @type {Piece[]} */
  const pieces = [];
  for (let from = 0; from < steps; from += long) pieces.push({ from, long: Math.min(long, steps - from) });
  return { width, cellWidth, cellHeight, pieces };
}

/**
 * Draws the whole turn, a canvas for each piece.
 *
 * @param {Face} face
 * @returns {HTMLCanvasElement[]}
 */
export function printed(face) {
  const { width, cellWidth, cellHeight, pieces } = piecesOf(face.turn);
  return pieces.map(({ from, long }) => {
    const canvas = document.createElement("canvas");
    const height = head + long * cellHeight + foot;
    const ratio = 2; // paper is finer than screens
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
    canvas.dataset.from = String(from);
    canvas.dataset.long = String(long);
    const ink = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    const over = { canvas, ink, ratio, colours, cellWidth, cellHeight, viewWidth: width, viewHeight: height, at: null, cursor: null, pointed: null, tile: null };
    const scroll = { scrollLeft: 0, scrollTop: from * cellHeight };
    drawPiece(Object.assign(Object.create(face), over, { scroll, names: new Map() }), from + long - 1);
    return canvas;
  });
}

/** @param {Face} face @param {number} lastStep */
function drawPiece(face, lastStep) {
  const { ink, ratio, viewWidth, viewHeight } = face;
  const view = { ...face.views[0], lastStep };
  ink.setTransform(ratio, 0, 0, ratio, 0, 0);
  ink.fillStyle = face.colours.sheet;
  ink.fillRect(0, 0, viewWidth, viewHeight);
  ink.save();
  ink.beginPath();
  ink.rect(gutter, head, viewWidth - gutter, viewHeight - head - foot + 2);
  ink.clip();
  drawResting(face, view);
  if (face.cellHeight >= 10) drawHoles(face, view);
  drawLines(face, view);
  drawPins(face, view);
  if (face.cellHeight >= 10) drawHeldAims(face, view);
  drawMarks(face, view);
  drawDiffer(face, view);
  ink.restore();
  drawGutter(face, [view]);
  drawHead(face, view);
}

/**
 * Has the page print the whole face: what is in its window on the screen is only
 * a part of it.
 *
 * @param {Face} face
 * @param {HTMLElement} place  is empty but while the page is printed
 */
export function printsWhole(face, place) {
  addEventListener("beforeprint", () => place.replaceChildren(...printed(face)));
  addEventListener("afterprint", () => place.replaceChildren());
}
