// @ts-check
// Where things lie on the wheel's face: from holes to CSS pixels of the window
// over it, and back.

/**
 * @typedef {{across: number, down: number}} Hole   the index of a channel, and a step
 * @typedef {{viewWidth: number, viewHeight: number, left: number, top: number, cellWidth: number, cellHeight: number,
 *   channels: number, steps: number, rolls: boolean}} Layout
 *   the window, how far it is scrolled over the face, the face's cells, how many there are, and whether the turn goes on past the seam
 * @typedef {{x0: number, y0: number, firstStep: number, lastStep: number, firstAcross: number, lastAcross: number, right: number}} View
 *   where a turn begins in the window, and what of it is in view
 */

export const head = 118; // the channels' names
export const gutter = 64; // bars and beats
export const foot = 22; // below the turn, for the seam
const margin = 12; // beside the last channel

/** How near one can look: the least width and the height of a hole's cell, in CSS pixels. */
const scales = [
  { width: 14, widest: 30, height: 5 },
  { width: 22, widest: 40, height: 13 },
  { width: 60, widest: 76, height: 56 },
];

/** The nearest that one can look; −1 is the whole turn. */
export const nearest = scales.length - 1;

/** @param {number} near */
export const nearWithin = (near) => Math.max(-1, Math.min(nearest, near));

/**
 * How large a hole's cell is.
 *
 * @param {number} near
 * @param {{viewWidth: number, viewHeight: number, channels: number, steps: number}} of
 */
export function cellAt(near, { viewWidth, viewHeight, channels, steps }) {
  const across = (viewWidth - gutter - margin) / channels;
  if (near < 0) {
    return { cellWidth: Math.max(2, Math.min(30, across)), cellHeight: Math.max(0.05, (viewHeight - head - foot) / steps) };
  }
  const { width, widest, height } = scales[near];
  return { cellWidth: Math.max(width, Math.min(widest, Math.floor(across))), cellHeight: height };
}

/** How large the face is with all its edges. @param {Pick<Layout, "cellWidth" | "cellHeight" | "channels" | "steps">} l */
export function sizeOf({ cellWidth, cellHeight, channels, steps }) {
  return { width: gutter + cellWidth * channels + margin, height: head + cellHeight * steps + foot };
}

/**
 * The hole at a point of the window, or null.
 *
 * @param {Layout} layout
 * @param {number} x
 * @param {number} y
 * @returns {Hole | null}
 */
export function holeAt({ left, top, cellWidth, cellHeight, channels, steps, rolls }, x, y) {
  if (x < gutter || y < head) return null;
  const across = Math.floor((x - gutter + left) / cellWidth);
  const down = Math.floor((y - head + top) / cellHeight);
  if (across >= channels || (down >= steps && !rolls)) return null;
  return { across, down: (down + steps) % steps };
}

/**
 * The middle of a hole in the window.
 *
 * @param {Layout} layout
 * @param {Hole} hole
 */
export function middleOf({ left, top, cellWidth, cellHeight }, { across, down }) {
  return { x: gutter - left + (across + 0.5) * cellWidth, y: head - top + (down + 0.5) * cellHeight };
}

/**
 * Where the window must be scrolled so that a hole is in view with some of what
 * is around it.
 *
 * @param {Layout} layout
 * @param {Hole} hole
 */
export function scrollInto({ viewWidth, viewHeight, left, top, cellWidth, cellHeight }, hole) {
  const x = hole.across * cellWidth;
  const y = hole.down * cellHeight;
  const roomX = viewWidth - gutter - cellWidth * 2;
  const roomY = viewHeight - head - cellHeight * 3;
  return {
    left: x < left + cellWidth ? x - cellWidth : x > left + roomX ? x - roomX : left,
    top: y < top + cellHeight ? y - cellHeight * 2 : y > top + roomY ? y - roomY : top,
  };
}

/**
 * Where on the face the window looks: the cursor where it is in view, else its
 * middle; in channels and steps.
 *
 * @param {Layout} layout
 * @param {Hole | null} cursor
 */
export function lookedAt({ viewWidth, viewHeight, left, top, cellWidth, cellHeight }, cursor) {
  const [roomX, roomY] = [viewWidth - gutter, viewHeight - head];
  const sees = (/** @type {number} */ at, /** @type {number} */ from, /** @type {number} */ room) => at >= from && at < from + room;
  if (cursor && sees(cursor.down * cellHeight, top, roomY) && sees(cursor.across * cellWidth, left, roomX)) {
    return { across: cursor.across, down: cursor.down };
  }
  return { across: (left + roomX / 2) / cellWidth, down: (top + roomY / 2) / cellHeight };
}

/**
 * The turns in view: one, or the two that meet at the seam as the face rolls.
 *
 * @param {Layout} layout
 * @returns {View[]}
 */
export function viewsOf({ viewWidth, viewHeight, left, top, cellWidth: w, cellHeight: h, channels, steps, rolls }) {
  const x0 = gutter - left;
  const firstAcross = Math.max(0, Math.floor((gutter - x0) / w));
  const lastAcross = Math.min(channels - 1, Math.ceil((viewWidth - x0) / w));
  const right = Math.min(viewWidth, x0 + w * channels);
  const round = steps * h;
  const [first, last] = rolls ? [Math.floor(top / round), Math.floor((top + viewHeight - head) / round)] : [0, 0];
  const views = [];
  for (let n = first; n <= last; n++) {
    const y0 = head - top + n * round;
    const firstStep = Math.max(0, Math.floor((head - y0) / h));
    const lastStep = Math.min(steps - 1, Math.ceil((viewHeight - y0) / h));
    views.push({ x0, y0, firstStep, lastStep, firstAcross, lastAcross, right });
  }
  return views;
}
