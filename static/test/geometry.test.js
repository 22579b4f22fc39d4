// Holes to pixels and back. The face has 64 pixels of bars and beats on its
// left, 118 of names above, 22 below for the seam, 12 on its right.

import assert from "node:assert/strict";
import { test } from "node:test";

import { cellAt, foot, gutter, head, holeAt, lookedAt, middleOf, nearest, nearWithin, scrollInto, sizeOf, viewsOf } from "../js/face/geometry.js";

const window = { viewWidth: 500, viewHeight: 418 };

function layout(changes = {}) {
  return { ...window, left: 0, top: 0, cellWidth: 22, cellHeight: 13, channels: 28, steps: 256, rolls: false, ...changes };
}

test("the whole turn fits its window, and is never stretched out of it", () => {
  // (418 − 118 − 22) / 278 steps = 1 pixel a step; (500 − 64 − 12) / 53 = 8 a channel
  assert.deepEqual(cellAt(-1, { ...window, channels: 53, steps: 278 }), { cellWidth: 8, cellHeight: 1 });
  for (const steps of [16, 256, 4096]) {
    const cell = cellAt(-1, { ...window, channels: 28, steps });
    assert.ok(Math.abs(sizeOf({ ...cell, channels: 28, steps }).height - window.viewHeight) < 1e-9);
  }
});

test("from nearer, cells are at least as large as their scale, and wider where there is room", () => {
  // 424 pixels for 4 channels: 106 each, but 76 at the most; for 28: 15, but 60 at the least
  assert.deepEqual(cellAt(2, { ...window, channels: 4, steps: 16 }), { cellWidth: 76, cellHeight: 56 });
  assert.deepEqual(cellAt(2, { ...window, channels: 28, steps: 16 }), { cellWidth: 60, cellHeight: 56 });
  assert.deepEqual(cellAt(1, { ...window, channels: 14, steps: 16 }), { cellWidth: 30, cellHeight: 13 }); // 424 / 14 = 30.3
});

test("a scale beyond the ends is the end's", () => {
  assert.deepEqual([-5, -1, 0, 2, 3].map(nearWithin), [-1, -1, 0, 2, 2]);
  assert.equal(nearest, 2);
});

test("the face is as large as its cells and its edges", () => {
  // 64 + 28 · 22 + 12 = 692; 118 + 256 · 13 + 22 = 3468
  assert.deepEqual(sizeOf(layout()), { width: 692, height: 3468 });
  assert.equal(gutter + head + foot, 64 + 118 + 22);
});

test("the first hole starts below the names, beside the bars", () => {
  const l = layout();
  assert.equal(holeAt(l, 63.9, 200), null);
  assert.equal(holeAt(l, 100, 117.9), null);
  assert.deepEqual(holeAt(l, 64, 118), { across: 0, down: 0 });
  assert.deepEqual(holeAt(l, 64 + 22, 118 + 13), { across: 1, down: 1 });
  assert.equal(holeAt(l, 64 + 28 * 22, 200), null);
});

test("the middle of each hole in view is in that hole", () => {
  for (const l of [layout(), layout({ left: 100, top: 1000 }), layout({ cellWidth: 60.5, cellHeight: 56, top: 33.25 })]) {
    for (const across of [5, 6, 7]) {
      for (const down of [80, 85, 90]) {
        const { x, y } = middleOf(l, { across, down });
        if (x < gutter || y < head) continue;
        assert.deepEqual(holeAt(l, x, y), { across, down });
      }
    }
  }
});

test("a face that rolls shows the end of the turn before its beginning", () => {
  const round = 256 * 13;
  const l = layout({ rolls: true, top: -26 }); // two steps before the seam
  assert.deepEqual(holeAt(l, 70, 118), { across: 0, down: 254 });
  assert.deepEqual(holeAt(l, 70, 118 + 26), { across: 0, down: 0 });
  assert.deepEqual(holeAt(layout({ rolls: true, top: round }), 70, 118), { across: 0, down: 0 });
  assert.equal(holeAt(layout({ top: round - 13 }), 70, 118 + 13), null); // one that does not roll has nothing below
  const views = viewsOf(l);
  assert.deepEqual(views.map((v) => v.y0), [118 + 26 - round, 118 + 26]);
  assert.deepEqual(views.map((v) => [v.firstStep, v.lastStep]), [[254, 255], [0, 22]]); // (418 − 144) / 13 = 21.1
});

test("what is in view covers the window and no more than a cell beyond it", () => {
  for (const l of [layout(), layout({ left: 57, top: 700 }), layout({ top: 3050 }), layout({ rolls: true, top: 3200 })]) {
    for (const v of viewsOf(l)) {
      assert.ok(v.firstStep >= 0 && v.lastStep <= 255 && v.firstAcross >= 0 && v.lastAcross <= 27);
      if (v.lastStep < 255) assert.ok(v.y0 + (v.lastStep + 1) * 13 >= l.viewHeight);
      if (v.firstStep > 0) assert.ok(v.y0 + v.firstStep * 13 <= head && v.y0 + (v.firstStep + 1) * 13 > head);
      if (v.firstAcross > 0) assert.ok(v.x0 + v.firstAcross * 22 <= gutter);
    }
  }
});

test("a hole that is in view moves nothing; one outside is brought in", () => {
  const still = layout({ left: 100, top: 1000 });
  assert.deepEqual(scrollInto(still, { across: 10, down: 85 }), { left: 100, top: 1000 });
  for (const hole of [{ across: 0, down: 0 }, { across: 27, down: 255 }, { across: 27, down: 0 }, { across: 3, down: 140 }]) {
    const to = scrollInto(still, hole);
    const { x, y } = middleOf({ ...still, ...to }, hole);
    assert.ok(x > gutter && x < window.viewWidth && y > head && y < window.viewHeight, JSON.stringify({ hole, x, y }));
    assert.deepEqual(scrollInto({ ...still, ...to }, hole), to); // and stays
  }
});

test("looking from nearer keeps the cursor's place, or the middle where it is out of view", () => {
  const l = layout({ top: 1300, left: 44 });
  assert.deepEqual(lookedAt(l, { across: 5, down: 105 }), { across: 5, down: 105 });
  // middle: (1300 + 300 / 2) / 13 = 111.54 down; (44 + 436 / 2) / 22 = 11.91 across
  for (const cursor of [null, { across: 5, down: 20 }, { across: 5, down: 200 }, { across: 0, down: 105 }]) {
    const { across, down } = lookedAt(l, cursor);
    assert.ok(Math.abs(down - 1450 / 13) < 1e-9 && Math.abs(across - 262 / 22) < 1e-9);
  }
});
