// @ts-check
// The pinning's desk: what is done here goes to the program over one
// WebSocket, and what others do comes back. A pin is drawn before the answer
// comes; what has no answer waits in the outbox.

import { newID } from "../lib/ids.js";
import { Outbox, retryMS } from "../lib/outbox.js";
import { Questions } from "./asked.js";
import { Merging } from "./merging.js";
import { same } from "./pins.js";

/**
 * @typedef {import("./pins.js").Change} Change
 * @typedef {import("./asked.js").Asked} Asked
 * @typedef {{id: string, base: number, at: number, kind: string, words: string, changes: Change[]}} Pending   an edit that has no answer yet
 * @typedef {{seq: number, words: string}} Top
 * @typedef {{seq: number, undo: Top | null, redo: Top | null, people: number, marks: {id: number, seq: number, name: string, at: string}[]}} State
 * @typedef {{seq: number, id: string, by: string, kind: string, words: string, changes: Change[], advance?: Record<string, number>}} Edit
 * @typedef {{seq: number, stands: string, listed: string, brief: string, made: string}} Verdict
 * @typedef {{changed: () => void, edit: (e: Edit, mine: boolean) => void, verdict: (v: Verdict) => void, state: () => void,
 *   asked: () => void, refused: (why: string) => void, reread: () => Promise<{pins: import("./pins.js").Pins, seq: number}>,
 *   replaced: (before: import("./pins.js").Pins) => void}} Listener   reread: reads the wheel; replaced: its pins are others now
 */

const waits = { firstMS: 250, longestMS: 2000 }; // until a lost connection is tried again
const answerMS = 10_000; // a connection that gives no answer for so long is lost
const stillMS = 20_000; // so often the program is asked whether it is there

export class Desk {
  /**
   * @param {{url: string, pinning: string, pins: import("./pins.js").Pins, seq: number, listener: Listener}} o
   */
  constructor({ url, pinning, pins, seq, listener }) {
    this.url = url;
    this.merging = new Merging(pins);
    this.seq = seq; // of the last edit seen, with all before it
    this.listener = listener;
    this.tempo = 0; // at which findings are wanted; 0: the pinning's own
    this.name = "";
    /** @type {State} */
    this.state = { seq: -1, undo: null, redo: null, people: 0, marks: [] };
    /** @type {WebSocket | null} */
    this.socket = null;
    this.open = false; // what was missed has been told
    this.tried = 0; // connections that failed since the last good one
    this.faults = 0; // times that the program could not keep an edit, since one was kept
    /** @type {{do: string, seq?: number, words?: string}[]} asked for, in order, once all edits are answered */
    this.requests = [];
    this.requested = ""; // the id of the request that is being done
    /** @type {Pending[]} taken back before they were sent */
    this.undone = [];
    this.retry = 0;
    this.overdue = 0;
    /** @type {Outbox<Pending>} */
    this.outbox = new Outbox(`pinwright edit ${pinning} `, (edit) => Array.isArray(edit.changes));
    this.questions = new Questions(`pinwright asked ${pinning}`);
    this.merging.restart(pins, this.pending);
    setInterval(() => this.open && this.send({ do: "here" }), stillMS);
    addEventListener("online", () => this.connectNow());
    document.addEventListener("visibilitychange", () => document.hidden || this.connectNow());
    addEventListener("pagehide", () => this.leave());
    addEventListener("pageshow", (event) => event.persisted && this.connect());
  }

  /** The edits that have no answer yet, in the order they were made. */
  get pending() {
    return this.outbox.items;
  }

  get asked() {
    return this.questions.list;
  }

