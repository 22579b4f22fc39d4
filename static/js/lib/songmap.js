// @ts-check
// The map of the song: a strip from which a stretch of the wheel's length is
// picked, by mouse, finger or keys. The fields below it hold what is picked.

export class SongMap {
  /**
   * @param {HTMLElement} strip
   * @param {HTMLInputElement} from the field of the first bar
   * @param {HTMLInputElement} bars the field of the number of bars; empty: as many as fit
   */
  constructor(strip, from, bars) {
    this.strip = strip;
    this.from = from;
    this.bars = bars;
    this.count = Number(strip.dataset.bars);
    this.fits = readFits(strip.dataset.fits ?? "");
    this.stretch = /** @type {SVGRectElement} */ (strip.querySelector(".stretch"));
    this.words = document.querySelector("[data-stretch]");
    strip.tabIndex = 0;
    strip.setAttribute("role", "slider");
    strip.setAttribute("aria-label", "Stretch of the song. Arrow keys move it by a bar, Page Up and Page Down by its length, with Shift they make it shorter or longer.");
    strip.setAttribute("aria-valuemin", "1");
    strip.setAttribute("aria-valuemax", String(this.count));
    strip.addEventListener("keydown", (event) => this.pressed(event));
    this.attachPointer();
    for (const field of [from, bars]) field.addEventListener("input", () => this.draw());
    this.draw();
  }

  get start() {
    return between(1, Math.round(Number(this.from.value)) || 1, this.count);
  }

  /** How many bars are played from the first. */
  get length() {
    return lengthAt(this.fits, this.start, Math.round(Number(this.bars.value)));
  }

  draw() {
    const { stretch, count } = this;
    if (!isBar(this.from.value, count) || !isBar(this.bars.value, Infinity)) {
      stretch.setAttribute("width", "0");
      this.say("no stretch: the fields name no bars of the song");
      return;
    }
    const { start, length } = this;
    stretch.setAttribute("x", String(((start - 1) / count) * 1000));
    stretch.setAttribute("width", String((length / count) * 1000));
    this.strip.setAttribute("aria-valuenow", String(start));
    this.say(length > 1 ? `bars ${start} to ${start + length - 1} of ${count}` : `bar ${start} of ${count}`);
  }

  /** @param {string} text */
  say(text) {
    this.strip.setAttribute("aria-valuetext", text);
    if (this.words) this.words.textContent = text[0].toUpperCase() + text.slice(1);
  }

  /** @param {number} bar */
  moveTo(bar) {
    const to = between(1, bar, this.count);
    if (String(to) === this.from.value) return;
    this.from.value = String(to);
    this.from.dispatchEvent(new Event("input", { bubbles: true }));
  }

  /** @param {number} by */
  lengthen(by) {
    const fit = this.fits[this.start - 1] ?? 0;
    const to = between(1, this.length + by, Math.max(1, fit));
    this.bars.value = to === fit ? "" : String(to);
    this.bars.dispatchEvent(new Event("input", { bubbles: true }));
  }

  /** @param {KeyboardEvent} event */
  pressed(event) {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const far = Math.max(1, this.length);
    /** @type {Record<string, number>} */
    const by = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: far, PageDown: -far };
    if (event.shiftKey && by[event.key] !== undefined) this.lengthen(Math.sign(by[event.key]));
    else if (by[event.key] !== undefined) this.moveTo(this.start + by[event.key]);
    else if (event.key === "Home") this.moveTo(1);
    else if (event.key === "End") this.moveTo(lastFull(this.fits));
    else return;
    event.preventDefault();
  }

  /**
   * Within the stretch the strip is taken hold of; elsewhere the stretch starts
   * at the bar that is pressed.
   */
  attachPointer() {
    const { strip } = this;
    let held = 0; // bars from the stretch's start to the finger
    const barAt = (/** @type {PointerEvent} */ event) => {
      const box = strip.getBoundingClientRect();
      return between(1, Math.floor(((event.clientX - box.left) / box.width) * this.count) + 1, this.count);
    };
    strip.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      const bar = barAt(event);
      const within = bar >= this.start && bar < this.start + this.length;
      held = within ? bar - this.start : 0;
      if (!within) this.moveTo(bar);
      strip.setPointerCapture(event.pointerId);
    });
    strip.addEventListener("pointermove", (event) => {
      if (strip.hasPointerCapture(event.pointerId)) this.moveTo(barAt(event) - held);
    });
  }
}

/**
 * How many bars are played from a bar.
 *
 * @param {number[]} fits how many fit from each bar
 * @param {number} bar
 * @param {number} asked how many are wanted; less than one: as many as fit
 */
export function lengthAt(fits, bar, asked) {
  const fit = fits[bar - 1] ?? 0;
  return asked >= 1 ? Math.min(asked, fit) : fit;
}

/**
 * How many bars fit from each bar, of a text that counts equal ones: "16×3 15".
 *
 * @param {string} text
 * @returns {number[]}
 */
export function readFits(text) {
  return text.split(" ").flatMap((run) => {
    const [fit, times] = run.split("×");
    return Array(Number(times ?? 1)).fill(Number(fit));
  });
}

/**
 * Whether a field names a bar, or a number of bars; left empty it does.
 *
 * @param {string} text
 * @param {number} most
 */
export function isBar(text, most) {
  const bar = Number(text);
  return text.trim() === "" || (Number.isInteger(bar) && bar >= 1 && bar <= most);
}

/**
 * The last bar from which as much fits as from any.
 *
 * @param {number[]} fits
 */
export function lastFull(fits) {
  const most = fits.reduce((a, b) => Math.max(a, b), 0);
  return fits.lastIndexOf(most) + 1;
}

/**
 * @param {number} least
 * @param {number} value
 * @param {number} most
 */
function between(least, value, most) {
  return Math.min(most, Math.max(least, value));
}
