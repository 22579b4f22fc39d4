// @ts-check
// Finding a place on the wheel by what is written: "bar 12", "bar 3 beat 2" or
// "3.2", "step 40", "Bar G5", "unready", the lane "drain", or several of them:
// "Tube D3 unready".

/**
 * @typedef {import("./face.js").Hole} Hole
 * @typedef {{hole: Hole | null, says: string}} Found
 */

/** Names as they may be typed. @param {string} text */
const plain = (text) =>
  text.normalize("NFKC").toLowerCase().replaceAll("♯", "#").replaceAll("♭", "b").replace(/\s+/g, " ").trim();

/**
 * What a technician asks for, as far as it was understood.
 *
 * @typedef {object} Asked
 * @property {number | null} across  a channel
 * @property {number | null} down  a step
 * @property {string | null} kind  a kind of finding, or "held"
 * @property {{name: string, channels: Set<number>} | null} lane  a lane, and the channels whose marbles go through it
 */

/**
 * What words can be understood as.
 *
 * @typedef {object} Known
 * @property {import("./face.js").Turn} turn
 * @property {string[]} kinds
 * @property {Map<string, Set<number>>} lanes  the channels of a lane, by its id
 */

/**
 * @param {string} asked
 * @param {{turn: import("./face.js").Turn, cursor: Hole | null, marks: Map<number, import("./face.js").Mark[]>,
 *   isHeld: (across: number, step: number) => boolean}} face
 * @param {string[]} kinds  of marks
 * @param {Map<string, Set<number>>} [lanes]
 * @returns {Found}
 */
export function find(asked, face, kinds, lanes = new Map()) {
  const { turn, cursor } = face;
  const parts = plain(asked).split(",").map((p) => p.trim()).filter(Boolean);
  if (!parts.length) return { hole: null, says: "Write a bar, a step, a channel, a lane or a kind of finding." };
  /** @type {Asked} */
  const want = { across: null, down: null, kind: null, lane: null };
  for (const part of parts) {
    const read = understood(part, { turn, kinds, lanes });
    if (typeof read === "string") return { hole: null, says: read };
    if (!read) {
      const says = `There is no “${part}” here. Write bar 12, 7.2 for bar 7 beat 2, step 40, a channel such as ${turn.channels[0].name}, a lane, or a kind of finding such as unready.`;
      return { hole: null, says };
    }
    Object.assign(want, read);
  }
  const hole = { across: want.across ?? cursor?.across ?? 0, down: want.down ?? cursor?.down ?? 0 };
  if (!want.kind && !want.lane) return { hole, says: "" };
  const next = nextOf(want, hole, face);
  return next ? { hole: next, says: "" } : { hole: null, says: nothingWords(want, turn) };
}

/** @param {Asked} want @param {import("./face.js").Turn} turn */
function nothingWords({ across, kind, lane }, turn) {
  if (!kind) return `No pin drops a marble through ${lane?.name}.`;
  const where = across !== null ? turn.channels[across].name : lane ? `any channel through ${lane.name}` : "the wheel";
  return `Nothing on ${where} is ${kind} now.`;
}

/**
 * Understands words as one thing, or as several: "Tube D3 unready". The longest
 * name goes first.
 *
 * @param {string} words
 * @param {Known} known
 * @returns {Partial<Asked> | string | null}  in words where there is no such place; null where they say nothing
 */
function understood(words, known) {
  const whole = placeIn(words, known.turn) ?? named(words, known);
  if (whole !== null) return whole;
  const all = words.split(" ");
  for (let n = all.length - 1; n > 0; n--) {
    const first = understood(all.slice(0, n).join(" "), known);
    const rest = first && understood(all.slice(n).join(" "), known);
    if (!first || !rest) continue;
    if (typeof first === "string") return first;
    if (typeof rest === "string") return rest;
    return { ...first, ...rest };
  }
  return null;
}

/**
 * A place on the turn: "seam", "step 40", "bar 3 beat 2", "3.2", "3".
 *
 * @param {string} words
 * @param {import("./face.js").Turn} turn
 * @returns {Partial<Asked> | string | null}
 */
function placeIn(words, { channels, steps, steps_per_beat: beat, beats_per_bar: beats }) {
  if (words === "seam") return { down: 0 };
  const [, step] = words.match(/^step (\d+)$/) ?? [];
  if (step) return Number(step) < steps ? { down: Number(step) } : `There is no step ${step}; the last is ${steps - 1}.`;
  if (channels.some((c) => plain(c.name) === words)) return null;
  const [, bar, beatText = "1"] = words.match(/^(?:bar )?(\d+)(?:(?:\.| beat )(\d+))?$/) ?? [];
  if (!bar) return null;
  if (Number(beatText) < 1 || Number(beatText) > beats) return `A bar has beats 1 to ${beats}.`;
  const down = ((Number(bar) - 1) * beats + Number(beatText) - 1) * beat;
  if (down < 0 || down >= steps) return `There is no bar ${bar}; the turn has bars 1 to ${Math.ceil(steps / (beat * beats))}.`;
  return { down };
}

/**
 * A kind of finding, a channel or a lane, by its name or a part of it.
 *
 * @param {string} words
 * @param {Known} known
 * @returns {Partial<Asked> | null}
 */
function named(words, { turn, kinds, lanes }) {
  if (words === "held" || kinds.includes(words)) return { kind: words };
  const lane = (/** @type {(id: string) => boolean} */ fits) => {
    const ids = [...lanes.keys()].filter((id) => fits(plain(id)));
    return ids.length ? { lane: { name: ids.join(", "), channels: new Set(ids.flatMap((id) => [...(lanes.get(id) ?? [])])) } } : null;
  };
  const [, name = words] = words.match(/^channel (.+)$/) ?? [];
  const exact = lane((id) => id === words);
  if (exact) return exact;
  const across = channelNamed(name, turn.channels);
  return across >= 0 ? { across } : lane((id) => id.startsWith(words));
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
 * The next hole with a finding of a kind, with a held pin, or with a pin whose
 * marble goes through a lane, as the wheel turns: beyond the seam where there is
 * none before it. A place that was named counts itself.
 *
 * @param {Asked} want
 * @param {Hole} from
 * @param {{turn: import("./face.js").Turn, marks: Map<number, import("./face.js").Mark[]>, isHeld: (across: number, step: number) => boolean}} face
 * @returns {Hole | null} null: there is none
 */
function nextOf({ across: on, down: place, kind, lane }, from, { turn, marks, isHeld }) {
  const { channels, steps } = turn;
  /** @type {Hole[]} */
  let holes;
  if (kind && kind !== "held") holes = [...marks].flatMap(([across, list]) => list.filter((m) => m.kind === kind).map((m) => ({ across, down: m.step })));
  else holes = channels.flatMap((c, across) => c.pins.filter((step) => !kind || isHeld(across, step)).map((down) => ({ across, down })));
  const n = channels.length;
  const here = place === null ? from.down * n + from.across : place * n - 0.5;
  let best = null;
  let least = Infinity;
  for (const hole of holes) {
    if (on !== null ? hole.across !== on : lane && !lane.channels.has(hole.across)) continue;
    const ahead = hole.down * n + hole.across - here;
    const way = ahead > 0 ? ahead : ahead + steps * n;
    if (way < least) [best, least] = [hole, way];
  }
  return best;
}
