// @ts-check
// The visitors' screen: a beat to turn to. It is kept by the clock of the sound,
// whether it is heard or not; every beat is a whole number of beats from the
// first, so that nothing adds up.

import { Beat, clicks, tapTempo } from "../lib/beat.js";
import { Taps, ask } from "../lib/crank.js";
import { onReducedMotionChange, prefersReducedMotion } from "../lib/reduced-motion.js";
import { Room } from "../lib/sound.js";

/** More flashes a second than this may harm (WCAG 2.3.1). */
const mostFlashes = 3;
const flashS = 0.12; // how long a light takes to go out, and half a beat at the most
const aheadS = 0.2;
const aheadUnseenS = 1.5; // browsers wake a page that nobody sees once a second
const wakeMS = 25;
const firstS = 0.1;
const holdMS = 2000;
const askEveryMS = 1000;
const openMS = 3000;
const answerMS = 5000; // a question without an answer for so long is lost
const slowerForMS = 4000; // after a tap above the red line

/**
 * What the screen knows while it is open, besides its parts.
 *
 * @typedef {object} ScreenState
 * @property {number} bpm
 * @property {number} redBPM  tempos above it are too fast
 * @property {number} turnS  seconds of a turn of the wheel
 * @property {number} crankBeats  of a turn of the crank; 0: nobody knows
 * @property {number} bar  beats to the bar
 * @property {Taps} taps
 * @property {Room | null} room  the sound, opened when the beat is first started
 * @property {Beat | null} beat  null while it stands still
 * @property {boolean} starting  until the sound is open
 * @property {boolean} clicking  whether the beat is heard
 * @property {number} tapOver  until when a tap above the red line counts, in ms
 * @property {boolean} sensorOver  whether the sensor is above it
 * @property {number} wake  the timer that hands out clicks
 */

/** @implements {ScreenState} */
class Screen {
  /** @param {HTMLElement} main */
  constructor(main) {
    const part = (/** @type {string} */ name) => /** @type {HTMLElement} */ (main.querySelector(`[data-${name}]`));
    this.main = main;
    this.bpm = Number(main.dataset.bpm);
    this.redBPM = Number(main.dataset.redBpm);
    this.turnS = Number(main.dataset.turnS);
    this.crankBeats = Number(main.dataset.crankBeats);
    this.bar = Number(main.dataset.bar);
    this.rim = part("rim");
    this.hand = part("hand");
    this.light = part("light");
    this.track = part("track");
    this.mark = part("bar-mark");
    this.count = part("count");
    this.startButton = part("start");
    this.clickButton = part("click");
    this.slower = part("slower");
    this.says = part("says");
    this.asleep = part("asleep");
    this.taps = new Taps();
    /** @type {Room | null} */
    this.room = null;
    /** @type {Beat | null} */
    this.beat = null;
    this.starting = false;
    this.clicking = false;
    this.tapOver = 0;
    this.sensorOver = false;
    this.wake = 0;
    if (!this.crankBeats) this.hand.setAttribute("visibility", "hidden");
    this.startButton.addEventListener("click", () => this.press());
    this.clickButton.addEventListener("click", () => this.toggleClick());
    const tap = part("tap");
    tap.addEventListener("pointerdown", (event) => this.tap(event.timeStamp / 1000));
    tap.addEventListener("keydown", (event) => {
      if (!event.repeat && (event.key === " " || event.key === "Enter")) this.tap(event.timeStamp / 1000);
    });
    onReducedMotionChange(() => this.settle());
    document.addEventListener("visibilitychange", () => {
      this.schedule();
      this.keepAwake(); // what kept it awake ended when it was hidden
    });
    this.settle();
    this.look();
    this.keepAwake();
  }

  /** A light that would flash too often is a bar that moves. */
  settle() {
    const bar = this.bpm / 60 > mostFlashes || prefersReducedMotion();
    this.light.hidden = bar;
    this.track.hidden = !bar || prefersReducedMotion();
    this.show(0);
  }

  get now() {
    return this.room ? this.room.context.currentTime : 0;
  }

  async press() {
    if (this.starting) return;
    if (this.beat) {
      this.stop();
      return;
    }
    this.starting = true;
    try {
      this.room ??= openRoom(() => this.soundChanged());
      const context = /** @type {AudioContext} */ (this.room.context);
      const opened = await Promise.race([
        context.resume().then(() => context.state === "running"),
        new Promise((resolve) => setTimeout(() => resolve(false), openMS)),
      ]);
      if (!opened) throw new Error("no sound");
      this.start();
    } catch {
      this.say("This screen has no sound to keep the beat by. Turn by the figures.");
    } finally {
      this.starting = false;
    }
  }

