// A wheel that turns, a beat, and taps, by a clock that the test sets. That
// strikes come once a turn over changes of tempo is held in a browser too.

import assert from "node:assert/strict";
import { test } from "node:test";

import { Beat, tapTempo } from "../js/lib/beat.js";
import { Taps } from "../js/lib/crank.js";
import { Turning } from "../js/lib/turning.js";

test("every beat is a whole number of beats from the first, each handed out once", () => {
  const beat = new Beat(72, 10);
  const at = [];
  for (let until = 10; until < 70; until += 0.173) beat.take(until, (n, time) => at.push([n, time]));
  at.forEach(([n, time], i) => {
    assert.equal(n, i);
    assert.equal(time, 10 + (i * 60) / 72); // nothing adds up
  });
  assert.ok(at.length === 72); // from 10 s to under 70 s, 1.2 a second
});

test("beats before a time are left out, and the next is the one after", () => {
  const beat = new Beat(60, 0);
  beat.skip(2.5);
  const at = [];
  beat.take(4.5, (n) => at.push(n));
  assert.deepEqual(at, [3, 4]);
});

test("two taps are a tempo, one is none", () => {
  assert.equal(tapTempo([], 1), 0);
  assert.equal(tapTempo([5], 1), 0);
  assert.equal(tapTempo([1, 2, 2.5], 1), 120); // the last two, half a second apart
  assert.equal(tapTempo([0, 4], 8), 120); // 8 beats in 4 s
});

test("taps begin again after a rest, or where time went back", () => {
  const taps = new Taps();
  for (const at of [0, 1, 2, 3]) taps.tap(at);
  taps.tap(5.9); // 2.9 s later: less than the 3 s of a rest
  assert.equal(taps.at.length, 5);
  taps.tap(9);
  assert.deepEqual(taps.at, [9]);
  taps.tap(8);
  assert.deepEqual(taps.at, [8]);
  assert.equal(taps.address("beat", "7"), "/crank/tapped?at=8.0000&per=beat&pinning=7");
});

test("a turning wheel hands out each strike once a turn, a stopped one none", () => {
  const turning = new Turning();
  const strikes = [{ channel: 0, step: 0, at_s: 0 }, { channel: 1, step: 5, at_s: 1.5 }];
  turning.load(strikes, 4);
  const heard = [];
  turning.take(100, () => heard.push("stopped"));
  turning.start(10);
  for (let until = 10; until <= 22; until += 0.1) turning.take(until, (s, time) => heard.push([s.channel, time]));
  // turns start at 10, 14 and 18; what is due at 22 is not due before it
  const want = [10, 11.5, 14, 15.5, 18, 19.5];
  assert.deepEqual(heard.map(([channel]) => channel), [0, 1, 0, 1, 0, 1]);
  heard.forEach(([, time], i) => assert.ok(Math.abs(time - want[i]) < 1e-9, `${time}, want ${want[i]}`));
  turning.stop(23);
  assert.ok(Math.abs(turning.place - 0.25) < 1e-9); // a quarter of a turn past 22
});
