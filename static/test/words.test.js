// What is said of places, pins, the desk and the verdict; on the wheel of
// wheel.js, where a beat has four steps and a bar two beats.

import assert from "node:assert/strict";
import { test } from "node:test";

import { askedWords } from "../js/desk/askedview.js";
import { bpmOf } from "../js/desk/fields.js";
import { editWords } from "../js/desk/listener.js";
import { Pins } from "../js/desk/pins.js";
import { holeNamed, readingOf } from "../js/desk/readout.js";
import { standingWords } from "../js/desk/standing.js";
import { madeWords, marksOf } from "../js/desk/verdict.js";
import { counted, figure, placeOf, placeSaid } from "../js/lib/places.js";
import { smallTurn } from "./wheel.js";

test("a place is a bar, a beat and a part of one in its lowest terms", () => {
  const grid = smallTurn();
  assert.equal(placeOf(grid, 0), "bar 1 beat 1");
  assert.equal(placeOf(grid, 4), "bar 1 beat 2");
  assert.equal(placeOf(grid, 14), "bar 2 beat 2 +1/2"); // 2 of 4 steps past
  assert.equal(placeOf(grid, 15), "bar 2 beat 2 +3/4");
  assert.equal(placeSaid(grid, 15), "bar 2 beat 2, 3 of 4 steps into it");
  assert.equal(placeSaid(grid, 8), "bar 2 beat 1");
});

test("digits are parted from five on, and one is one", () => {
  assert.deepEqual([0, 4096, 10000, 1234567].map(figure), ["0", "4096", "10,000", "1,234,567"]);
  assert.deepEqual([counted(1, "pin"), counted(2, "pin"), counted(0, "entry", "entries")], ["1 pin", "2 pins", "0 entries"]);
});

test("a hole is read with its place, its pin, its aim and its findings", () => {
  const p = new Pins(smallTurn());
  assert.equal(readingOf(p, { across: 0, down: 0 }, ""), "Bar C5, bar 1 beat 1, step 0: pin.");
  assert.equal(readingOf(p, { across: 0, down: 4 }, "unready, crowded"), "Bar C5, bar 1 beat 2, step 4: pin, aim held at step 7, unready, crowded.");
  assert.equal(readingOf(p, { across: 2, down: 5 }, ""), "Drum, resting, bar 1 beat 2, 1 of 4 steps into it, step 5: no pin.");
});

test("an address names a hole of the wheel, or none", () => {
  const p = new Pins(smallTurn());
  assert.deepEqual(holeNamed("#tube-d3.12", p), { across: 1, down: 12 });
  for (const hash of ["", "#tube-d3", "#tube-d3.16", "#harp.3", "#tube-d3.x"]) assert.equal(holeNamed(hash, p), null, hash);
});

test("a tempo may be written with a comma; what cannot be asked for is none", () => {
  assert.deepEqual(["60", " 72,5 ", "", "fast", "0.5", "1000", "1001"].map(bpmOf), [60, 72.5, 0, 0, 0, 1000, 0]);
});

test("the desk says whether every edit is kept", () => {
  const desk = { open: true, tried: 0, waiting: 0, late: false, clients: 1 };
  assert.equal(standingWords(desk), "Every edit is kept.");
  assert.equal(standingWords({ ...desk, clients: 3 }), "Every edit is kept. 3 pages have this pinning open.");
  assert.equal(standingWords({ ...desk, waiting: 2, late: true }), "2 edits are being kept…");
  assert.equal(standingWords({ ...desk, open: false, waiting: 1 }), "1 edit is about to be sent.");
  assert.match(standingWords({ ...desk, open: false, tried: 1, waiting: 1 }), /1 edit is kept in this browser, and will be sent/);
});

test("what two have changed is told with both pins", () => {
  const p = new Pins(smallTurn());
  const hole = { channel: "bar-c5", step: 12, was: null, now: {}, by: "the gallery" };
  assert.equal(askedWords(p, hole, { aim: 14 }), "Bar C5, bar 2 beat 2: you want a pin; the gallery left a pin aimed at step 14.");
  assert.equal(askedWords(p, { ...hole, by: undefined, now: null }, {}), "Bar C5, bar 2 beat 2: you want no pin; another page left a pin.");
});

test("an edit is told with who made it and what became of it", () => {
  const edit = { seq: 1, id: "", by: "Ada", kind: "drive", words: "drive Drum", changes: [] };
  assert.equal(editWords(edit, true), "drive Drum");
  assert.equal(editWords({ ...edit, kind: "undo" }, false), "Ada: taken back: drive Drum");
  assert.equal(editWords({ ...edit, by: "" }, false), "another page: drive Drum");
  assert.equal(madeWords("The highest safe tempo falls from 90 to 84 BPM", "drive Drum"), "The highest safe tempo falls from 90 to 84 BPM (drive Drum)");
  assert.equal(madeWords("", "drive Drum"), "Drive Drum: the tempo to keep below stays");
  assert.equal(madeWords("", ""), "");
});

test("findings and missed drops are marked at their channels", () => {
  const { across } = new Pins(smallTurn());
  assert.deepEqual(marksOf([["unready", "tube-d3", [3, 4]]], [{ channel: "bar-c5", step: 0 }], across), [
    { kind: "unready", channel: 1, step: 3 },
    { kind: "unready", channel: 1, step: 4 },
    { kind: "missed", channel: 0, step: 0 },
  ]);
});
