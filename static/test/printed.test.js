// The wheel's face on paper.

import assert from "node:assert/strict";
import { test } from "node:test";

import { piecesOf } from "../js/face/printed.js";

const turn = (steps, beats, channels) => ({ steps, steps_per_beat: 4, beats_per_bar: beats, channels: Array(channels) });

test("the pieces of a turn hold every step once, in order", () => {
  for (const [steps, beats, channels] of [[256, 4, 28], [256, 3, 28], [1024, 4, 64], [4096, 4, 128], [7, 4, 1]]) {
    let next = 0;
    for (const { from, long } of piecesOf(turn(steps, beats, channels)).pieces) {
      assert.equal(from, next);
      assert.ok(long > 0);
      next += long;
    }
    assert.equal(next, steps);
  }
});

test("a piece begins with a bar", () => {
  for (const beats of [3, 4]) {
    for (const { from } of piecesOf(turn(256, beats, 28)).pieces) assert.equal(from % (4 * beats), 0);
  }
});

test("a piece is as wide as its channels need, and no higher than a page", () => {
  for (const channels of [1, 28, 64, 128]) {
    const { width, cellWidth, cellHeight, pieces } = piecesOf(turn(1024, 4, channels));
    assert.ok(cellWidth >= 14);
    assert.ok(64 + cellWidth * channels + 12 <= width + 1e-9);
    for (const { long } of pieces) assert.ok((118 + long * cellHeight + 22) * (690 / width) <= 900 + 1e-9);
    assert.ok(pieces.length <= 13);
  }
});
