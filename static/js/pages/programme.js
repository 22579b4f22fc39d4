// @ts-check
// The programme page: songs are dragged to another place by their grips, and what
// was typed does not go without a word. The buttons Up and Down move songs without
// a script.

import { prefersReducedMotion } from "../lib/reduced-motion.js";

/** How near to the window's upper and lower edge the page scrolls by itself. */
const edgePX = 72;

/** How fast it scrolls at the very edge. */
const fastestPXs = 900;

/** With reduced motion it goes in steps instead, so far and so often. */
const stepPX = 120;
const stepMS = 500;

/**
 * A song on its way to another place. Songs that are open are shut meanwhile, so
 * that there is somewhere to go, and the grip stays under the pointer. Only the
 * other songs change places in the document: what leaves it, if for a moment,
 * loses the pointer.
 */
class Drag {
  /**
   * @param {HTMLElement} list
   * @param {HTMLElement} song
   * @param {HTMLElement} grip
   * @param {PointerEvent} event that began it
   * @param {(moved: boolean) => void} done
   */
  constructor(list, song, grip, event, done) {
    this.list = list;
    this.song = song;
    this.done = done;
    this.before = [...list.children];
    this.scrolled = window.scrollY;
    this.y = event.clientY;
    this.fold(grip);
    this.held = this.y - song.getBoundingClientRect().top;
    this.ended = new AbortController();
    const { signal } = this.ended;
    const mine = (/** @type {PointerEvent} */ e) => e.pointerId === event.pointerId;
    grip.setPointerCapture(event.pointerId);
    document.addEventListener("pointermove", (e) => mine(e) && this.follow(e.clientY), { signal });
    document.addEventListener("pointerup", (e) => mine(e) && this.end(true), { signal });
    document.addEventListener("pointercancel", (e) => mine(e) && this.end(false), { signal });
    document.addEventListener("keydown", (e) => e.key === "Escape" && this.end(false), { signal });
    this.frame = requestAnimationFrame((now) => this.scroll(now, now));
    this.stepped = -Infinity;
  }

  /** @param {HTMLElement} grip */
  fold(grip) {
    const { top } = grip.getBoundingClientRect();
    this.list.classList.add("folded");
    this.song.classList.add("dragged");
    // Room to scroll by, whatever the folding has left.
    this.list.style.paddingBlockEnd = `${window.innerHeight}px`;
    window.scrollBy(0, grip.getBoundingClientRect().top - top);
    this.list.style.paddingBlockStart = `${Math.max(0, top - grip.getBoundingClientRect().top)}px`;
  }

  /** @param {number} y of the pointer in the window */
  follow(y) {
    this.y = y;
    const others = [...this.list.children].filter((other) => other !== this.song);
    const at = others.findIndex((other) => y < middleOf(other));
    const place = at < 0 ? others.length : at;
    let now = [...this.list.children].indexOf(this.song);
    for (; now < place; now++) this.song.before(/** @type {Element} */ (this.song.nextElementSibling));
    for (; now > place; now--) this.song.after(/** @type {Element} */ (this.song.previousElementSibling));
    this.song.style.transform = "";
    this.song.style.transform = `translateY(${y - this.held - this.song.getBoundingClientRect().top}px)`;
  }

  /**
   * Scrolls the page while the pointer is near its edge and there are songs beyond.
   *
   * @param {number} now in ms
   * @param {number} last
   */
  scroll(now, last) {
    const { top, bottom } = this.list.getBoundingClientRect();
    const over = Math.min(edgePX, Math.max(0, edgePX - this.y));
    const under = Math.min(edgePX, Math.max(0, this.y - window.innerHeight + edgePX));
    // The list has a window's height of room at its end, see fold.
    const past = top < edgePX && over > 0 ? -over : bottom > 2 * window.innerHeight - edgePX ? under : 0;
    const from = window.scrollY;
    if (past === 0) this.stepped = -Infinity;
    else if (!prefersReducedMotion()) window.scrollBy(0, (past / edgePX) * fastestPXs * Math.min(0.05, (now - last) / 1000));
    else if (now - this.stepped >= stepMS) {
      window.scrollBy(0, Math.sign(past) * stepPX);
      this.stepped = now;
    }
    if (window.scrollY !== from) this.follow(this.y);
    this.frame = requestAnimationFrame((next) => this.scroll(next, now));
  }

