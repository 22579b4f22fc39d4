// @ts-check
// The pinning's desk: what is done here goes to the program over one
// WebSocket, and what others do comes back. A pin is drawn before the answer
// comes. What the program has not answered yet is kept by the browser, so that
// it outlives a program that is stopped and a page that is closed.

import { newID } from "../lib/ids.js";
import { keyOf, same } from "./pins.js";

/**
 * @typedef {import("./pins.js").Change} Change
 * @typedef {import("./pins.js").InHole} InHole
 * @typedef {{id: string, base: number, at: number, kind: string, words: string, changes: Change[], sent?: boolean}} Pending
 * @typedef {{channel: string, step: number, was: InHole, now: InHole, by?: string}} Asked   wanted now; the hole may hold something else
 * @typedef {{seq: number, words: string}} Top
 * @typedef {{seq: number, undo: Top | null, redo: Top | null, people: number, marks: {id: number, seq: number, name: string, at: string}[]}} State
 * @typedef {{seq: number, id: string, by: string, kind: string, words: string, changes: Change[], advance?: Record<string, number>}} Edit
 * @typedef {{seq: number, stands: string, listed: string, brief: string, made: string}} Verdict
 * @typedef {{changed: () => void, edit: (e: Edit, mine: boolean) => void, verdict: (v: Verdict) => void, state: () => void,
 *   asked: () => void, refused: (why: string) => void, anew: () => Promise<number>}} Hears
 */

const firstWaitMS = 250; // until a lost connection is tried again; then ever longer
const longestWaitMS = 2000;
const answerMS = 10_000; // a connection that gives no answer for so long is lost
const stillMS = 20_000; // so often the program is asked whether it is there

export class Desk {
  /**
   * @param {{url: string, pinning: string, pins: import("./pins.js").Pins, seq: number, hears: Hears}} o
   */
  constructor({ url, pinning, pins, seq, hears }) {
    this.url = url;
    this.pins = pins;
    this.seq = seq; // of the last edit seen, with all before it
    this.hears = hears;
    this.tempo = 0; // at which findings are wanted; 0: the pinning's own
    this.name = "";
    /** @type {State} */
    this.state = { seq: -1, undo: null, redo: null, people: 0, marks: [] };
    /** @type {WebSocket | null} */
    this.socket = null;
    this.open = false; // what was missed has been told
    this.tried = 0; // connections that failed since the last good one
    this.faults = 0; // times that the program could not keep an edit, since one was kept
    /** @type {Map<string, {across: number, step: number, is: InHole}>} what the program holds where it is not what is shown */
    this.under = new Map();
    /** @type {{do: string, seq?: number, words?: string}[]} asked for, in order, once all edits are answered */
    this.wishes = [];
    this.wished = ""; // the id of the wish that is being done
    /** @type {Pending[]} taken back before they were sent */
    this.takenBack = [];
    this.retry = 0;
    this.overdue = 0;
    this.drawer = new Drawer(pinning);
    this.pending = this.drawer.edits();
    this.asked = this.drawer.asked();
    for (const edit of this.pending) this.show(edit.changes);
    setInterval(() => this.open && this.send({ do: "here" }), stillMS);
    addEventListener("online", () => this.connectNow());
    document.addEventListener("visibilitychange", () => document.hidden || this.connectNow());
    addEventListener("pagehide", () => this.leave());
    addEventListener("pageshow", (event) => event.persisted && this.connect());
  }

  connectNow() {
    if (!this.socket) this.connect();
  }

  connect() {
    clearTimeout(this.retry);
    const socket = new WebSocket(this.url);
    this.socket = socket;
    socket.addEventListener("open", () => this.opening());
    socket.addEventListener("message", (event) => {
      if (socket === this.socket) this.take(JSON.parse(event.data));
    });
    socket.addEventListener("close", () => {
      if (socket !== this.socket) return;
      this.tried++;
      this.lost();
      this.retry = setTimeout(() => this.connect(), Math.min(longestWaitMS, firstWaitMS * 2 ** Math.min(this.tried + this.faults - 1, 6)));
    });
  }

