// @ts-check
// Hearing a pinning: the wheel is turned on the page, and every strike that
// the program gives is sounded when it is due by the sound's own clock.

import { onReducedMotionChange, prefersReducedMotion } from "../lib/reduced-motion.js";
import { Room } from "../lib/sound.js";
import { Turning } from "../lib/turning.js";

/**
 * @typedef {{id: string, name: string, kind: string, key: number | null, drum: boolean}} Channel
 * @typedef {{tempo_bpm: number, turn_s: number, steps: number, steps_per_beat: number, beats_per_bar: number,
 *   channels: Channel[], strikes: import("../lib/turning.js").Strike[]}} Answer
 */

const aheadS = 0.2; // strikes are handed to the clock this long before they sound
const aheadUnseenS = 1.5; // browsers wake a page that nobody sees once a second
const wakeMS = 25;
const firstS = 0.08; // from the press to the wheel's first move
const lateS = 0.1; // a strike later than this, after a stall, is left out
const settleMS = 250; // a field that is being typed in
const slideMS = 60; // a slide that is being moved
const openMS = 3000; // how long the sound may take to open

/**
 * What a place to hear a pinning knows while it is on the page, besides its
 * parts.
 *
 * @typedef {object} HearingState
 * @property {Turning} turning
 * @property {Room | null} room  made at the first press: no sound before
 * @property {Answer | null} answer  the strikes
 * @property {string} asked  the address that the answer came from
 * @property {string | undefined} source  and what that was made of
 * @property {AbortController | null} asking  ends the question that is under way
 * @property {AbortController} gone  ends with the section's place on the page
 * @property {number} presses  counted, so that what an earlier one began is not gone on with
 * @property {number} wake  the timer that hands out strikes
 * @property {number} rest  the timer that lets the sound rest
 * @property {number} settle  the timer that waits for a field to be typed in
 */

/** @implements {HearingState} */
class Hearing {
  /** @param {HTMLElement} section */
  constructor(section) {
    const part = (/** @type {string} */ name) => /** @type {HTMLElement} */ (section.querySelector(`[data-${name}]`));
    this.section = section;
    this.crank = part("crank");
    this.place = part("place");
    this.facts = part("facts");
    this.missed = part("missed");
    this.problem = part("problem");
    this.rim = part("rim");
    this.loud = /** @type {HTMLInputElement} */ (part("loud"));
    this.follow = /** @type {HTMLInputElement | null} */ (part("follow"));
    this.turning = new Turning();
    /** @type {Room | null} */
    this.room = null;
    /** @type {Answer | null} */
    this.answer = null;
    this.asked = "";
    this.source = section.dataset.hear;
    /** @type {AbortController | null} */
    this.asking = null;
    this.gone = new AbortController();
    this.presses = 0;
    this.wake = 0;
    this.rest = 0;
    this.settle = 0;

    this.crank.addEventListener("click", () => this.press());
    part("seam").addEventListener("click", () => this.toSeam());
    this.loud.addEventListener("input", () => this.room?.setLoudness(Number(this.loud.value) / 100));
    for (const way of section.querySelectorAll("input[type=radio]")) way.addEventListener("change", () => this.load());
    this.follow?.addEventListener("change", () => this.show(true));
    const { signal } = this.gone;
    signal.addEventListener("abort", onReducedMotionChange(() => this.show()));
    document.addEventListener("input", (event) => this.formChanged(event), { signal });
    document.addEventListener("htmx:afterSettle", () => this.pageChanged(), { signal });
    document.addEventListener("wheelcrank", () => this.press(), { signal });
    document.addEventListener(
      "wheelletgo",
      () => {
        if (this.turning.turns && this.follow) this.follow.checked = false;
      },
      { signal },
    );
    addEventListener("pagehide", () => this.stop(), { signal });
    section.dataset.joined = "true";
  }

  /** @returns {string} */
  get way() {
    return /** @type {HTMLInputElement} */ (this.section.querySelector("input[type=radio]:checked")).value;
  }

  get now() {
    return this.room ? this.room.context.currentTime : 0;
  }

  /** Turns the wheel or stops it. */
  press() {
    if (this.section.dataset.turning) this.stop();
    else this.start();
  }

  async start() {
    const press = ++this.presses;
    this.say("");
    this.turned(true);
    clearTimeout(this.rest);
    try {
      this.room ??= openRoom(Number(this.loud.value) / 100, () => this.soundChanged());
    } catch {
      this.fail("This browser opens no sound for a page; another browser may.");
      return;
    }
    const context = /** @type {AudioContext} */ (this.room.context);
    const opened = Promise.race([
      context.resume().then(() => context.state === "running"),
      new Promise((resolve) => setTimeout(() => resolve(false), openMS)),
    ]).catch(() => false);
    const loaded = await this.load();
    if (press !== this.presses || !loaded) return;
    if (!(await opened)) {
      if (press === this.presses) this.fail("The browser does not open the sound. See that this computer has something to sound on, and that the page may use it.");
      return;
    }
    if (press !== this.presses || !(await this.prepare(press))) return;
    this.turning.start(this.now + firstS);
    this.wake = setInterval(() => this.schedule(), wakeMS);
    this.schedule();
    this.roll();
  }

