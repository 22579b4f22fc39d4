// What the program has not taken yet is never lost, doubled or put out of
// order. Times are milliseconds of a clock that the test sets.

import assert from "node:assert/strict";
import { test } from "node:test";

import { Outbox, retryMS } from "../js/lib/outbox.js";
import { FakeStore } from "./store.js";

const prefix = "pinwright tap /machines/1/jobs/2 ";
const isTap = (item) => typeof item.do === "string";

function open(store, clock = { ms: 1000 }) {
  return new Outbox(prefix, isTap, { store: () => store, now: () => clock.ms });
}

const words = (outbox) => outbox.items.map((item) => item.do);

test("what is put in outlives the page, in its order", () => {
  const store = new FakeStore();
  const clock = { ms: 1000 };
  const first = open(store, clock);
  for (const what of ["one", "two", "three"]) first.add({ do: what });
  const again = open(store, clock);
  assert.deepEqual(words(again), ["one", "two", "three"]);
  assert.deepEqual(again.items, first.items); // ids too: the program knows them again
  again.add({ do: "four" });
  assert.deepEqual(words(open(store, clock)), ["one", "two", "three", "four"]);
});

test("the order holds when the clock is set back", () => {
  const store = new FakeStore();
  const clock = { ms: 5000 };
  open(store, clock).add({ do: "before" });
  clock.ms = 1000;
  const later = open(store, clock);
  later.add({ do: "after" });
  later.add({ do: "last" });
  assert.deepEqual(words(open(store, clock)), ["before", "after", "last"]);
});

test("every item has an id of its own", () => {
  const outbox = open(new FakeStore());
  const ids = Array.from({ length: 1000 }, () => outbox.add({ do: "x" }).id);
  assert.equal(new Set(ids).size, 1000);
  for (const id of ids) assert.match(id, /^[0-9a-f]{32}$/);
});

test("an item goes out once, and again after the connection is lost", () => {
  const outbox = open(new FakeStore());
  const [a, b] = [outbox.add({ do: "a" }), outbox.add({ do: "b" })];
  const sent = [];
  const flush = () => {
    for (let item = outbox.next; item; item = outbox.next) {
      outbox.sending(item);
      sent.push(item.id);
    }
  };
  flush();
  flush();
  assert.deepEqual(sent, [a.id, b.id]);
  outbox.settle(a.id); // answered
  outbox.lost();
  flush();
  assert.deepEqual(sent, [a.id, b.id, b.id]); // with the same id, the first no more
});

test("what is settled is gone from the browser, and settled once", () => {
  const store = new FakeStore();
  const outbox = open(store);
  const item = outbox.add({ do: "a" });
  assert.deepEqual(outbox.settle(item.id), item);
  assert.equal(outbox.settle(item.id), null);
  assert.equal(outbox.settle("someone else's"), null);
  assert.equal(store.length, 0);
});

test("only what was never sent can be taken back", () => {
  const store = new FakeStore();
  const outbox = open(store);
  const [a, b] = [outbox.add({ do: "a" }), outbox.add({ do: "b" })];
  outbox.sending(a);
  outbox.lost();
  assert.equal(outbox.mayHaveArrived(a), true); // the answer may have been lost, not the item
  assert.equal(outbox.mayHaveArrived(b), false);
  for (const item of open(store).items) assert.equal(open(store).mayHaveArrived(item), true); // an earlier page may have sent it
});

test("what the browser would not keep is not lost when another page's items are taken", () => {
  const store = new FakeStore();
  const outbox = open(store, { ms: 2000 });
  store.full = true;
  const here = outbox.add({ do: "here" });
  assert.equal(outbox.keeps, false);
  assert.equal(outbox.unkept.has(here.id), true);
  store.full = false;
  open(store, { ms: 1000 }).add({ do: "other page, earlier" });
  open(store, { ms: 3000 }).add({ do: "other page, later" });
  outbox.reload();
  assert.deepEqual(words(outbox), ["other page, earlier", "here", "other page, later"]);
  assert.equal(outbox.mayHaveArrived(outbox.items[0]), true); // the other page sends its own
});

test("an item that another page has settled is not sent again", () => {
  const store = new FakeStore();
  const [one, two] = [open(store), open(store)];
  const item = one.add({ do: "a" });
  two.reload();
  assert.deepEqual(words(two), ["a"]);
  one.settle(item.id);
  two.reload();
  assert.deepEqual(words(two), []);
});

test("what an older version left is read: the keys and values that it wrote", () => {
  // Written by hand as the desk and the pages at the wheel wrote them when each
  // had a store of its own.
  const store = new FakeStore({
    "pinwright edit 7 5ad1": '{"id":"5ad1","base":3,"at":1764000000001,"kind":"drive","words":"drive Bar C5, bar 2 beat 2","changes":[{"channel":"bar-c5","step":20,"was":null,"now":{}}]}',
    "pinwright edit 7 0c22": '{"id":"0c22","base":3,"at":1764000000000.5,"kind":"pull","words":"pull Bar C5, bar 2 beat 1","changes":[{"channel":"bar-c5","step":16,"was":{},"now":null}]}',
    "pinwright tap /machines/1/jobs/2 9f00": '{"id":"9f00","at":1764000000000,"do":"done","step":4,"channels":["bar-c5"]}',
  });
  const edits = new Outbox("pinwright edit 7 ", (edit) => Array.isArray(edit.changes), { store: () => store });
  assert.deepEqual(edits.items.map((e) => e.words), ["pull Bar C5, bar 2 beat 1", "drive Bar C5, bar 2 beat 2"]);
  assert.deepEqual(open(store).items, [{ id: "9f00", at: 1764000000000, do: "done", step: 4, channels: ["bar-c5"] }]);
});

test("what is no item is cleared away, and hides no item after it", () => {
  const store = new FakeStore({
    [`${prefix}broken`]: "{",
    [`${prefix}none`]: "null",
    [`${prefix}other`]: '{"id": "x", "at": 1}',
    [`${prefix}good`]: '{"id": "good", "at": 1, "do": "done"}',
    "pinwright tap /machines/1/jobs/22 far": '{"id": "far", "at": 1, "do": "done"}', // of another job
    "pinwright name": "Ada",
  });
  assert.deepEqual(open(store).items.map((item) => item.id), ["good"]);
  assert.deepEqual([...store.entries.keys()], [`${prefix}good`, "pinwright tap /machines/1/jobs/22 far", "pinwright name"]);
});

test("a browser that keeps nothing at all still sends", () => {
  const outbox = new Outbox(prefix, isTap, {
    store: () => {
      throw new DOMException("denied", "SecurityError");
    },
  });
  const item = outbox.add({ do: "a" });
  assert.equal(outbox.next, item);
  assert.equal(outbox.keeps, false);
  assert.equal(outbox.settle(item.id), item);
});

test("attempts come at 250 ms, then twice as late each time, at most every 2 s", () => {
  const waits = { firstMS: 250, longestMS: 2000 };
  assert.deepEqual([1, 2, 3, 4, 5, 1000].map((n) => retryMS(n, waits)), [250, 500, 1000, 2000, 2000, 2000]);
  assert.equal(retryMS(0, waits), 250);
});
