// @ts-check
// The shape of each kind of finding, as in the list beside the wheel, of a
// missed drop, of a held aim, and of what differs between two sets of pins:
// told apart by form and word, not by colour.

/** @typedef {"crowded" | "unready" | "unclear" | "meeting" | "overload" | "silent" | "missed"} Kind */

/** Paths in a square of 16 by 16, as the list's. @type {Record<Kind, string>} */
const outlines = {
  crowded: "M5 2v12M11 2v12M2 5h12M2 11h12",
  unready: "M3 2h10L3 14h10Z",
  unclear: "M2 11h12M8 2v6M5 5.5 8 8.5l3-3",
  meeting: "M9.2 8a3.7 3.7 0 1 0-7.4 0a3.7 3.7 0 1 0 7.4 0M14.2 8a3.7 3.7 0 1 0-7.4 0a3.7 3.7 0 1 0 7.4 0",
  overload: "M2 4h12M2 8h12M2 12h12",
  silent: "M14 8a6 6 0 1 0-12 0a6 6 0 1 0 12 0M4 12 12 4",
  missed: "M2 8A6 6 0 0 1 8 2M14 8A6 6 0 0 1 8 14M6 6l4 4M10 6l-4 4",
};

const paths = new Map(Object.entries(outlines).map(([kind, d]) => [kind, new Path2D(d)]));

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
  const path = paths.get(kind);
  if (!path) return;
  ink.save();
  ink.translate(x - size / 2, y - size / 2);
  ink.scale(size / 16, size / 16);
  ink.lineWidth = 1.8;
  ink.strokeStyle = colour;
  ink.stroke(path);
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
