// @ts-check
// The shape of each kind of finding, as in the list beside the wheel, of a
// missed drop, of a held aim, and of what differs between two sets of pins:
// told apart by form and word, not by colour.

/** @type {Map<string, Path2D>} by kind, in a square of 16 by 16 */
const shapes = new Map();

/**
 * Takes the shapes of marks from the page, which has them of the rules.
 *
 * @param {[kind: string, path: string][]} marks  each as the path of an SVG in a square of 16 by 16
 */
export function setMarks(marks) {
  for (const [kind, path] of marks) shapes.set(kind, new Path2D(path));
}

/**
 * Draws a mark centred at (x, y), size pixels wide.
 *
 * @param {CanvasRenderingContext2D} ink
 * @param {string} kind
 * @param {number} x
 * @param {number} y
 * @param {number} size
 * @param {string} colour
 */
export function drawMark(ink, kind, x, y, size, colour) {
  const shape = shapes.get(kind);
  if (!shape) return;
  ink.save();
  ink.translate(x - size / 2, y - size / 2);
  ink.scale(size / 16, size / 16);
  ink.lineWidth = 1.8;
  ink.strokeStyle = colour;
  ink.stroke(shape);
  ink.restore();
}

/**
 * A pin whose aim is held has a slot across it.
 *
 * @param {CanvasRenderingContext2D} ink
 * @param {number} x
 * @param {number} y
 * @param {number} r  of the pin
 * @param {string} colour
 */
export function drawHeld(ink, x, y, r, colour) {
  ink.fillStyle = colour;
  ink.fillRect(x - r, y - r * 0.2, r * 2, r * 0.4);
}

/**
 * A pin of one of two sets laid over each other: a triangle that points down
 * (pulled) where it is of the first alone, up (driven) of the second alone, a
 * diamond where both have it and aim it elsewhere.
 *
 * @param {CanvasRenderingContext2D} ink
 * @param {string} kind  pulled, driven or aimed
 * @param {number} x
 * @param {number} y
 * @param {number} r
 * @param {string} colour
 * @param {string} around
 */
export function drawDifference(ink, kind, x, y, r, colour, around) {
  ink.beginPath();
  if (kind === "aimed") {
    ink.moveTo(x, y - r);
    ink.lineTo(x + r, y);
    ink.lineTo(x, y + r);
    ink.lineTo(x - r, y);
  } else {
    const up = kind === "driven" ? -1 : 1;
    ink.moveTo(x, y + up * r);
    ink.lineTo(x + r, y - up * r * 0.7);
    ink.lineTo(x - r, y - up * r * 0.7);
  }
  ink.closePath();
  ink.lineWidth = 4;
  ink.strokeStyle = around;
  ink.stroke();
  ink.lineWidth = 1.8;
  ink.strokeStyle = colour;
  ink.stroke();
}