  /** The connection is gone. What was wished for is not done behind anyone's back later. */
  lost() {
    this.socket = null;
    this.open = false;
    this.answered();
    if (this.wished || this.wishes.length) this.hears.refused("The program went away before it could do that. Look at the wheel, and ask once more if need be.");
    this.wishes = [];
    this.wished = "";
    this.hears.state();
  }

  leave() {
    clearTimeout(this.retry);
    this.answered();
    const { socket } = this;
    this.socket = null;
    this.open = false;
    socket?.close();
  }

  /** @param {object} message */
  send(message) {
    this.socket?.send(JSON.stringify(message));
    if (this.overdue) return;
    this.overdue = setTimeout(() => {
      this.overdue = 0;
      this.socket?.close();
    }, answerMS);
  }

  /** The program is there. */
  answered() {
    clearTimeout(this.overdue);
    this.overdue = 0;
  }

  opening() {
    this.send({ do: "open", after: this.seq, name: this.name, ...(this.tempo ? { tempo: this.tempo } : {}) });
  }

  /** @param {any} m */
  take(m) {
    this.answered();
    if (m.is === "edit") this.takeEdit(m);
    else if (m.is === "missed") for (const edit of m.edits) this.takeEdit(edit);
    else if (m.is === "verdict") this.hears.verdict(m);
    else if (m.is === "asked") this.nameAsked(m);
    else if (m.is === "refused") this.takeRefusal(m);
    else if (m.is === "later") this.putOff(m);
    else if (m.is === "anew") this.anew();
    else if (m.is === "state") this.takeState(m);
  }

  /** @param {State} state */
  takeState(state) {
    this.state = state;
    if (this.wished.startsWith("mark")) this.wished = "";
    if (!this.open) {
      this.open = true;
      this.tried = 0;
      for (const edit of this.pending) this.sendEdit(edit);
    }
    this.hears.state();
    this.next();
  }

  /** @param {Edit} m */
  takeEdit(m) {
    if (m.seq > this.seq + 1) {
      this.socket?.close(); // one was lost on the way: come back and be told
      return;
    }
    if (m.seq === this.seq + 1) {
      this.seq = m.seq;
      for (const c of m.changes) this.hold(c);
      if (m.advance) for (const c of this.pins.turn.channels) c.advance = m.advance[c.id] ?? 0;
    }
    const mine = this.settle(m.id);
    if (mine) {
      this.faults = 0;
      this.findHeldBack(mine, m);
    }
    const wished = this.wished !== "" && m.id === this.wished;
    if (wished) this.wished = "";
    this.hears.changed();
    this.hears.edit(m, mine !== null || wished);
    this.next();
  }

  /** The program's hole comes to hold something. @param {Change} c */
  hold({ channel, step, now }) {
    const across = this.pins.across.get(channel);
    if (across === undefined || step >= this.pins.turn.steps) return;
    const under = this.under.get(keyOf(channel, step));
    if (under) under.is = now ?? null;
    else this.pins.put(across, step, now ?? null);
  }

  /** Shows what is not kept yet. @param {Change[]} changes */
  show(changes) {
    for (const { channel, step, now } of changes) {
      const across = this.pins.across.get(channel);
      if (across === undefined || step >= this.pins.turn.steps) continue;
      const key = keyOf(channel, step);
      if (!this.under.has(key)) this.under.set(key, { across, step, is: this.pins.at(across, step) });
      this.pins.put(across, step, now);
    }
  }

  /**
   * An edit is no longer under way: its holes show what the program holds, or
   * what the edits after it make of them.
   *
   * @param {string} id
   * @returns {Pending | null} null where it was none of this page
   */
  settle(id) {
    const i = this.pending.findIndex((p) => p.id === id);
    if (i < 0) return null;
    const [edit] = this.pending.splice(i, 1);
    this.drawer.forget(edit);
    /** @type {Map<string, InHole>} */
    const later = new Map();
    for (const { changes } of this.pending) for (const c of changes) later.set(keyOf(c.channel, c.step), c.now);
    for (const { channel, step } of edit.changes) {
      const key = keyOf(channel, step);
      const under = this.under.get(key);
      if (!under) continue;
      const now = later.get(key);
      this.pins.put(under.across, under.step, now === undefined ? under.is : now);
      if (now === undefined) this.under.delete(key);
    }
    return edit;
  }

