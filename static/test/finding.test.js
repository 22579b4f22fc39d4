// Places on the wheel that are written, pointed at on the ring, or picked on the
// map of the song; on the wheel of wheel.js: 16 steps, 4 to the beat, 2 beats to
// the bar.

import assert from "node:assert/strict";
import { test } from "node:test";

import { find } from "../js/face/find.js";
import { pinsPerPart, stepByKey, stepTowards } from "../js/face/ring.js";
import { lastFull, lengthAt, readFits } from "../js/lib/songmap.js";
import { smallTurn } from "./wheel.js";

const face = (cursor = null) => ({
  turn: smallTurn(),
  cursor,
  marks: new Map([[0, [{ kind: "unready", channel: 0, step: 4 }, { kind: "unready", channel: 0, step: 14 }]], [1, [{ kind: "unready", channel: 1, step: 4 }]]]),
  isHeld: (across, step) => across === 0 && step === 4,
});
const kinds = ["unready", "meeting"];
const go = (asked, cursor) => find(asked, face(cursor), kinds).hole;

test("bars, beats and steps are found as they are written", () => {
  assert.deepEqual(go("bar 2"), { across: 0, down: 8 });
  assert.deepEqual(go("  BAR 2  beat 2 ", { across: 1, down: 3 }), { across: 1, down: 12 }); // the channel stays
  assert.deepEqual(go("step 15"), { across: 0, down: 15 });
  assert.deepEqual(go("seam", { across: 2, down: 9 }), { across: 2, down: 0 });
});

test("channels are found by name, by the beginning of one, and by id", () => {
  assert.deepEqual(go("tube d3"), { across: 1, down: 0 });
  assert.deepEqual(go("dru", { across: 0, down: 5 }), { across: 2, down: 5 });
  assert.deepEqual(go("bar-c5", { across: 2, down: 5 }), { across: 0, down: 5 });
  assert.deepEqual(go("channel bar c5"), { across: 0, down: 0 });
  assert.deepEqual(go("tube d3, bar 2"), { across: 1, down: 8 });
});

test("a bar and its beat are found by two numbers", () => {
  assert.deepEqual(go("2.2"), { across: 0, down: 12 });
  assert.deepEqual(go("bar 2.2"), { across: 0, down: 12 });
  assert.deepEqual(go("2"), { across: 0, down: 8 });
  assert.deepEqual(find("1.3", face(), kinds), { hole: null, says: "A bar has beats 1 to 2." });
});

test("a channel and what is wrong there are found together, in either order", () => {
  assert.deepEqual(go("Tube D3 unready"), { across: 1, down: 4 });
  assert.deepEqual(go("unready tube d3"), { across: 1, down: 4 });
  assert.deepEqual(go("d3 unready"), { across: 1, down: 4 });
  assert.deepEqual(go("bar c5, unready", { across: 0, down: 4 }), { across: 0, down: 14 });
  assert.deepEqual(go("bar c5 unready 1.2"), { across: 0, down: 4 }); // the place itself counts
  assert.deepEqual(go("tube d3 2.1"), { across: 1, down: 8 });
  assert.deepEqual(find("drum unready", face(), kinds), { hole: null, says: "Nothing on Drum is unready now." });
});

test("a lane leads to the next pin whose marble goes through it", () => {
  const lanes = new Map([["drain", new Set([1, 2])], ["drop-high", new Set([2])]]);
  const through = (asked, cursor) => find(asked, face(cursor), kinds, lanes);
  assert.deepEqual(through("drain").hole, { across: 1, down: 3 });
  assert.deepEqual(through("drain", { across: 1, down: 3 }).hole, { across: 1, down: 4 });
  assert.deepEqual(through("drain unready").hole, { across: 1, down: 4 });
  assert.equal(through("drop-high").says, "No pin drops a marble through drop-high.");
  assert.equal(through("drop-high unready").says, "Nothing on any channel through drop-high is unready now.");
});

test("findings are gone through as the wheel turns, on past the seam", () => {
  const order = [];
  let at = { across: 0, down: 0 };
  for (let i = 0; i < 4; i++) order.push((at = go("unready", at)));
  assert.deepEqual(order, [{ across: 0, down: 4 }, { across: 1, down: 4 }, { across: 0, down: 14 }, { across: 0, down: 4 }]);
  assert.deepEqual(go("held", { across: 0, down: 4 }), { across: 0, down: 4 }); // the only one, once round
});

test("what is not there is said", () => {
  const says = (asked) => find(asked, face(), kinds);
  assert.deepEqual(says("step 16"), { hole: null, says: "There is no step 16; the last is 15." });
  assert.deepEqual(says("bar 3"), { hole: null, says: "There is no bar 3; the turn has bars 1 to 2." });
  assert.deepEqual(says("bar 1 beat 3"), { hole: null, says: "A bar has beats 1 to 2." });
  assert.deepEqual(says("meeting"), { hole: null, says: "Nothing on the wheel is meeting now." });
  assert.match(says("harp").says, /^There is no “harp” here\./);
  assert.equal(says(" , ").hole, null);
});

test("on the ring step 0 is at the top, and the turn goes clockwise", () => {
  // A quarter of 16 steps to the right, a half below, three quarters to the left.
  assert.equal(stepTowards(0, -1, 16), 0);
  assert.equal(stepTowards(1, 0, 16), 4);
  assert.equal(stepTowards(0, 1, 16), 8);
  assert.equal(stepTowards(-1, 0, 16), 12);
  assert.equal(stepTowards(-1e-9, -1, 16), 15); // just before the seam
  for (let step = 0; step < 256; step++) {
    const turn = ((step + 0.5) / 256) * 2 * Math.PI;
    assert.equal(stepTowards(Math.sin(turn) * 30, -Math.cos(turn) * 30, 256), step);
  }
});

test("keys on the ring go by beats and bars, and stop at the seam", () => {
  const grid = smallTurn();
  assert.deepEqual(["ArrowRight", "ArrowDown", "PageUp", "PageDown", "Home", "End"].map((key) => stepByKey(key, 5, grid)), [9, 1, 13, 0, 0, 15]);
  assert.equal(stepByKey("PageUp", 12, grid), 15);
  assert.equal(stepByKey("x", 12, grid), undefined);
});

test("every pin of the turn is counted in its part", () => {
  const { channels, steps } = smallTurn();
  // pins at 0, 4, 14, 3, 4; four parts of four steps
  assert.deepEqual([...pinsPerPart(channels, steps, 4)], [2, 2, 0, 1]);
  for (const parts of [1, 3, 7, 16]) assert.equal(pinsPerPart(channels, steps, parts).reduce((a, b) => a + b), 5);
});

test("how many bars fit is read, and asked for no more than fit", () => {
  const fits = readFits("16×3 15 2×2");
  assert.deepEqual(fits, [16, 16, 16, 15, 2, 2]);
  assert.equal(lengthAt(fits, 1, 0), 16);
  assert.equal(lengthAt(fits, 1, 4), 4);
  assert.equal(lengthAt(fits, 5, 4), 2);
  assert.equal(lengthAt(fits, 9, 4), 0);
  assert.equal(lastFull(fits), 3);
});
