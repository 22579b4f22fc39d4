// @ts-check
import assert from "node:assert/strict";
import { test } from "node:test";

import { shareOf, tempoWords } from "../js/lib/strip.js";

const safe = [
  { from: 30, to: 74, island: false, close: false },
  { from: 74, to: 88.8, island: false, close: true },
  { from: 112, to: 118, island: true, close: false },
];

test("a tempo is said with its verdict", () => {
  assert.equal(tempoWords(60, safe), "60 BPM, trusted");
  assert.equal(tempoWords(84, safe), "84 BPM, close");
  assert.equal(tempoWords(60, [], true), "60 BPM, unknown");
  assert.equal(tempoWords(88.9, safe), "88.9 BPM, not safe");
  assert.equal(tempoWords(115, safe), "115 BPM, no rule broken, but reached only through tempos that are not safe");
});

// Between 30 and 180 BPM: 105 is half way (worked by hand).
test("a tempo outside the strip stands at its end", () => {
  assert.equal(shareOf(105, 30, 180), 0.5);
  assert.equal(shareOf(500, 30, 180), 1);
  assert.equal(shareOf(1, 30, 180), 0);
});