  /** @param {string} channel @param {number} step @returns {InHole} what the program holds */
  kept(channel, step) {
    const under = this.under.get(keyOf(channel, step));
    if (under) return under.is;
    const across = this.pins.across.get(channel);
    return across === undefined || step >= this.pins.turn.steps ? null : this.pins.at(across, step);
  }

  /**
   * What an edit asked for and did not get, because someone else had touched
   * the hole, is asked about.
   *
   * @param {Pending} mine
   * @param {Edit} kept
   */
  findHeldBack(mine, kept) {
    const got = new Set(kept.changes.map((c) => keyOf(c.channel, c.step)));
    const held = mine.changes.filter((c) => !got.has(keyOf(c.channel, c.step)) && !same(this.kept(c.channel, c.step), c.now));
    if (!held.length) return;
    const again = new Set(held.map((c) => keyOf(c.channel, c.step)));
    this.asked = [...this.asked.filter((a) => !again.has(keyOf(a.channel, a.step))), ...held];
    this.drawer.keepAsked(this.asked);
    this.hears.asked();
  }

  /** @param {{holes: Asked[]}} m */
  nameAsked({ holes }) {
    const by = new Map(holes.map((h) => [keyOf(h.channel, h.step), h.by]));
    for (const a of this.asked) a.by = by.get(keyOf(a.channel, a.step)) ?? a.by;
    this.drawer.keepAsked(this.asked);
    this.hears.asked();
  }

  /**
   * Answers what was asked of some holes.
   *
   * @param {Asked[]} holes
   * @param {boolean} mine  this page's wish is to hold, not what is there
   */
  answer(holes, mine) {
    const answered = new Set(holes);
    this.asked = this.asked.filter((a) => !answered.has(a));
    this.drawer.keepAsked(this.asked);
    if (mine) {
      const changes = holes.map(({ channel, step, now }) => ({ channel, step, was: this.kept(channel, step), now })).filter((c) => !same(c.was, c.now));
      this.do("keep", `keep this page's pins in ${holes.length === 1 ? "1 hole" : `${holes.length} holes`} that two had changed`, changes);
    }
    this.hears.asked();
  }

  /** @param {{id: string, why: string}} m */
  takeRefusal({ id, why }) {
    const mine = this.settle(id);
    if (id && id === this.wished) this.wished = "";
    if (mine) this.hears.changed();
    this.hears.refused(mine ? `${why} Not kept: ${mine.words}.` : why);
    this.hears.state();
    this.next();
  }

  /** The program could not do it, and is at fault: the edit waits here and is sent again. @param {{id: string, why: string}} m */
  putOff({ id, why }) {
    this.faults++;
    const mine = this.pending.find((p) => p.id === id);
    this.hears.refused(mine ? `${why} Not kept yet: ${mine.words}. It stays in this browser and is sent again.` : why);
    this.socket?.close();
  }

  async anew() {
    this.open = false;
    try {
      this.seq = await this.hears.anew();
    } catch {
      this.socket?.close();
      return;
    }
    this.under.clear();
    for (const edit of this.pending) this.show(edit.changes);
    this.hears.changed();
    if (this.socket?.readyState === WebSocket.OPEN) this.opening();
  }

  /**
   * Makes an edit: it is drawn, kept by the browser, and sent.
   *
   * @param {string} kind
   * @param {string} words
   * @param {Change[]} changes
   */
  do(kind, words, changes) {
    if (!changes.length) return;
    this.takenBack = [];
    this.add({ id: newID(), base: this.seq, at: this.drawer.later(), kind, words: clipped(words), changes });
  }

  /** @param {Pending} edit */
  add(edit) {
    this.show(edit.changes);
    this.pending.push(edit);
    this.hears.changed();
    if (this.open) this.sendEdit(edit);
    if (!this.drawer.keep(edit)) this.hears.refused("This browser keeps nothing for the page. Until the program answers, do not close it.");
    this.hears.state();
  }

  /** @param {Pending} edit */
  sendEdit(edit) {
    const { id, base, kind, words, changes } = edit;
    edit.sent = true;
    this.send({ do: "edit", id, base, kind, words, changes });
  }

