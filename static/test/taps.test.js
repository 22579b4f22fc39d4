// What is tapped at the wheel reaches the program once, in its order, however
// often the program is away.

import assert from "node:assert/strict";
import { test } from "node:test";

import { nextStep, remaining, underHand } from "../js/lib/remaining.js";
import { Taps } from "../js/lib/taps.js";
import { fakeBrowser } from "./browser.js";

const job = "/machines/1/jobs/2";

/** A program that answers requests until it is away; it takes each tap once. */
function program(t) {
  const it = { away: false, answer: null, taken: [], requests: [] };
  t.mock.method(globalThis, "fetch", async (url, how = {}) => {
    it.requests.push(url);
    if (it.away) throw new TypeError("nobody there");
    if (it.answer) return it.answer(url);
    const state = { seq: it.taken.length, ended: "", total: 2, left: 2, stops: [], touched: null, last: null, read: [], found: [], problem: "" };
    if (how.method !== "POST") return Response.json(state);
    const tap = JSON.parse(how.body);
    if (!it.taken.some((one) => one.id === tap.id)) it.taken.push(tap);
    return Response.json({ ...state, seq: it.taken.length });
  });
  return it;
}

const settled = () => new Promise((done) => setImmediate(() => setImmediate(() => setImmediate(done))));

function open() {
  const refused = [];
  return { taps: new Taps(job, { changed() {}, refused: (why) => refused.push(why) }), refused };
}

test("taps arrive in the order they were made, and are then forgotten", async (t) => {
  const browser = fakeBrowser(t);
  const it = program(t);
  const { taps } = open();
  for (const step of [4, 8, 12]) taps.add({ do: "read", step });
  await settled();
  assert.deepEqual(it.taken.map((tap) => tap.step), [4, 8, 12]);
  assert.equal(browser.store.length, 0);
  assert.equal(taps.words(), "Everything is kept.");
});

test("what was tapped while the program was away outlives the page and arrives once", async (t) => {
  const browser = fakeBrowser(t);
  const it = program(t);
  it.away = true;
  const first = open();
  await settled();
  first.taps.add({ do: "read", step: 4 });
  first.taps.add({ do: "done", step: 8, channels: ["bar-c5"], was: { step: 8, place: "bar 1", moves: [], stay: [] } });
  await settled();
  assert.equal(first.taps.words(), "The program does not answer. 2 taps are kept on this phone and will be sent when it is back.");
  it.away = false;
  const again = open();
  await settled();
  browser.tick(1000);
  await settled();
  assert.deepEqual(it.taken.map((tap) => [tap.do, tap.step]), [["read", 4], ["done", 8]]);
  assert.equal("was" in it.taken[1], false); // kept here alone
  assert.equal(again.taps.waiting.length, 0);
});

test("a tap whose answer was lost is sent again with its id", async (t) => {
  const browser = fakeBrowser(t);
  const it = program(t);
  const { taps } = open();
  await settled();
  it.answer = (url) => {
    if (url.endsWith("/taps")) it.taken.push({ id: taps.waiting[0].id, step: 4 }); // taken, and then the network went
    throw new TypeError("cut off");
  };
  taps.add({ do: "read", step: 4 });
  await settled();
  assert.equal(taps.waiting.length, 1);
  it.answer = null;
  browser.tick(1000);
  await settled();
  assert.equal(taps.waiting.length, 0);
  assert.equal(it.taken.length, 1);
});

test("what the program refuses is said and not sent again; what it fails at is", async (t) => {
  const browser = fakeBrowser(t);
  const it = program(t);
  const { taps, refused } = open();
  await settled();
  it.answer = () => Response.json({ problem: "The disk is full." }, { status: 503 });
  taps.add({ do: "read", step: 4 });
  await settled();
  assert.equal(taps.waiting.length, 1);
  it.answer = () => Response.json({ problem: "This work has ended." }, { status: 409 });
  browser.tick(1000);
  await settled();
  assert.equal(taps.waiting.length, 0);
  assert.deepEqual(refused, ["This work has ended."]);
});

test("a phone without the code keeps what was tapped and says so", async (t) => {
  fakeBrowser(t);
  const it = program(t);
  it.answer = () => new Response("", { status: 403 });
  const { taps } = open();
  taps.add({ do: "read", step: 4 });
  await settled();
  assert.match(taps.words(), /asks this phone for the code\. 1 tap is kept on this phone\./);
});

// Work that starts at step 8 of a wheel of 16, with rows 0 and 1.
const wheel = { index: new Map([["bar-c5", 0], ["tube-d3", 1]]), start: 8, steps: 16 };
const move = (row, what = "pull") => ({ row, do: what });
const stop = (step, ...moves) => ({ step, place: `step ${step}`, moves, stay: [] });
const stops = [stop(2, move(0)), stop(8, move(0), move(1, "drive")), stop(12, move(1))];
const tap = (what, step, more = {}) => ({ id: `${what} ${step}`, at: 0, do: what, step, ...more });
const stepsOf = (list) => list.map((s) => s.step);

test("what is left comes in the order of the wheel from where the work starts", () => {
  assert.deepEqual(stepsOf(remaining(stops, [], wheel)), [8, 12, 2]);
});

test("taps that have not arrived count: done is gone, back is there again", () => {
  const done = tap("done", 8, { channels: ["bar-c5"] });
  assert.deepEqual(remaining(stops, [done], wheel)[0].moves, [move(1, "drive")]);
  const rest = tap("done", 8, { channels: ["tube-d3"] });
  assert.deepEqual(stepsOf(remaining(stops, [done, rest], wheel)), [12, 2]);
  const back = tap("back", 8, { was: stop(8, move(1, "drive")) });
  assert.deepEqual(remaining(stops, [done, rest, back], wheel)[0], stop(8, move(1, "drive")));
  assert.deepEqual(remaining(stops, [done, back], wheel)[0].moves, [move(1, "drive")]); // not twice
  assert.deepEqual(stepsOf(stops), [2, 8, 12]); // what the program knows is left as it is
});

test("the step under the hand is the first from the hand's end that was not left for later", () => {
  const left = remaining(stops, [], wheel);
  assert.equal(underHand(left, "forward", [])?.step, 8);
  assert.equal(underHand(left, "backward", [])?.step, 2);
  assert.equal(underHand(left, "forward", [8, 12])?.step, 2);
  assert.equal(underHand(left, "forward", [8, 12, 2])?.step, 8); // all were left: from the beginning
  assert.equal(underHand([], "forward", []), undefined);
});

test("the next step goes on past the seam, once round", () => {
  assert.equal(nextStep(14, 16, (s) => s % 5 === 0), 15);
  assert.equal(nextStep(14, 16, (s) => s === 3), 3);
  assert.equal(nextStep(3, 16, (s) => s === 3), 3);
  assert.equal(nextStep(3, 16, () => false), -1);
});
