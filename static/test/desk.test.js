// A pinning open on a page: what is shown is what the program holds with this
// page's own edits over it, whatever comes in between. On the wheel of wheel.js.

import assert from "node:assert/strict";
import { test } from "node:test";

import { Desk } from "../js/desk/desk.js";
import { Merging } from "../js/desk/merging.js";
import { Pins } from "../js/desk/pins.js";
import { fakeBrowser } from "./browser.js";
import { smallTurn } from "./wheel.js";

const drive = (channel, step, was = null) => ({ channel, step, was, now: {} });
const pull = (channel, step, was = {}) => ({ channel, step, was, now: null });
const tubes = (desk) => desk.pins.turn.channels[1].pins;

/** A desk, and what its page listener. */
function open(seq = 0) {
  const heard = { refused: [], verdicts: [], edits: [], asked: 0 };
  const desk = new Desk({
    url: "/pinnings/7/live",
    pinning: "7",
    pins: new Pins(smallTurn()),
    seq,
    listener: {
      changed() {},
      state() {},
      edit: (e, mine) => heard.edits.push([e.seq, mine]),
      verdict: (v) => heard.verdicts.push(v),
      asked: () => heard.asked++,
      refused: (why) => heard.refused.push(why),
      replaced() {},
      reread: async () => ({ pins: new Pins({ ...smallTurn() }), seq: 9 }),
    },
  });
  desk.connect();
  return { desk, heard };
}

const state = (seq, more = {}) => ({ is: "state", seq, undo: null, redo: null, people: 1, marks: [], ...more });

/** The program answers the connection. */
function answer(browser, seq) {
  browser.socket.accept();
  browser.socket.say(state(seq));
}

test("what the program holds lies under what was done here, and comes out when that is answered", () => {
  const m = new Merging(new Pins(smallTurn()));
  const mine = { changes: [drive("tube-d3", 8), pull("tube-d3", 3)] };
  m.show(mine.changes);
  assert.deepEqual(m.pins.turn.channels[1].pins, [4, 8]);
  assert.deepEqual(m.kept("tube-d3", 3), {}); // the program still has it
  assert.equal(m.kept("tube-d3", 8), null);
  m.hold([pull("tube-d3", 4), { channel: "tube-d3", step: 8, was: null, now: { aim: 9 } }]); // another's edit
  assert.deepEqual(m.pins.turn.channels[1].pins, [8]); // mine is shown over it at 8
  assert.deepEqual(m.pins.at(1, 8), {});
  m.settle(mine.changes, []); // refused
  assert.deepEqual(m.pins.turn.channels[1].pins, [3, 8]);
  assert.deepEqual(m.pins.at(1, 8), { aim: 9 });
  assert.equal(m.under.size, 0);
});

test("a hole shows the last of several edits that are under way", () => {
  const m = new Merging(new Pins(smallTurn()));
  const [first, second] = [{ changes: [drive("drum", 5)] }, { changes: [pull("drum", 5)] }];
  m.show(first.changes);
  m.show(second.changes);
  assert.equal(m.pins.at(2, 5), null);
  m.hold(first.changes);
  m.settle(first.changes, [second]); // the first is kept
  assert.equal(m.pins.at(2, 5), null);
  assert.deepEqual(m.kept("drum", 5), {});
  m.settle(second.changes, []); // the second refused
  assert.deepEqual(m.pins.at(2, 5), {});
});

test("any order of edits, answers and refusals ends with what the program holds", () => {
  let x = 5;
  const roll = (n) => (x = (x * 48271) % 2147483647) % n; // Lehmer's generator, from memory
  for (let round = 0; round < 300; round++) {
    const [shown, program] = [new Merging(new Pins(smallTurn())), new Pins(smallTurn())];
    const put = (c) => program.put(program.across.get(c.channel), c.step, c.now);
    const pending = [];
    const change = () => ({ channel: ["bar-c5", "tube-d3", "drum"][roll(3)], step: roll(4), was: null, now: [null, {}, { aim: roll(9) }][roll(3)] });
    for (let i = 0; i < 30 || pending.length; i++) {
      if (i < 30 && roll(2)) {
        const edit = { changes: [change(), change()] };
        shown.show(edit.changes);
        pending.push(edit);
      } else if (i < 30 && roll(3) === 0) {
        const theirs = [change()];
        theirs.forEach(put);
        shown.hold(theirs);
      } else if (pending.length) {
        const edit = pending.shift();
        if (roll(3)) {
          edit.changes.forEach(put);
          shown.hold(edit.changes);
        }
        shown.settle(edit.changes, pending);
      }
    }
    assert.deepEqual(shown.pins.turn, program.turn);
    assert.deepEqual(shown.pins.aims, program.aims);
    assert.equal(shown.under.size, 0);
  }
});

