// @ts-check
// What stays at the edges of the face while it scrolls: bars and beats beside
// it, the channels' names above it, and the line that the wheel turns under.

import { gutter, head } from "./geometry.js";

/**
 * @typedef {import("./face.js").Face} Face
 * @typedef {import("./geometry.js").View} View
 */

/** @param {Face} face @param {View[]} views */
export function drawGutter(face, views) {
  const { ink, turn, colours, cellHeight: h, viewHeight } = face;
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
      ink.font = `700 13px ${face.text}`;
      ink.fillStyle = s === 0 ? colours.accent : colours.ink;
      const y = y0 + s * h + (s === 0 ? 4 : 3);
      ink.fillText(s === 0 ? "seam 1" : `${s / bar + 1}`, 8, y);
    }
    if (beat * h >= 18) {
      ink.textAlign = "right";
      ink.font = `400 12px ${face.text}`;
      ink.fillStyle = colours.soft;
      for (let s = Math.floor(firstStep / beat) * beat; s <= lastStep; s += beat) {
        if (s % bar) ink.fillText(`${(s % bar) / beat + 1}`, gutter - 8, y0 + s * h + 3);
      }
    }
  }
  if (!face.rolls) {
    ink.textAlign = "left";
    ink.font = `700 13px ${face.text}`;
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

/** The line that the wheel turns under, and its index beside the bars. @param {Face} face */
export function drawTurned(face) {
  if (face.at === null) return;
  const { ink, colours, viewWidth, viewHeight } = face;
  const y = head - face.top + (face.at + 0.5) * face.cellHeight;
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

/** @param {Face} face @param {View} view */
export function drawHead(face, { x0, firstAcross, lastAcross }) {
  const { ink, turn, colours, cellWidth: w, viewWidth } = face;
  ink.save();
  ink.fillStyle = colours.sheet;
  ink.fillRect(0, 0, viewWidth, head);
  ink.fillStyle = colours.soft;
  ink.textAlign = "left";
  ink.textBaseline = "bottom";
  ink.font = `400 12px ${face.text}`;
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
    const here = face.cursor?.across === i;
    const two = w >= 26; // room for a second line
    ink.font = `${here ? 700 : 400} 13px ${face.text}`;
    ink.fillStyle = channel.resting ? colours.soft : here ? colours.accent : colours.ink;
    ink.fillText(fitted(face, channel.resting && !two ? `${channel.name}, resting` : channel.name), 0, two ? -6 : 0);
    if (two) {
      const found = face.marks.get(i)?.length ?? 0;
      const state = channel.resting ? ", resting" : found ? `, ${found} found` : "";
      ink.font = `400 11px ${face.text}`;
      ink.fillStyle = found && !channel.resting ? colours.accent : colours.soft;
      ink.fillText(fitted(face, `${channel.kind}, ${channel.pins.length} ${channel.pins.length === 1 ? "pin" : "pins"}${state}`), 0, 7);
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

/**
 * A channel's name as far as there is room for it.
 *
 * @param {Face} face
 * @param {string} name
 */
function fitted({ names, ink }, name) {
  let fit = names.get(name);
  if (fit === undefined) {
    fit = name;
    for (let n = Math.min(name.length, 40); n > 0 && ink.measureText(fit).width > head - 14; n--) fit = `${name.slice(0, n)}…`;
    names.set(name, fit);
  }
  return fit;
}