  start() {
    this.say("");
    this.beat = new Beat(this.bpm, this.now + firstS);
    this.startButton.textContent = "Stop the beat";
    this.main.dataset.beating = "true";
    this.wake = setInterval(() => this.schedule(), wakeMS);
    this.schedule();
    this.roll(this.beat);
  }

  stop() {
    clearInterval(this.wake);
    this.room?.takeBack(this.now);
    this.beat = null;
    delete this.main.dataset.beating;
    this.startButton.textContent = "Start the beat";
    this.show(0);
  }

  soundChanged() {
    if (this.beat && /** @type {AudioContext} */ (this.room?.context).state !== "running") {
      this.stop();
      this.say("The sound stopped, and the beat with it. Start it again.");
    }
  }

  toggleClick() {
    this.clicking = !this.clicking;
    this.clickButton.setAttribute("aria-pressed", String(this.clicking));
    if (!this.clicking) this.room?.takeBack(this.now);
  }

  schedule() {
    if (!this.beat || !this.room) return;
    const until = this.now + (document.hidden ? aheadUnseenS : aheadS);
    if (this.clicking) {
      this.beat.skip(this.now);
      clicks(this.room, this.beat, until, this.bar);
    } else {
      this.beat.skip(until);
    }
  }

  /** @param {Beat} beat */
  roll(beat) {
    if (this.beat !== beat) return;
    const { outputLatency = 0 } = /** @type {AudioContext} */ (this.room?.context);
    this.show(Math.max(0, beat.at(this.now - (Number.isFinite(outputLatency) ? outputLatency : 0))));
    requestAnimationFrame(() => this.roll(beat));
  }

  /** @param {number} beats since the first */
  show(beats) {
    const still = prefersReducedMotion();
    const whole = Math.floor(beats + 1e-9);
    // Numbers that change too fast to be read are left at the bar's.
    const count = String(still && this.bpm / 60 > mostFlashes ? Math.floor(whole / this.bar) + 1 : (whole % this.bar) + 1);
    if (this.count.textContent !== count) this.count.textContent = count;
    if (!this.light.hidden) {
      const since = ((beats - whole) * 60) / this.bpm;
      const lit = this.beat ? Math.max(0, 1 - since / Math.min(flashS * 2, 30 / this.bpm)) : 0;
      this.light.style.opacity = String(0.15 + 0.85 * lit);
    }
    if (!this.track.hidden) {
      const swing = 1 - Math.abs(1 - (beats % 2)); // from one end to the other in a beat
      this.mark.style.insetInlineStart = `${(swing * 88).toFixed(2)}%`;
    }
    const shown = still ? whole : beats;
    if (this.crankBeats) this.hand.setAttribute("transform", `rotate(${((360 * shown) / this.crankBeats).toFixed(3)})`);
    if (!still) this.rim.setAttribute("transform", `rotate(${((-360 * beats * 60) / this.bpm / this.turnS).toFixed(3)})`);
  }

  /**
   * A tap is judged here, and by the program too, where it answers: the pinning
   * may have been changed since.
   *
   * @param {number} atS
   */
  async tap(atS) {
    this.taps.tap(atS);
    const of = this.taps.at.length;
    if (of < 2) return;
    this.tapped(tapTempo(this.taps.at, this.crankBeats || 1) > this.redBPM);
    try {
      const says = await soon(ask(this.taps.address(this.crankBeats ? "turn" : "beat", this.main.dataset.pinning ?? "")));
      if (says.slower && of === this.taps.at.length) this.tapped(true);
    } catch {
      return; // what the taps say stands
    }
  }

  /** @param {boolean} over the red line */
  tapped(over) {
    this.tapOver = over ? performance.now() + slowerForMS : 0;
    if (over) setTimeout(() => this.warn(), slowerForMS + 1);
    this.warn();
  }

  async look() {
    try {
      this.sensorOver = (await soon(ask(`/crank/now?pinning=${this.main.dataset.pinning}`))).slower;
    } catch {
      this.sensorOver = false; // nobody knows how fast it is now
    }
    this.warn();
    setTimeout(() => this.look(), askEveryMS);
  }