  undo() {
    if (this.open) return this.wish({ do: "undo" });
    const last = this.pending.at(-1);
    if (!last || last.sent) return this.hears.refused("What was done before the program went away can be taken back when it is there again.");
    this.settle(last.id);
    this.takenBack.push(last);
    this.hears.changed();
    this.hears.state();
  }

  redo() {
    const last = this.takenBack.pop();
    if (last) return this.add({ ...last, id: newID(), base: this.seq });
    if (this.open) return this.wish({ do: "redo" });
    this.hears.refused("What was taken back before the program went away can be brought again when it is there.");
  }

  /** What undo and redo would do, in words; null for nothing. */
  get tops() {
    const last = this.pending.at(-1);
    const undo = last && (this.open || !last.sent) ? last.words : this.open ? this.state.undo?.words ?? null : null;
    const redo = this.takenBack.at(-1)?.words ?? (this.open && !this.pending.length ? this.state.redo?.words ?? null : null);
    return { undo, redo };
  }

  /** @param {{do: string, seq?: number, mark?: number, words?: string}} wish */
  wish(wish) {
    if (!this.open) return this.hears.refused("The program does not answer; this needs it.");
    this.wishes.push(wish);
    this.next();
  }

  /** Does the next wish, once the pins here are those of the program. */
  next() {
    if (!this.open || this.wished || this.pending.length || this.state.seq !== this.seq) return;
    const wish = this.wishes.shift();
    if (!wish) return;
    const top = wish.do === "undo" ? this.state.undo : this.state.redo;
    if ((wish.do === "undo" || wish.do === "redo") && !top) return this.hears.refused(`There is nothing to ${wish.do}.`);
    this.wished = wish.do.endsWith("mark") ? `mark${newID()}` : newID();
    this.send({ ...wish, id: this.wished, ...(wish.do === "undo" || wish.do === "redo" ? { of: top?.seq } : {}) });
  }

  /** @param {number} bpm @returns {boolean} whether the program will answer */
  askAt(bpm) {
    this.tempo = bpm;
    if (this.open) this.send({ do: "tempo", tempo: bpm });
    return this.open;
  }
}

/** What the browser keeps of one pinning's edits, each by itself, so that two pages do not undo each other's. */
class Drawer {
  /** @param {string} pinning */
  constructor(pinning) {
    this.prefix = `pinwright edit ${pinning} `;
    this.askedKey = `pinwright asked ${pinning}`;
    this.last = 0;
  }

  /** A number for the order of edits: after those of an earlier page as well. */
  later() {
    this.last = Math.max(this.last + 0.001, Date.now());
    return this.last;
  }

  /** @returns {Pending[]} in the order they were made */
  edits() {
    const kept = [];
    try {
      for (const key of Object.keys(localStorage)) {
        if (!key.startsWith(this.prefix)) continue;
        const edit = JSON.parse(localStorage.getItem(key) ?? "null");
        if (typeof edit?.id === "string" && Array.isArray(edit.changes)) kept.push({ ...edit, sent: true });
        else localStorage.removeItem(key);
      }
    } catch {
      // a browser that keeps nothing, or what it kept is no edit: there are none
    }
    return kept.sort((a, b) => a.at - b.at);
  }

  /** @returns {Asked[]} */
  asked() {
    try {
      const asked = JSON.parse(localStorage.getItem(this.askedKey) ?? "[]");
      return Array.isArray(asked) ? asked : [];
    } catch {
      return [];
    }
  }

  /** @param {Asked[]} asked */
  keepAsked(asked) {
    try {
      if (asked.length) localStorage.setItem(this.askedKey, JSON.stringify(asked));
      else localStorage.removeItem(this.askedKey);
    } catch {
      // asked until the page is closed
    }
  }

  /** @param {Pending} edit @returns {boolean} */
  keep({ sent: _, ...edit }) {
    try {
      localStorage.setItem(this.prefix + edit.id, JSON.stringify(edit));
      return true;
    } catch {
      return false;
    }
  }

  /** @param {Pending} edit */
  forget({ id }) {
    try {
      localStorage.removeItem(this.prefix + id);
    } catch {
      // nothing was kept
    }
  }
}

/** @param {string} words */
function clipped(words) {
  const letters = [...words.replace(/\p{Cc}/gu, " ")];
  return letters.length > 190 ? `${letters.slice(0, 189).join("")}…` : letters.join("");
}