  /** @param {boolean} keep */
  end(keep) {
    this.ended.abort();
    cancelAnimationFrame(this.frame);
    const moved = keep && [...this.list.children].some((other, i) => other !== this.before[i]);
    if (!moved) this.list.append(...this.before);
    this.list.classList.remove("folded");
    this.song.classList.remove("dragged");
    this.song.style.transform = "";
    this.list.style.paddingBlock = "";
    if (moved) this.song.scrollIntoView({ block: "center" });
    else window.scrollTo(0, this.scrolled);
    this.done(moved);
  }
}

/** Says that something typed is not kept yet, and asks before the page is left. */
class Unkept {
  /** @param {HTMLFormElement} form */
  constructor(form) {
    this.form = form;
    this.says = /** @type {HTMLElement} */ (form.querySelector("[data-unkept]"));
    this.kept = this.says.textContent.trim(); // what the page came with
    this.refused = form.hasAttribute("data-refused");
    this.sent = false;
    form.addEventListener("input", () => this.look());
    form.addEventListener("submit", () => this.sending());
    window.addEventListener("pageshow", () => {
      this.sent = false;
      this.look();
    });
    window.addEventListener("beforeunload", (event) => {
      if (this.changed && !this.sent) event.preventDefault();
    });
    this.look();
  }

  /** What is chosen to be added and who changes it say nothing of the programme. */
  get changed() {
    const fields = /** @type {(HTMLInputElement | HTMLTextAreaElement)[]} */ ([...this.form.querySelectorAll("input, textarea")]);
    return this.refused || fields.some((field) => field.name !== "by" && field.value !== field.defaultValue);
  }

  look() {
    const words = this.changed ? "Not kept yet" : this.kept;
    if (this.says.textContent !== words) this.says.textContent = words;
  }

  sending() {
    this.sent = true;
  }
}

/** @param {Element} element */
function middleOf(element) {
  const { top, height } = element.getBoundingClientRect();
  return top + height / 2;
}

/**
 * Sends the form as one of its buttons would.
 *
 * @param {HTMLFormElement} form
 * @param {string} what
 */
function send(form, what) {
  const field = document.createElement("input");
  field.type = "hidden";
  field.name = "do";
  field.value = what;
  form.prepend(field);
  form.submit();
  field.remove(); // the page may come back
}

/**
 * All that the page knows while it is open.
 *
 * @typedef {object} ProgrammePage
 * @property {Unkept} unkept  whether something typed is not kept yet
 * @property {Drag | null} drag  the song that is on its way to another place
 */

const form = /** @type {HTMLFormElement | null} */ (document.querySelector("[data-programme]"));
if (form) {
  const list = /** @type {HTMLElement} */ (form.querySelector(".songs"));
  const says = /** @type {HTMLElement} */ (form.querySelector("[data-says]"));
  /** @type {ProgrammePage} */
  const page = { unkept: new Unkept(form), drag: null };
  for (const grip of /** @type {NodeListOf<HTMLElement>} */ (list.querySelectorAll("[data-grip]"))) {
    const song = /** @type {HTMLElement} */ (grip.closest(".song"));
    grip.addEventListener("contextmenu", (event) => event.preventDefault()); // of a long press
    grip.addEventListener("pointerdown", (event) => {
      if (event.button !== 0 || page.drag) return;
      event.preventDefault();
      page.drag = new Drag(list, song, grip, event, (moved) => {
        page.drag = null;
        if (!moved) return;
        const place = [...list.children].indexOf(song) + 1;
        says.textContent = `${song.dataset.song} is now song ${place}.`;
        page.unkept.sending();
        send(form, `order ${place}`);
      });
    });
  }
}