  /**
   * Works the sounds out before they are needed, and lets the page breathe.
   *
   * @param {number} press
   */
  async prepare(press) {
    const room = /** @type {Room} */ (this.room);
    const { channels, strikes } = /** @type {Answer} */ (this.answer);
    let breath = performance.now();
    for (const channel of new Set(strikes.map((s) => s.channel))) {
      room.soundOf(channels[channel]);
      if (performance.now() - breath < 30) continue;
      await new Promise((resolve) => setTimeout(resolve));
      if (press !== this.presses) return false;
      breath = performance.now();
    }
    return true;
  }

  stop() {
    this.presses++;
    if (!this.section.dataset.turning) return;
    clearInterval(this.wake);
    this.turning.stop(this.now);
    this.room?.takeBack(this.now);
    this.turned(false);
    this.show();
    this.rest = setTimeout(() => {
      const context = /** @type {AudioContext | undefined} */ (this.room?.context);
      if (!this.section.dataset.turning && context?.state === "running") context.suspend();
    }, 6000);
  }

  toSeam() {
    if (this.room && this.turning.turns) this.room.takeBack(this.now);
    this.turning.toSeam(this.now + firstS);
    this.show(true);
  }

  /** Hands the strikes of the next moment to the clock. */
  schedule() {
    const room = /** @type {Room} */ (this.room);
    const { channels } = /** @type {Answer} */ (this.answer);
    const now = this.now;
    this.turning.take(now + (document.hidden ? aheadUnseenS : aheadS), (strike, at) => {
      if (!strike.missed && at > now - lateS) room.strike(channels[strike.channel], Math.max(at, now));
    });
  }

  /** Moves what is seen of the wheel with what is heard of it. */
  roll() {
    if (!this.turning.turns) return;
    this.show();
    requestAnimationFrame(() => this.roll());
  }

  /** The clock's time of what is heard just now. */
  heardAt() {
    const { outputLatency = 0 } = /** @type {AudioContext} */ (this.room?.context ?? {});
    return this.now - (Number.isFinite(outputLatency) ? outputLatency : 0);
  }

  /**
   * Shows where the wheel stands.
   *
   * @param {boolean} [go] whether the face may go there
   */
  show(go = this.turning.turns) {
    const { answer, turning } = this;
    if (!answer) return;
    const at = turning.placeAt(turning.since === null ? 0 : Math.max(this.heardAt(), turning.since));
    const place = at - Math.floor(at);
    const step = place * answer.steps;
    const { steps_per_beat: beat, beats_per_bar: beats } = answer;
    const words = `bar ${Math.floor(step / (beat * beats)) + 1} beat ${Math.floor((step % (beat * beats)) / beat) + 1}`;
    if (this.place.textContent !== words) this.place.textContent = words;
    if (!prefersReducedMotion()) this.rim.setAttribute("transform", `rotate(${(-360 * place).toFixed(3)})`);
    tell("wheelturn", { step, follow: go ? this.follow?.checked : undefined });
  }

  /** @param {boolean} on */
  turned(on) {
    if (on) this.section.dataset.turning = "true";
    else delete this.section.dataset.turning;
    this.crank.textContent = on ? "Stop the wheel" : "Turn the wheel";
  }

  /**
   * Asks for the strikes as they are now wanted. A wheel that turns goes on
   * with them without losing its place.
   *
   * @returns {Promise<boolean>} whether there are strikes to turn with
   */
  async load() {
    const address = this.address();
    this.asking?.abort();
    if (this.answer && this.asked === address) return true;
    this.source = this.section.dataset.hear;
    const asking = new AbortController();
    this.asking = asking;
    let answer;
    let refused = "";
    try {
      const response = await fetch(address, { signal: asking.signal, headers: { Accept: "application/json" } });
      answer = await response.json();
      if (!response.ok) refused = answer.problem ?? "The strikes could not be worked out.";
      if (response.status >= 500) throw new Error(refused);
    } catch (error) {
      if (asking.signal.aborted) return false;
      this.fail(refused || "The program does not answer. Start it again if it was stopped, then turn the wheel again.");
      return false;
    }
    if (refused) {
      if (this.turning.turns && this.answer) this.say(`${refused} The wheel goes on at ${shown(this.answer.tempo_bpm)} BPM.`);
      else this.fail(refused);
      return false;
    }
    this.say("");
    this.asked = address;
    this.take(answer);
    return true;
  }