test("holes that are not on this wheel change nothing", () => {
  const m = new Merging(new Pins(smallTurn()));
  m.show([drive("drum", 16), drive("no-such-channel", 1)]);
  m.hold([drive("drum", 99), drive("no-such-channel", 1)]);
  assert.deepEqual(m.pins.turn, smallTurn());
  assert.equal(m.kept("no-such-channel", 1), null);
});

test("an edit is shown at once, sent once, and kept by the browser until it is answered", (t) => {
  const browser = fakeBrowser(t);
  const { desk } = open();
  answer(browser, 0);
  desk.do("drive", "drive Tube D3", [drive("tube-d3", 8)]);
  assert.deepEqual(tubes(desk), [3, 4, 8]);
  assert.equal(browser.socket.edits.length, 1);
  assert.equal(browser.store.length, 1);
  const { id, base } = browser.socket.edits[0];
  assert.equal(base, 0);
  browser.socket.say({ is: "edit", seq: 1, id, by: "", kind: "drive", words: "drive Tube D3", changes: [drive("tube-d3", 8)] });
  browser.socket.say(state(1));
  assert.deepEqual(tubes(desk), [3, 4, 8]);
  assert.equal(browser.store.length, 0);
  assert.equal(browser.socket.edits.length, 1);
});

test("edits outlive the page and the connection, and are sent again with the same ids in their order", (t) => {
  const browser = fakeBrowser(t);
  const first = open();
  answer(browser, 0);
  first.desk.do("drive", "one", [drive("tube-d3", 8)]);
  browser.socket.close();
  first.desk.do("drive", "two", [drive("tube-d3", 9)]);
  first.desk.leave();
  const ids = first.desk.pending.map((e) => e.id);
  const again = open();
  assert.deepEqual(tubes(again.desk), [3, 4, 8, 9]);
  answer(browser, 0);
  assert.deepEqual(browser.socket.edits.map((e) => e.id), ids);
  browser.socket.close();
  browser.tick(250);
  answer(browser, 0);
  assert.deepEqual(browser.socket.edits.map((e) => e.id), ids);
});

test("what the program refuses is taken off the face and said", (t) => {
  const browser = fakeBrowser(t);
  const { desk, heard } = open();
  answer(browser, 0);
  desk.do("drive", "drive far off", [drive("tube-d3", 8)]);
  browser.socket.say({ is: "refused", id: desk.pending[0].id, why: "There is no such step." });
  assert.deepEqual(tubes(desk), [3, 4]);
  assert.deepEqual(heard.refused, ["There is no such step. Not kept: drive far off."]);
  assert.equal(browser.store.length, 0);
});

test("what the program is too ill to take stays, and is sent again", (t) => {
  const browser = fakeBrowser(t);
  const { desk, heard } = open();
  answer(browser, 0);
  desk.do("drive", "drive Tube D3", [drive("tube-d3", 8)]);
  const [{ id }] = desk.pending;
  browser.socket.say({ is: "later", id, why: "The disk is full." });
  assert.equal(desk.socket, null);
  assert.match(heard.refused[0], /^The disk is full\. Not kept yet: drive Tube D3\./);
  assert.deepEqual(tubes(desk), [3, 4, 8]);
  browser.tick(500); // two failures: the connection and the edit
  answer(browser, 0);
  assert.deepEqual(browser.socket.edits.map((e) => e.id), [id]);
});

test("a hole that someone else has changed meanwhile is asked about, and mine can be kept", (t) => {
  const browser = fakeBrowser(t);
  const { desk, heard } = open();
  answer(browser, 0);
  desk.do("drive", "drive two", [drive("tube-d3", 8), drive("tube-d3", 9)]);
  const [{ id }] = desk.pending;
  const theirs = { channel: "tube-d3", step: 8, was: null, now: { aim: 12 } };
  browser.socket.say({ is: "edit", seq: 1, id: "o1", by: "the gallery", kind: "drive", words: "drive", changes: [theirs] });
  browser.socket.say({ is: "edit", seq: 2, id, by: "", kind: "drive", words: "drive two", changes: [drive("tube-d3", 9)] }); // without 8
  assert.deepEqual(desk.asked.map((a) => [a.channel, a.step, a.now]), [["tube-d3", 8, {}]]);
  assert.deepEqual(desk.pins.at(1, 8), { aim: 12 });
  assert.equal(heard.asked, 1);
  browser.socket.say({ is: "asked", holes: [{ channel: "tube-d3", step: 8, by: "the gallery" }] });
  assert.equal(desk.asked[0].by, "the gallery");
  assert.equal(open().desk.asked.length, 1); // over a reload
  desk.answer([...desk.asked], true);
  assert.deepEqual(desk.asked, []);
  assert.deepEqual(desk.pending[0].changes, [{ channel: "tube-d3", step: 8, was: { aim: 12 }, now: {} }]);
});

