// @ts-check
// A wheel that turns, and when each of its strikes is due: turn after turn
// without a gap, over changes of tempo without losing the place. Times are
// seconds of one clock, places are turns from the seam and count on.

/** @typedef {{channel: number, step: number, at_s: number, missed: boolean, why: string}} Strike */

export class Turning {
  constructor() {
    this.place = 0; // at the time since, or where it stands still
    /** @type {number | null} */
    this.since = null;
    this.turnS = 1;
    this.taken = 0; // up to this time strikes have been handed out
    /** @type {Strike[]} */
    this.strikes = [];
    this.due = new Float64Array(0); // the place at which each is due next
  }

  get turns() {
    return this.since !== null;
  }

  /** @param {number} time */
  placeAt(time) {
    return this.since === null ? this.place : this.place + (time - this.since) / this.turnS;
  }

  /** @param {number} place */
  timeOf(place) {
    return /** @type {number} */ (this.since) + (place - this.place) * this.turnS;
  }

  /** @param {number} time */
  start(time) {
    this.since = this.taken = time;
    this.await();
  }

  /**
   * Stands still where the wheel is at a time. Strikes handed out that come
   * later come again at the next start.
   *
   * @param {number} time
   */
  stop(time) {
    this.place = this.since === null ? this.place : this.placeAt(Math.max(time, this.since));
    this.place -= Math.floor(this.place);
    this.since = null;
  }

  /** Stands at the seam, from a time on if it turns. @param {number} time */
  toSeam(time) {
    this.place = 0;
    if (this.since === null) return;
    this.since = this.taken = time;
    this.await();
  }

  /** Has every strike come when the wheel next passes it. */
  await() {
    this.due = Float64Array.from(this.strikes, ({ at_s }) => this.next(at_s / this.turnS));
  }

  /** The first place not before the wheel's that is whole turns from one. @param {number} place */
  next(place) {
    return place + Math.ceil(this.place - place);
  }

  /**
   * Takes other strikes, or the same at another tempo. A wheel that turns
   * goes on from where it is once all that was handed out has sounded. A strike
   * that would by the new times be past, and has not sounded yet, sounds when
   * it would have: its marble is on its way. None sounds twice.
   *
   * @param {Strike[]} strikes
   * @param {number} turnS
   */
  load(strikes, turnS) {
    if (this.since === null) {
      this.strikes = strikes;
      this.turnS = turnS;
      return;
    }
    /** @type {Map<number, {due: number, time: number}>} */
    const before = new Map();
    this.strikes.forEach((s, i) => before.set(keyOf(s), { due: this.due[i], time: this.timeOf(this.due[i]) }));
    const from = this.taken;
    this.place = this.placeAt(from);
    this.since = from;
    this.turnS = turnS;
    this.strikes = strikes;
    this.due = Float64Array.from(strikes, (s) => {
      const place = s.at_s / turnS;
      const was = before.get(keyOf(s));
      if (!was) return this.next(place);
      const due = place + Math.round(was.due - place);
      return due >= this.place ? due : this.placeAt(was.time);
    });
  }

  /**
   * Hands out every strike due before a time, each once.
   *
   * @param {number} until
   * @param {(strike: Strike, time: number) => void} sound
   */
  take(until, sound) {
    if (this.since === null || until <= this.taken) return;
    const end = this.placeAt(until);
    for (let i = 0; i < this.due.length; i++) {
      while (this.due[i] < end) {
        const place = this.strikes[i].at_s / this.turnS;
        sound(this.strikes[i], this.timeOf(this.due[i]));
        this.due[i] = place + Math.round(this.due[i] + 1 - place);
      }
    }
    this.taken = until;
  }
}

/** A pin's own number. @param {Strike} strike */
function keyOf({ channel, step }) {
  return channel * 2 ** 16 + step;
}