  /** The pins have changed: strikes that were asked for are asked for again. */
  reload() {
    if (!this.answer) return;
    this.asked = "";
    this.load();
  }

  /** @param {Answer} answer */
  take(answer) {
    this.answer = answer;
    this.turning.load(answer.strikes, answer.turn_s);
    this.facts.textContent = `At ${shown(answer.tempo_bpm)} BPM a turn takes ${shown(answer.turn_s)} s.`;
    const missed = answer.strikes.filter((s) => s.missed);
    this.missed.textContent = this.way === "played" ? missedWords(missed, answer.strikes.length) : "";
    tell("wheelmissed", { pins: missed.map((s) => ({ channel: answer.channels[s.channel].id, step: s.step })) });
    drawRim(this.rim, answer);
    this.show();
  }

  /** The address of the strikes that are now wanted. */
  address() {
    const url = new URL(this.section.dataset.hear ?? "", location.href);
    const form = this.form();
    const fields = form ? [...new FormData(form)] : [];
    for (const [name] of fields) url.searchParams.delete(name);
    for (const [name, value] of fields) url.searchParams.append(name, String(value).trim());
    url.searchParams.set("as", this.way);
    return url.href;
  }

  /** @returns {HTMLFormElement | null} */
  form() {
    const { form } = this.section.dataset;
    return form ? document.querySelector(form) : null;
  }

  /** @param {Event} event */
  formChanged(event) {
    const field = /** @type {HTMLInputElement} */ (event.target);
    const form = this.form();
    if (!this.answer || !form || field.form !== form) return;
    clearTimeout(this.settle);
    this.settle = setTimeout(() => this.load(), field.type === "range" ? slideMS : settleMS);
  }

  /** A part of the page was replaced. */
  pageChanged() {
    if (!this.section.isConnected) {
      this.stop();
      this.gone.abort();
    } else if (this.answer && this.section.dataset.hear !== this.source) {
      this.load();
    }
  }

  soundChanged() {
    if (this.turning.turns && this.room && /** @type {AudioContext} */ (this.room.context).state !== "running") {
      this.fail("The browser has stopped the sound. Turn the wheel again to go on from here.");
    }
  }

  /** Stops and says why. @param {string} problem */
  fail(problem) {
    this.stop();
    this.say(problem);
  }

  /** @param {string} problem nothing where all is well */
  say(problem) {
    this.problem.hidden = !problem;
    this.problem.textContent = problem;
  }
}

/**
 * @param {number} loudness
 * @param {() => void} changed
 */
function openRoom(loudness, changed) {
  const context = new AudioContext({ latencyHint: "interactive" });
  context.addEventListener("statechange", changed);
  const room = new Room(context);
  room.loudness.gain.value = loudness ** 2;
  return room;
}

/**
 * @param {string} name
 * @param {object} detail
 */
function tell(name, detail) {
  document.dispatchEvent(new CustomEvent(name, { detail }));
}

/** @param {number} value */
function shown(value) {
  return String(Math.round(value * 10) / 10);
}

/**
 * @param {import("../lib/turning.js").Strike[]} missed
 * @param {number} drops
 */
function missedWords(missed, drops) {
  if (!missed.length) return `No drop of ${drops} is missed.`;
  /** @type {Map<string, number>} */
  const kinds = new Map();
  for (const { why } of missed) kinds.set(why, (kinds.get(why) ?? 0) + 1);
  const words = [...kinds].map(([why, n]) => `${n} ${why}`).join(", ");
  return `${missed.length} of ${drops} drops ${missed.length === 1 ? "is" : "are"} missed each turn: ${words}.`;
}

/**
 * The wheel from its end: a stroke on the rim at each step with a pin.
 *
 * @param {Element} rim
 * @param {Answer} answer
 */
function drawRim(rim, { steps, strikes }) {
  const fine = Math.min(steps, 512); // more strokes than this cannot be told apart
  const at = new Set(strikes.map((s) => Math.floor((s.step / steps) * fine)));
  const stroke = (/** @type {number} */ i) => {
    const turn = (i / fine) * 2 * Math.PI;
    const [x, y] = [Math.sin(turn), -Math.cos(turn)];
    return `M${(x * 39).toFixed(2)} ${(y * 39).toFixed(2)}L${(x * 44).toFixed(2)} ${(y * 44).toFixed(2)}`;
  };
  rim.querySelector("[data-pins]")?.setAttribute("d", [...at].map(stroke).join(""));
}

/** Joins every place to hear a pinning that is on the page. */
function attach() {
  for (const section of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-hear]:not([data-joined])"))) {
    Object.assign(section, { hearing: new Hearing(section) });
  }
}

attach();
document.addEventListener("htmx:afterSettle", attach);
