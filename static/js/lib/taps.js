// @ts-check
// What is tapped at the wheel, on its way to the program, one after the other.
// Where the work stands is asked again every second, so that two who work at
// once follow each other.

import { Outbox } from "./outbox.js";

/**
 * @typedef {{step: number, place: string, moves: {row: number, do: "pull" | "drive"}[], stay: number[]}} Stop
 * @typedef {{seq: number, ended: "" | "finished" | "stopped", total: number, left: number, stops: Stop[], touched: number[] | null,
 *   last: {tap: string, step: number, place: string} | null, read: number[],
 *   found: {step: number, row: number, there: boolean}[], problem: string}} State
 * @typedef {{id: string, at: number, do: string, step: number, channels?: string[], channel?: string, there?: boolean,
 *   of?: string, trouble?: string, note?: string, was?: Stop}} Tap   was is kept here and not sent
 */

const askMS = 1000; // until the next question, and the next attempt
const answerMS = 8000; // a request without an answer for so long is lost

export class Taps {
  /**
   * @param {string} job  the address of the work
   * @param {{changed: () => void, refused: (why: string) => void}} listener
   */
  constructor(job, listener) {
    this.job = job;
    this.listener = listener;
    /** @type {Outbox<Tap>} */
    this.outbox = new Outbox(`pinwright tap ${job} `, (tap) => typeof tap.do === "string");
    /** @type {State | null} */
    this.state = null;
    /** @type {"asking" | "here" | "gone" | "code" | "removed"} */
    this.program = "asking";
    this.busy = false;
    this.timer = 0;
    addEventListener("online", () => this.turn());
    document.addEventListener("visibilitychange", () => document.hidden || this.turn());
    addEventListener("storage", (event) => {
      if (!this.outbox.owns(event.key)) return; // another page of this phone has tapped, or its tap has arrived
      this.outbox.reload();
      this.listener.changed();
    });
    this.turn();
  }

  /** The taps that the program has not taken yet, in the order they were made. */
  get waiting() {
    return this.outbox.items;
  }

  /** @param {Omit<Tap, "id" | "at">} tap @returns {Tap} */
  add(tap) {
    const made = this.outbox.add(tap);
    this.listener.changed();
    this.turn();
    return made;
  }

  /** Sends what is waiting, asks where the work stands, and comes back. */
  async turn() {
    if (this.busy) return;
    this.busy = true;
    clearTimeout(this.timer);
    try {
      for (let tap = this.outbox.next; tap && (await this.send(tap)); tap = this.outbox.next);
      if (!this.waiting.length && !document.hidden) await this.ask();
    } finally {
      this.busy = false;
      this.outbox.lost(); // what had no answer is sent again
      this.timer = setTimeout(() => this.turn(), askMS);
    }
    if (this.waiting.length && this.program === "here") this.turn();
  }

  /** @param {Tap} tap @returns {Promise<boolean>} whether it is off the list */
  async send(tap) {
    this.outbox.sending(tap);
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
    this.state = null; // to be asked for in full
    this.listener.refused(problem);
    return true;
  }

  async ask() {
    const answer = await this.fetch(`${this.job}/state?after=${this.state ? this.state.seq : -1}`);
    if (!answer) return;
    if (answer.status === 200) {
      this.take(await answer.json());
      this.found("here");
      this.listener.changed();
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
    this.listener.changed();
  }

  /** @param {Tap} tap */
  forget(tap) {
    this.outbox.settle(tap.id);
    this.listener.changed();
  }

  /** In words, how what is tapped fares. */
  words() {
    const n = this.waiting.length;
    const taps = n === 1 ? "1 tap" : `${n} taps`;
    const held = this.outbox.keeps ? `${taps} ${n === 1 ? "is" : "are"} kept on this phone and will be sent when it is back.` : `${taps} ${n === 1 ? "waits" : "wait"} here: leave this page open.`;
    switch (this.program) {
      case "asking":
        return "Asking the program …";
      case "code":
        return `The program was started again and asks this phone for the code. ${n ? `${taps} ${n === 1 ? "is" : "are"} kept on this phone. ` : ""}Load this page again.`;
      case "removed":
        return "This work is no longer there: its machine was removed.";
      case "gone":
        return `The program does not answer. ${n ? held : "Go on; what is tapped is kept on this phone."}`;
    }
    return n ? `${taps} on the way …` : "Everything is kept.";
  }
}
