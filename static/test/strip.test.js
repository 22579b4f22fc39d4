// @ts-check
import assert from "node:assert/strict";
import { test } from "node:test";

import { shareOf, tempoWords } from "../js/lib/strip.js";

const safe = [
  { from: 30, to: 88.8, island: false },
  { from: 112, to: 118, island: true },
];

test("a tempo is said with whether it is safe", () => {
  assert.equal(tempoWords(84, safe), "84 BPM, safe");
  assert.equal(tempoWords(88.9, safe), "88.9 BPM, not safe");
  assert.equal(tempoWords(115, safe), "115 BPM, safe, but reached only through tempos that are not");
});

// Between 30 and 180 BPM: 105 is half way (worked by hand).
test("a tempo outside the strip stands at its end", () => {
  assert.equal(shareOf(105, 30, 180), 0.5);
  assert.equal(shareOf(500, 30, 180), 1);
  assert.equal(shareOf(1, 30, 180), 0);
});