  warn() {
    const words = this.sensorOver || performance.now() < this.tapOver ? "Slower" : "";
    if (this.slower.textContent !== words) this.slower.textContent = words;
  }

  /** @param {string} words */
  say(words) {
    this.says.textContent = words;
  }

  /** Where the browser cannot keep the screen awake, staff are told to. */
  async keepAwake() {
    if (document.hidden) return;
    try {
      const lock = await navigator.wakeLock.request("screen"); // no wakeLock outside a secure context
      lock.addEventListener("release", () => {
        this.asleep.hidden = document.hidden;
      });
      this.asleep.hidden = true;
    } catch {
      this.asleep.hidden = document.hidden;
    }
  }
}

/**
 * An answer, or an error where it does not come soon.
 *
 * @template T
 * @param {Promise<T>} answer
 * @returns {Promise<T>}
 */
function soon(answer) {
  return Promise.race([answer, new Promise((_, reject) => setTimeout(() => reject(new Error("no answer")), answerMS))]);
}

/** @param {() => void} changed */
function openRoom(changed) {
  const context = new AudioContext({ latencyHint: "interactive" });
  context.addEventListener("statechange", changed);
  return new Room(context);
}

/**
 * Asks the program whether a code leaves the screen. The screen is left for a
 * page of a program that answers alone.
 *
 * @param {string} code
 * @returns {Promise<{leaves: boolean, asks: boolean, words: string}>}
 */
async function askToLeave(code) {
  const stays = (/** @type {string} */ words, asks = false) => ({ leaves: false, asks, words });
  let response;
  try {
    response = await fetch("/visitors/leave", { method: "POST", body: new URLSearchParams({ code }), signal: AbortSignal.timeout(answerMS) });
  } catch {
    return stays("The program does not answer, so this screen stays. Start it again on its computer.");
  }
  if (response.ok) return { leaves: true, asks: false, words: "" };
  try {
    return stays((await response.json()).problem, response.status === 403);
  } catch {
    return stays("The program was started again and no longer knows this tablet. Load this page again and type the code on the program’s own computer.");
  }
}

/**
 * Leaving takes a long press and, where the house has one, a code.
 *
 * @param {HTMLElement} main
 * @param {Screen} screen
 */
function attachLeaving(main, screen) {
  const button = /** @type {HTMLElement} */ (main.querySelector("[data-leave]"));
  const dialog = /** @type {HTMLDialogElement} */ (main.querySelector("[data-dialog]"));
  const form = /** @type {HTMLFormElement} */ (dialog.querySelector("form"));
  const field = /** @type {HTMLInputElement} */ (dialog.querySelector("input"));
  const problem = /** @type {HTMLElement} */ (dialog.querySelector("[data-problem]"));
  const leaves = main.dataset.leaves ?? "/programmes";
  let held = 0;
  const letGo = () => {
    clearTimeout(held);
    button.classList.remove("held");
  };
  const hold = () => {
    letGo();
    button.classList.add("held");
    held = setTimeout(() => {
      letGo();
      if (main.dataset.code === undefined) leaveAtOnce();
      else dialog.showModal();
    }, holdMS);
  };
  const leaveAtOnce = async () => {
    const says = await askToLeave("");
    if (says.leaves) location.assign(leaves);
    else if (!says.asks) screen.say(says.words);
    else if (!dialog.open) dialog.showModal(); // there is a code by now
  };
  button.addEventListener("pointerdown", hold);
  for (const end of ["pointerup", "pointerleave", "pointercancel", "blur"]) button.addEventListener(end, letGo);
  button.addEventListener("contextmenu", (event) => event.preventDefault());
  button.addEventListener("keydown", (event) => {
    if (!event.repeat && (event.key === " " || event.key === "Enter")) hold();
  });
  button.addEventListener("keyup", letGo);
  const say = (/** @type {string} */ words) => {
    problem.hidden = !words;
    problem.textContent = words;
  };
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const says = await askToLeave(field.value);
    if (says.leaves) {
      location.assign(leaves);
      return;
    }
    say(says.words);
    field.value = "";
    field.focus();
  });
  dialog.querySelector("[data-stay]")?.addEventListener("click", () => dialog.close());
  dialog.addEventListener("close", () => {
    field.value = "";
    say("");
  });
}

const main = /** @type {HTMLElement | null} */ (document.querySelector("[data-visitor]"));
if (main) {
  const screen = new Screen(main);
  attachLeaving(main, screen);
  Object.assign(main, { screen });
}
