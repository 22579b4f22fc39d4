// @ts-check
// The map of the song: a strip from which a stretch of the wheel's length is
// picked, by mouse, finger or keys. The fields below it hold what is picked.

/**
 * @param {HTMLElement} strip
 * @param {HTMLInputElement} from the field of the first bar
 * @param {HTMLInputElement} bars the field of the number of bars; empty: as many as fit
 */
export function openMap(strip, from, bars) {
  const count = Number(strip.dataset.bars);
  const fits = readFits(strip.dataset.fits ?? "");
  const stretch = /** @type {SVGRectElement} */ (strip.querySelector(".stretch"));
  const words = document.querySelector("[data-stretch]");

  strip.tabIndex = 0;
  strip.setAttribute("role", "slider");
  strip.setAttribute("aria-label", "Stretch of the song. Arrow keys move it by a bar, Page Up and Page Down by its length, with Shift they make it shorter or longer.");
  strip.setAttribute("aria-valuemin", "1");
  strip.setAttribute("aria-valuemax", String(count));

  const start = () => between(1, Math.round(Number(from.value)) || 1, count);
  /** How many bars are played from a bar. @param {number} bar */
  const lengthAt = (bar) => {
    const fit = fits[bar - 1] ?? 0;
    const asked = Math.round(Number(bars.value));
    return asked >= 1 ? Math.min(asked, fit) : fit;
  };

  const draw = () => {
    if (!isBar(from.value, count) || !isBar(bars.value, Infinity)) {
      stretch.setAttribute("width", "0");
      say("no stretch: the fields name no bars of the song");
      return;
    }
    const bar = start();
    const length = lengthAt(bar);
    stretch.setAttribute("x", String(((bar - 1) / count) * 1000));
    stretch.setAttribute("width", String((length / count) * 1000));
    const text = length > 1 ? `bars ${bar} to ${bar + length - 1} of ${count}` : `bar ${bar} of ${count}`;
    strip.setAttribute("aria-valuenow", String(bar));
    say(text);
  };

  /** @param {string} text */
  const say = (text) => {
    strip.setAttribute("aria-valuetext", text);
    if (words) words.textContent = text[0].toUpperCase() + text.slice(1);
  };

  /** @param {number} bar */
  const moveTo = (bar) => {
    const to = between(1, bar, count);
    if (String(to) === from.value) return;
    from.value = String(to);
    from.dispatchEvent(new Event("input", { bubbles: true }));
  };

  /** @param {number} by */
  const lengthen = (by) => {
    const fit = fits[start() - 1] ?? 0;
    const to = between(1, lengthAt(start()) + by, Math.max(1, fit));
    bars.value = to === fit ? "" : String(to);
    bars.dispatchEvent(new Event("input", { bubbles: true }));
  };

  strip.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const far = Math.max(1, lengthAt(start()));
    /** @type {Record<string, number>} */
    const by = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: far, PageDown: -far };
    if (event.shiftKey && by[event.key] !== undefined) lengthen(Math.sign(by[event.key]));
    else if (by[event.key] !== undefined) moveTo(start() + by[event.key]);
    else if (event.key === "Home") moveTo(1);
    else if (event.key === "End") moveTo(lastFull(fits));
    else return;
    event.preventDefault();
  });

  // Within the stretch the strip is taken hold of; elsewhere the stretch
  // starts at the bar that is pressed.
  let held = 0; // bars from the stretch's start to the finger
  /** @param {PointerEvent} event */
  const barAt = (event) => {
    const box = strip.getBoundingClientRect();
    return between(1, Math.floor(((event.clientX - box.left) / box.width) * count) + 1, count);
  };
  strip.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    const bar = barAt(event);
    const within = bar >= start() && bar < start() + lengthAt(start());
    held = within ? bar - start() : 0;
    if (!within) moveTo(bar);
    strip.setPointerCapture(event.pointerId);
  });
  strip.addEventListener("pointermove", (event) => {
    if (strip.hasPointerCapture(event.pointerId)) moveTo(barAt(event) - held);
  });

  for (const field of [from, bars]) field.addEventListener("input", draw);
  draw();
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
function isBar(text, most) {
  const bar = Number(text);
  return text.trim() === "" || (Number.isInteger(bar) && bar >= 1 && bar <= most);
}

/**
 * The last bar from which as much fits as from any.
 *
 * @param {number[]} fits
 */
function lastFull(fits) {
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
