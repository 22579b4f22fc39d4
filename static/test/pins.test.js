// What handwork makes of the pins of the small wheel in wheel.js.

import assert from "node:assert/strict";
import { test } from "node:test";

import { Pins, same } from "../js/desk/pins.js";
import { firstNotBelow } from "../js/lib/sorted.js";
import { smallTurn } from "./wheel.js";

const pinsOf = (p) => p.turn.channels.map((c) => [...c.pins]);

/** Does to the pins what the changes say. */
function apply(p, changes) {
  for (const c of changes) p.put(p.across.get(c.channel), c.step, c.now);
}

/** A generator of even numbers from 0 to 1 (Lehmer, 48271 modulo 2³¹ − 1; from memory). */
function dice(seed) {
  let x = seed;
  return (n) => (x = (x * 48271) % 2147483647) % n;
}

test("the first not below a number is what looking at each finds", () => {
  const roll = dice(7);
  for (let i = 0; i < 200; i++) {
    const sorted = Array.from({ length: roll(9) }, () => roll(12)).sort((a, b) => a - b);
    const v = roll(13);
    const plain = sorted.findIndex((x) => x >= v);
    assert.equal(firstNotBelow(sorted, v), plain < 0 ? sorted.length : plain, `${v} in ${sorted}`);
  }
});

test("what is put is there, in order, and what is pulled is not", () => {
  const p = new Pins(smallTurn());
  const roll = dice(11);
  const plain = new Map();
  for (const [across, c] of p.turn.channels.entries()) for (const step of c.pins) plain.set(`${across} ${step}`, p.at(across, step));
  for (let i = 0; i < 500; i++) {
    const [across, step] = [roll(3), roll(16)];
    const holds = [null, {}, { aim: roll(16) }][roll(3)];
    p.put(across, step, holds);
    if (holds) plain.set(`${across} ${step}`, holds);
    else plain.delete(`${across} ${step}`);
  }
  for (let across = 0; across < 3; across++) {
    for (let step = 0; step < 16; step++) assert.deepEqual(p.at(across, step), plain.get(`${across} ${step}`) ?? null);
    assert.deepEqual(p.turn.channels[across].pins, [...p.turn.channels[across].pins].sort((a, b) => a - b));
  }
});

test("pins are the same when both are there and aim alike", () => {
  assert.equal(same(null, null), true);
  assert.equal(same(null, {}), false);
  assert.equal(same({}, {}), true);
  assert.equal(same({ aim: 3 }, { aim: 3 }), true);
  assert.equal(same({}, { aim: 3 }), false);
});

test("a move goes round the seam and takes held aims along as they are", () => {
  const p = new Pins(smallTurn());
  // Bar C5's pins 0, 4 and 14, four steps later: 4, 8 and 18 − 16 = 2. The pin at
  // 4 is held at 7 and stays so; the others follow.
  const changes = p.move({ across: 0, down: 0, wide: 1, long: 16 }, 0, 4);
  apply(p, changes);
  assert.deepEqual(pinsOf(p)[0], [2, 4, 8]);
  assert.deepEqual(p.at(0, 8), { aim: 7 });
  assert.deepEqual(p.at(0, 4), {});
  assert.equal(p.move({ across: 1, down: 0, wide: 2, long: 16 }, 1, 0), null); // no channel there
});

test("moves there and back leave everything as it was", () => {
  const roll = dice(3);
  for (let i = 0; i < 100; i++) {
    const p = new Pins(smallTurn());
    const before = p.turn.channels.map((c, across) => c.pins.map((step) => [step, p.heldAim(across, step, p.at(across, step))]));
    const on = roll(40) - 20;
    apply(p, p.nudge(0, on));
    apply(p, p.nudge(0, -on));
    const after = p.turn.channels.map((c, across) => c.pins.map((step) => [step, p.heldAim(across, step, p.at(across, step))]));
    assert.deepEqual(after, before, `${on} steps`);
  }
});

test("a copy empties the holes that were empty in it, and stops at the last channel", () => {
  const p = new Pins(smallTurn());
  const copy = p.copy({ across: 0, down: 0, wide: 2, long: 5 }); // Bar C5 at 0 and 4, Tube D3 at 3 and 4
  const { changes } = p.lay(p.work(), copy, 1, 2);
  apply(p, changes);
  assert.deepEqual(pinsOf(p), [[0, 4, 14], [2, 6], [5, 6]]); // Tube D3's own 3 and 4 are gone
});

test("a stretch is repeated to the seam, where it is cut", () => {
  const p = new Pins(smallTurn());
  apply(p, p.repeat({ across: 1, down: 0, wide: 1, long: 6 })); // 3 and 4, again 6 and 12 steps later: 9, 10, 15, and 16 is past the seam
  assert.deepEqual(pinsOf(p)[1], [3, 4, 9, 10, 15]);
});

test("only what changes is a change, with what was there", () => {
  const p = new Pins(smallTurn());
  assert.deepEqual(p.driveOrPull({ across: 0, down: 4 }), [{ channel: "bar-c5", step: 4, was: { aim: 7 }, now: null }]);
  assert.deepEqual(p.driveOrPull({ across: 2, down: 5 }), [{ channel: "drum", step: 5, was: null, now: {} }]);
  assert.deepEqual(p.clear({ across: 2, down: 0, wide: 1, long: 16 }), []);
  assert.deepEqual(p.nudge(1, 16), []); // once round
});

test("an aim is held until it is let go", () => {
  const p = new Pins(smallTurn());
  const all = { across: 0, down: 0, wide: 1, long: 16 };
  apply(p, p.hold(all, true));
  // A pin that follows aims at its step and the advance of 2: at 14 that is 16.
  assert.deepEqual([0, 4, 14].map((step) => p.heldAim(0, step, p.at(0, step))), [2, 7, 16]);
  apply(p, p.hold(all, false));
  assert.deepEqual([0, 4, 14].map((step) => p.heldAim(0, step, p.at(0, step))), [null, null, null]);
});

test("a pin that is moved to where its held aim would be its own by a turn is still held", () => {
  const p = new Pins(smallTurn());
  p.put(0, 4, { aim: 0 });
  apply(p, p.move({ across: 0, down: 4, wide: 1, long: 1 }, 0, 10)); // to 14, whose own aim is 14 + 2 = 16: step 0 of the next turn
  assert.deepEqual(p.at(0, 14), { aim: 16 });
  assert.equal(p.heldAim(0, 14, p.at(0, 14)), 16);
});
