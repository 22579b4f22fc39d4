// @ts-check
// Finding a place on the wheel by what is written: "bar 12", "bar 3 beat 2",
// "step 40", "Bar G5", "unready", or two of them with a comma between.

/**
 * @typedef {import("./face.js").Hole} Hole
 * @typedef {{hole: Hole | null, says: string}} Found
 */

/** Names as they may be typed. @param {string} text */
const plain = (text) =>
  text.normalize("NFKC").toLowerCase().replaceAll("♯", "#").replaceAll("♭", "b").replace(/\s+/g, " ").trim();

/**
 * @param {string} asked
 * @param {{turn: import("./face.js").Turn, cursor: Hole | null, marks: Map<number, import("./face.js").Mark[]>,
 *   isHeld: (across: number, step: number) => boolean}} face
 * @param {string[]} kinds  of marks
 * @returns {Found}
 */
export function find(asked, { turn, cursor, marks, isHeld }, kinds) {
  const { channels, steps, steps_per_beat: beat, beats_per_bar: beats } = turn;
  const from = cursor ?? { across: 0, down: 0 };
  let hole = { ...from };
  const parts = plain(asked).split(",").map((p) => p.trim()).filter(Boolean);
  if (!parts.length) return { hole: null, says: "Write a bar, a step, a channel or a kind of finding." };
  for (const part of parts) {
    const [, stepText] = part.match(/^step (\d+)$/) ?? [];
    const [, barText, beatText] = part.match(/^bar (\d+)(?: beat (\d+))?$/) ?? [];
    const [, named] = part.match(/^channel (.+)$/) ?? [];
    if (part === "seam") hole.down = 0;
    else if (stepText) {
      if (Number(stepText) >= steps) return { hole: null, says: `There is no step ${stepText}; the last is ${steps - 1}.` };
      hole.down = Number(stepText);
    } else if (barText) {
      const down = ((Number(barText) - 1) * beats + Number(beatText ?? 1) - 1) * beat;
      if (Number(beatText ?? 1) < 1 || Number(beatText ?? 1) > beats) return { hole: null, says: `A bar has beats 1 to ${beats}.` };
      if (down < 0 || down >= steps) return { hole: null, says: `There is no bar ${barText}; the turn has bars 1 to ${Math.ceil(steps / (beat * beats))}.` };
      hole.down = down;
    } else {
      const next = part === "held" || kinds.includes(part) ? nextOf(part, hole, channels, steps, marks, isHeld) : undefined;
      if (next) hole = next;
      else if (next === null) return { hole: null, says: `Nothing on the wheel is ${part} now.` };
      else {
        const across = channelNamed(named ?? part, channels);
        if (across < 0) return { hole: null, says: `There is no “${part}” here. Write bar 12, bar 3 beat 2, step 40, a channel such as ${channels[0].name}, or a kind of finding such as unready.` };
        hole.across = across;
      }
    }
  }
  return { hole, says: "" };
}

/** @param {string} name @param {import("./face.js").Channel[]} channels */
function channelNamed(name, channels) {
  const names = channels.map((c) => plain(c.name));
  for (const fits of [(/** @type {string} */ n) => n === name, (/** @type {string} */ n) => n.startsWith(name), (/** @type {string} */ n) => n.includes(name)]) {
    const at = names.findIndex(fits);
    if (at >= 0) return at;
  }
  return channels.findIndex((c) => plain(c.id) === name);
}

/**
 * The next hole with a finding of a kind, or with a held pin, as the wheel
 * turns: beyond the seam where there is none before it.
 *
 * @param {string} kind
 * @param {Hole} from
 * @param {import("./face.js").Channel[]} channels
 * @param {number} steps
 * @param {Map<number, import("./face.js").Mark[]>} marks
 * @param {(across: number, step: number) => boolean} isHeld
 * @returns {Hole | null} null: there is none
 */
function nextOf(kind, from, channels, steps, marks, isHeld) {
  /** @type {Hole[]} */
  let holes;
  if (kind === "held") holes = channels.flatMap((c, across) => c.pins.filter((step) => isHeld(across, step)).map((down) => ({ across, down })));
  else holes = [...marks].flatMap(([across, list]) => list.filter((m) => m.kind === kind).map((m) => ({ across, down: m.step })));
  const n = channels.length;
  const here = from.down * n + from.across;
  let best = null;
  let least = Infinity;
  for (const hole of holes) {
    const ahead = hole.down * n + hole.across - here;
    const way = ahead > 0 ? ahead : ahead + steps * n;
    if (way < least) [best, least] = [hole, way];
  }
  return best;
}