  /** The pins as they are shown. */
  get pins() {
    return this.merging.pins;
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
      this.retry = setTimeout(() => this.connect(), retryMS(this.tried + this.faults, waits));
    });
  }

  /** The connection is gone. What was asked for is not done later, behind anyone's back. */
  lost() {
    this.socket = null;
    this.open = false;
    this.outbox.lost();
    this.answered();
    if (this.requested || this.requests.length) this.listener.refused("The program went away before it could do that. Look at the wheel, and ask once more if need be.");
    this.requests = [];
    this.requested = "";
    this.listener.state();
  }

  leave() {
    clearTimeout(this.retry);
    this.answered();
    const { socket } = this;
    this.socket = null;
    this.open = false;
    this.outbox.lost();
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
    else if (m.is === "verdict") this.listener.verdict(m);
    else if (m.is === "asked") this.nameAsked(m);
    else if (m.is === "refused") this.takeRefusal(m);
    else if (m.is === "later") this.putOff(m);
    else if (m.is === "anew") this.reread();
    else if (m.is === "state") this.takeState(m);
  }

  /** @param {State} state */
  takeState(state) {
    this.state = state;
    if (this.requested.startsWith("mark")) this.requested = "";
    if (!this.open) {
      this.open = true;
      this.tried = 0;
      this.flush();
    }
    this.listener.state();
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
      this.merging.hold(m.changes);
      if (m.advance) for (const c of this.pins.turn.channels) c.advance = m.advance[c.id] ?? 0;
    }
    const mine = this.settle(m.id);
    if (mine) {
      this.faults = 0;
      this.findHeldBack(mine, m);
    }
    const requested = this.requested !== "" && m.id === this.requested;
    if (requested) this.requested = "";
    this.listener.changed();
    this.listener.edit(m, mine !== null || requested);
    this.next();
  }

  /**
   * An edit is answered or taken back: its holes show what is there now.
   *
   * @param {string} id
   * @returns {Pending | null} null where it was none of this page
   */
  settle(id) {
    const edit = this.outbox.settle(id);
    if (edit) this.merging.settle(edit.changes, this.pending);
    return edit;
  }

  /**
   * What an edit asked for and did not get, because someone else had touched
   * the hole, is asked about.
   *
   * @param {Pending} mine
   * @param {Edit} kept
   */
  findHeldBack(mine, kept) {
    const held = this.merging.heldBack(mine.changes, kept.changes);
    if (!held.length) return;
    this.questions.add(held);
    this.listener.asked();
  }

  /** @param {{holes: Asked[]}} m */
  nameAsked({ holes }) {
    this.questions.name(holes);
    this.listener.asked();
  }

  /**
   * Answers what was asked of some holes.
   *
   * @param {Asked[]} holes
   * @param {boolean} mine  this page's pin is to hold, not what is there
   */
  answer(holes, mine) {
    this.questions.answered(holes);
    if (mine) {
      const changes = holes.map(({ channel, step, now }) => ({ channel, step, was: this.merging.kept(channel, step), now })).filter((c) => !same(c.was, c.now));
      this.do("keep", `keep this page's pins in ${holes.length === 1 ? "1 hole" : `${holes.length} holes`} that two had changed`, changes);
    }
    this.listener.asked();
  }

  /** @param {{id: string, why: string}} m */
  takeRefusal({ id, why }) {
    const mine = this.settle(id);
    if (id && id === this.requested) this.requested = "";
    if (mine) this.listener.changed();
    this.listener.refused(mine ? `${why} Not kept: ${mine.words}.` : why);
    this.listener.state();
    this.next();
  }

  /** The program could not do it, and is at fault: the edit waits here and is sent again. @param {{id: string, why: string}} m */
  putOff({ id, why }) {
    this.faults++;
    const mine = this.pending.find((p) => p.id === id);
    this.listener.refused(mine ? `${why} Not kept yet: ${mine.words}. It stays in this browser and is sent again.` : why);
    this.socket?.close();
  }

  /** Too much has changed to tell it edit by edit. */
  async reread() {
    this.open = false;
    this.outbox.lost();
    try {
      const { pins, seq } = await this.listener.reread();
      this.seq = seq;
      const before = this.pins;
      this.merging.restart(pins, this.pending);
      this.listener.replaced(before);
    } catch {
      this.socket?.close();
      return;
    }
    this.listener.changed();
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
    this.undone = [];
    this.add({ base: this.seq, kind, words: clipped(words), changes });
  }

  /** @param {Omit<Pending, "id" | "at">} edit */
  add(edit) {
    this.merging.show(edit.changes);
    const { id } = this.outbox.add(edit);
    this.listener.changed();
    if (this.open) this.flush();
    if (this.outbox.unkept.has(id)) this.listener.refused("This browser keeps nothing for the page. Until the program answers, do not close it.");
    this.listener.state();
  }

  /** Sends all that is not on its way. */
  flush() {
    for (let edit = this.outbox.next; edit && this.open; edit = this.outbox.next) {
      this.outbox.sending(edit);
      this.sendEdit(edit);
    }
  }

  /** @param {Pending} edit */
  sendEdit({ id, base, kind, words, changes }) {
    this.send({ do: "edit", id, base, kind, words, changes });
  }

  undo() {
    if (this.open) return this.request({ do: "undo" });
    const last = this.pending.at(-1);
    if (!last || this.outbox.mayHaveArrived(last)) return this.listener.refused("What was done before the program went away can be taken back when it is there again.");
    this.settle(last.id);
    this.undone.push(last);
    this.listener.changed();
    this.listener.state();
  }

  redo() {
    const last = this.undone.pop();
    if (last) return this.add({ ...last, base: this.seq });
    if (this.open) return this.request({ do: "redo" });
    this.listener.refused("What was taken back before the program went away can be brought again when it is there.");
  }

  /** What undo and redo would do, in words; null for nothing. */
  get tops() {
    const last = this.pending.at(-1);
    const undo = last && (this.open || !this.outbox.mayHaveArrived(last)) ? last.words : this.open ? this.state.undo?.words ?? null : null;
    const redo = this.undone.at(-1)?.words ?? (this.open && !this.pending.length ? this.state.redo?.words ?? null : null);
    return { undo, redo };
  }

  /** @param {{do: string, seq?: number, mark?: number, words?: string}} request */
  request(request) {
    if (!this.open) return this.listener.refused("The program does not answer; this needs it.");
    this.requests.push(request);
    this.next();
  }

  /** Sends the next request, once the pins here are those of the program. */
  next() {
    if (!this.open || this.requested || this.pending.length || this.state.seq !== this.seq) return;
    const request = this.requests.shift();
    if (!request) return;
    const top = request.do === "undo" ? this.state.undo : this.state.redo;
    if ((request.do === "undo" || request.do === "redo") && !top) return this.listener.refused(`There is nothing to ${request.do}.`);
    this.requested = request.do.endsWith("mark") ? `mark${newID()}` : newID();
    this.send({ ...request, id: this.requested, ...(request.do === "undo" || request.do === "redo" ? { of: top?.seq } : {}) });
  }

  /** @param {number} bpm @returns {boolean} whether the program will answer */
  askAt(bpm) {
    this.tempo = bpm;
    if (this.open) this.send({ do: "tempo", tempo: bpm });
    return this.open;
  }
}

/** @param {string} words */
function clipped(words) {
  const letters = [...words.replace(/\p{Cc}/gu, " ")];
  return letters.length > 190 ? `${letters.slice(0, 189).join("")}…` : letters.join("");
}