test("while the program is away undo takes back what was never sent, and redo brings it again", (t) => {
  const browser = fakeBrowser(t);
  const { desk, heard } = open();
  answer(browser, 0);
  desk.do("drive", "sent", [drive("tube-d3", 8)]);
  browser.socket.close();
  desk.do("drive", "not sent", [drive("tube-d3", 9)]);
  assert.deepEqual(desk.tops, { undo: "not sent", redo: null });
  desk.undo();
  assert.deepEqual(tubes(desk), [3, 4, 8]);
  assert.deepEqual(desk.tops, { undo: null, redo: "not sent" });
  desk.undo(); // the first may have arrived
  assert.deepEqual(tubes(desk), [3, 4, 8]);
  assert.match(heard.refused.at(-1), /can be taken back when it is there again/);
  desk.redo();
  assert.deepEqual(tubes(desk), [3, 4, 8, 9]);
  assert.deepEqual(desk.pending.map((e) => e.words), ["sent", "not sent"]);
});

test("an undo waits until every edit is answered, and names what it undoes", (t) => {
  const browser = fakeBrowser(t);
  const { desk } = open();
  answer(browser, 0);
  desk.do("drive", "drive", [drive("tube-d3", 8)]);
  const [{ id }] = desk.pending;
  desk.undo();
  assert.equal(browser.socket.sent.some((m) => m.do === "undo"), false);
  browser.socket.say({ is: "edit", seq: 1, id, by: "", kind: "drive", words: "drive", changes: [drive("tube-d3", 8)] });
  browser.socket.say(state(1, { undo: { seq: 1, words: "drive" } }));
  assert.equal(browser.socket.sent.at(-1).do, "undo");
  assert.equal(browser.socket.sent.at(-1).of, 1);
});

test("an edit that was missed is noticed, and asked for by coming back", (t) => {
  const browser = fakeBrowser(t);
  const { desk } = open();
  answer(browser, 0);
  browser.socket.say({ is: "edit", seq: 2, id: "o2", by: "", kind: "drive", words: "", changes: [drive("drum", 1)] });
  assert.equal(desk.seq, 0);
  browser.tick(250);
  browser.socket.accept();
  assert.equal(browser.socket.sent[0].do, "open");
  assert.equal(browser.socket.sent[0].after, 0);
  browser.socket.say({ is: "missed", edits: [1, 2].map((seq) => ({ seq, id: `o${seq}`, by: "", kind: "drive", words: "", changes: [drive("drum", seq)] })) });
  assert.equal(desk.seq, 2);
  assert.deepEqual(desk.pins.turn.channels[2].pins, [1, 2]);
});

test("where too much was missed the wheel is read again, with what was done here over it", async (t) => {
  const browser = fakeBrowser(t);
  const { desk } = open();
  browser.socket.accept();
  desk.do("drive", "drive", [drive("tube-d3", 8)]);
  browser.socket.say({ is: "anew" });
  await new Promise((done) => setImmediate(done));
  assert.deepEqual([desk.seq, tubes(desk)], [9, [3, 4, 8]]);
  assert.equal(desk.merging.kept("tube-d3", 8), null);
  assert.equal(browser.socket.sent.at(-1).after, 9);
  browser.socket.say(state(9));
  assert.equal(browser.socket.edits.length, 1);
});

test("a connection without an answer for ten seconds is given up", (t) => {
  const browser = fakeBrowser(t);
  const { desk } = open();
  answer(browser, 0);
  desk.do("drive", "drive", [drive("tube-d3", 8)]);
  browser.tick(9_999);
  assert.notEqual(desk.socket, null);
  browser.tick(1);
  assert.equal(desk.socket, null);
  assert.equal(desk.pending.length, 1);
});
