// @ts-check
// A beat kept by a clock: every beat is a whole number of beats from the first,
// so that nothing adds up.

const clickSound = { kind: "block", key: 84, drum: false };
const barSound = { kind: "block", key: 91, drum: false };

/** Beats of one length from a first one, in seconds of one clock. */
export class Beat {
  /**
   * @param {number} bpm
   * @param {number} first
   */
  constructor(bpm, first) {
    this.first = first;
    this.bpm = bpm;
    this.next = 0; // the beat that is not handed out yet
  }

  /** @param {number} n */
  timeOf(n) {
    return this.first + (n * 60) / this.bpm;
  }

  /** Beats since the first, whole ones on the beat. @param {number} time */
  at(time) {
    return ((time - this.first) * this.bpm) / 60;
  }

  /**
   * Hands out every beat due before a time, each once.
   *
   * @param {number} until
   * @param {(n: number, time: number) => void} sound
   */
  take(until, sound) {
    while (this.timeOf(this.next) < until) {
      sound(this.next, this.timeOf(this.next));
      this.next++;
    }
  }

  /** Leaves out beats before a time. @param {number} time */
  skip(time) {
    this.next = Math.max(this.next, Math.ceil(this.at(time)));
  }
}

/**
 * Clicks of a beat up to a time.
 *
 * @param {import("./sound.js").Room} room
 * @param {Beat} beat
 * @param {number} until
 * @param {number} bar beats to the bar
 */
export function clicks(room, beat, until, bar) {
  beat.take(until, (n, time) => room.strike(n % bar ? clickSound : barSound, time));
}

/**
 * The tempo of the last two taps, in beats a minute; 0 where there are no two.
 *
 * @param {number[]} at their times in seconds
 * @param {number} beats from one to the next
 */
export function tapTempo(at, beats) {
  return at.length < 2 ? 0 : (60 * beats) / (at[at.length - 1] - at[at.length - 2]);
}
