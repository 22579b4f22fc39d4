// @ts-check
// What is tapped at the wheel, on its way to the program. Each tap has an id
// and is kept by the phone until the program has it, so that it outlives a
// program that is stopped and a page that is closed. Where the work stands is
// asked again every second, so that two who work at once follow each other.

import { newID } from "./ids.js";

/**
 * @typedef {{step: number, place: string, moves: {row: number, do: "pull" | "drive"}[], stay: number[]}} Stop
 * @typedef {{seq: number, ended: "" | "finished" | "stopped", total: number, left: number, stops: Stop[], touched: number[] | null,
 *   last: {tap: string, step: number, place: string} | null, read: number[],
 *   found: {step: number, row: number, there: boolean}[], problem: string}} State
 * @typedef {{id: string, at: number, do: string, step: number, channels?: string[], channel?: string, there?: boolean,
 *   of?: string, trouble?: string, note?: string, was?: Stop}} Tap   was is kept here and not sent
 */

const askMS = 1000;
const answerMS = 8000; // a request without an answer for so long is lost

export class Taps {
  /**
   * @param {string} job  the address of the work
   * @param {{changed: () => void, refused: (why: string) => void}} hears
   */
  constructor(job, hears) {
    this.job = job;
    this.hears = hears;
    this.prefix = `pinwright tap ${job} `;
    /** @type {State | null} */
    this.state = null;
    /** @type {Tap[]} not kept by the program yet, in the order they were made */
    this.waiting = this.stored();
    /** @type {"asking" | "here" | "gone" | "code" | "removed"} */
    this.program = "asking";
    this.busy = false;
    this.kept = true; // the browser keeps what is tapped
    /** @type {Set<string>} ids of taps that the browser would not keep */
    this.unkept = new Set();
    this.timer = 0;
    addEventListener("online", () => this.turn());
    document.addEventListener("visibilitychange", () => document.hidden || this.turn());
    addEventListener("storage", (event) => {
      if (!event.key?.startsWith(this.prefix)) return; // another page of this phone has tapped, or its tap has arrived
      const here = this.waiting.filter((t) => this.unkept.has(t.id));
      this.waiting = [...this.stored(), ...here].sort((a, b) => a.at - b.at);
      this.hears.changed();
    });
    this.turn();
  }

  /** @param {Omit<Tap, "id" | "at">} tap @returns {Tap} */
  add(tap) {
    const made = { id: newID(), at: Date.now(), ...tap };
    this.waiting.push(made);
    try {
      localStorage.setItem(this.prefix + made.id, JSON.stringify(made));
    } catch {
      this.kept = false; // it lasts as long as the page
      this.unkept.add(made.id);
    }
    this.hears.changed();
    this.turn();
    return made;
  }

  /** Sends what is waiting, asks where the work stands, and comes back. */
  async turn() {
    if (this.busy) return;
    this.busy = true;
    clearTimeout(this.timer);
    try {
      while (this.waiting.length && (await this.send(this.waiting[0])));
      if (!this.waiting.length && !document.hidden) await this.ask();
    } finally {
      this.busy = false;
      this.timer = setTimeout(() => this.turn(), askMS);
    }
    if (this.waiting.length && this.program === "here") this.turn();
  }

  /** @param {Tap} tap @returns {Promise<boolean>} whether it is off the list */
  async send(tap) {
    const { was: _, at, ...rest } = tap;
    const body = JSON.stringify({ ...rest, ago_ms: Math.max(0, Math.round(Date.now() - at)), after: this.state?.seq ?? -1 });
    const answer = await this.fetch(`${this.job}/taps`, { method: "POST", headers: { "Content-Type": "application/json" }, body });
    if (!answer) return false;
    if (answer.ok) {
      this.take(await answer.json());
      this.found("here");
      this.forget(tap);
      return true;
    }
    const { problem } = await answer.json().catch(() => ({ problem: "" }));
    if (!problem || answer.status >= 500) {
      this.found("gone");
      return false;
    }
    this.found("here");
    this.forget(tap);
    this.state = null; // to be asked anew
    this.hears.refused(problem);
    return true;
  }

  async ask() {
    const answer = await this.fetch(`${this.job}/state?after=${this.state ? this.state.seq : -1}`);
    if (!answer) return;
    if (answer.status === 200) {
      this.take(await answer.json());
      this.found("here");
      this.hears.changed();
    } else if (answer.status === 204) {
      this.found("here");
    } else {
      this.found(answer.status === 404 ? "removed" : "gone");
    }
  }

  /** Where the work stands: what has changed since it was asked last, or all of it. @param {State} state */
  take(state) {
    if (state.touched && this.state) {
      const touched = new Set(state.touched);
      state.stops = [...this.state.stops.filter((s) => !touched.has(s.step)), ...state.stops];
    }
    this.state = state;
  }

  /**
   * An answer of the program, or null where there is none.
   *
   * @param {string} url
   * @param {RequestInit} [how]
   */
  async fetch(url, how = {}) {
    try {
      const answer = await fetch(url, { ...how, redirect: "error", signal: AbortSignal.timeout(answerMS) });
      if (answer.status === 403) {
        this.found("code");
        return null;
      }
      return answer;
    } catch {
      this.found("gone");
      return null;
    }
  }

  /** @param {Taps["program"]} program */
  found(program) {
    if (this.program === program) return;
    this.program = program;
    this.hears.changed();
  }

  /** @param {Tap} tap */
  forget(tap) {
    this.waiting = this.waiting.filter((t) => t.id !== tap.id);
    try {
      localStorage.removeItem(this.prefix + tap.id);
    } catch {
      // nothing was kept
    }
    this.hears.changed();
  }

  /** @returns {Tap[]} */
  stored() {
    const taps = [];
    try {
      for (const key of Object.keys(localStorage)) {
        if (!key.startsWith(this.prefix)) continue;
        const tap = JSON.parse(localStorage.getItem(key) ?? "null");
        if (typeof tap?.id === "string" && typeof tap.do === "string") taps.push(tap);
        else localStorage.removeItem(key);
      }
    } catch {
      // a browser that keeps nothing: there are none
    }
    return taps.sort((a, b) => a.at - b.at);
  }

  /** In words, how what is tapped fares. */
  words() {
    const n = this.waiting.length;
    const taps = n === 1 ? "1 tap" : `${n} taps`;
    const held = this.kept ? `${taps} ${n === 1 ? "is" : "are"} kept on this phone and will be sent when it is back.` : `${taps} ${n === 1 ? "waits" : "wait"} here: leave this page open.`;
    switch (this.program) {
      case "asking":
        return "Asking the program …";
      case "code":
        return `The program was started anew and asks this phone for the code. ${n ? `${taps} ${n === 1 ? "is" : "are"} kept on this phone. ` : ""}Load this page again.`;
      case "removed":
        return "This work is no longer there: its machine was removed.";
      case "gone":
        return `The program does not answer. ${n ? held : "Go on; what is tapped is kept on this phone."}`;
    }
    return n ? `${taps} on the way …` : "Everything is kept.";
  }
}
