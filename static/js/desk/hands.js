// @ts-check
// Handwork on the wheel: what the keys, the pointer and the buttons do to the
// pins. Every action has a button and a key.

import { counted, placeOf } from "../lib/places.js";

/**
 * @typedef {import("../face/face.js").Hole} Hole
 * @typedef {import("./pins.js").Stretch} Stretch
 * @typedef {import("./pins.js").Copy} Copy
 * @typedef {import("./pins.js").Change} Change
 */

const sameSpotPX = 24; // two touches that far apart are meant for one place

export class Hands {
  /**
   * @param {{face: import("../face/face.js").Face, desk: import("./desk.js").Desk,
   *   tools: HTMLElement, say: (hole: Hole, before?: string) => void, tell: (words: string) => void,
   *   look: (near: number, under?: {hole: Hole, x: number, y: number}) => void, find: () => void}} o
   */
  constructor({ face, desk, tools, say, tell, look, find }) {
    this.face = face;
    this.desk = desk;
    this.tools = tools;
    this.say = say;
    this.tell = tell;
    this.look = look;
    this.find = find;
    this.mode = "drive"; // what a click does: drive, point or select
    /** @type {Hole | null} where the stretch was begun */
    this.anchor = null;
    /** @type {{stretch: Stretch, right: number, on: number} | null} pins that are carried, and how far */
    this.carries = null;
    /** @type {Copy | null} */
    this.kept = null;
    /** @type {{x: number, y: number} | null} where a touch has just brought the face nearer */
    this.neared = null;
    /** @type {{hole: Hole, moved: boolean} | null} */
    this.drag = null;
    this.attachPointer();
    this.attachTools();
    this.show();
  }

  get pins() {
    return this.desk.pins;
  }

  get turn() {
    return this.pins.turn;
  }

  /** The stretch that is selected, or the hole under the cursor. @returns {Stretch | null} */
  get meant() {
    const { stretch, cursor } = this.face;
    return stretch ?? (cursor && { ...cursor, wide: 1, long: 1 });
  }

  /** @param {Hole} hole */
  placeName({ across, down }) {
    return `${this.turn.channels[across].name}, ${placeOf(this.turn, down)}`;
  }

  /** @param {Stretch} s */
  stretchName({ across, down, wide, long }) {
    const { channels, steps } = this.turn;
    const rows = wide === channels.length ? "all channels" : wide === 1 ? channels[across].name : `${channels[across].name} to ${channels[across + wide - 1].name}`;
    if (long === steps) return `${rows}, the whole turn`;
    return long === 1 ? `${rows}, ${placeOf(this.turn, down)}` : `${rows}, ${placeOf(this.turn, down)} to ${placeOf(this.turn, down + long - 1)}`;
  }

  /**
   * @param {string} kind
   * @param {string} words
   * @param {Change[]} changes
   * @param {string} nothing  what to say where nothing changes
   */
  do(kind, words, changes, nothing) {
    if (!changes.length) return this.tell(nothing);
    this.tell("");
    this.desk.do(kind, words, changes);
    if (this.face.cursor) this.say(this.face.cursor, kind === "drive" ? "Driven. " : kind === "pull" ? "Pulled. " : `Done: ${words}. `);
  }

  /** @param {Hole} hole */
  driveOrPull(hole) {
    const is = this.pins.at(hole.across, hole.down);
    const kind = is ? "pull" : "drive";
    this.do(kind, `${kind} ${this.placeName(hole)}`, this.pins.driveOrPull(hole), "");
  }

  /** Moves the cursor, and gives up what was selected. @param {Hole} hole */
  go(hole) {
    this.face.moveTo(hole);
    this.stand(hole);
  }

  /** Puts the cursor on a hole that is in view; the face stays under the pointer. @param {Hole} hole */
  pointAt(hole) {
    this.face.letGo();
    this.face.cursor = hole;
    this.stand(hole);
  }

  /** The cursor has come to a hole. @param {Hole} hole */
  stand(hole) {
    this.anchor = null;
    this.face.stretch = null;
    this.face.redraw();
    this.say(hole);
    this.show();
  }

  /** Selects from where the stretch was begun, or from the cursor, to a hole. @param {Hole} hole */
  selectTo(hole) {
    const from = (this.anchor ??= this.face.cursor ?? hole);
    const across = Math.min(from.across, hole.across);
    const down = Math.min(from.down, hole.down);
    const stretch = { across, down, wide: Math.abs(from.across - hole.across) + 1, long: Math.abs(from.down - hole.down) + 1 };
    this.select(stretch, hole);
  }

  /** @param {Stretch} stretch @param {Hole} cursor */
  select(stretch, cursor) {
    this.face.stretch = stretch;
    this.face.moveTo(cursor);
    this.tell(`Selected: ${this.stretchName(stretch)}; ${counted(this.pins.count(stretch), "pin")}.`);
    this.show();
  }

  selectChannel() {
    const { cursor } = this.face;
    if (!cursor) return this.tell("Point at a hole of the channel first.");
    this.anchor = null;
    this.select({ across: cursor.across, down: 0, wide: 1, long: this.turn.steps }, cursor);
  }

  /** Takes the selected pins up to carry them. */
  takeUp() {
    const s = this.meant;
    if (!s || !this.pins.count(s)) return this.tell("There is no pin to move; select a stretch with pins, or point at one.");
    this.face.stretch = s;
    this.carries = { stretch: s, right: 0, on: 0 };
    this.carry(0, 0);
  }

  /** Carries the pins that were taken up. @param {number} right @param {number} on */
  carry(right, on) {
    const c = this.carries;
    if (!c) return;
    const { channels, steps } = this.turn;
    c.right = Math.max(-c.stretch.across, Math.min(channels.length - c.stretch.across - c.stretch.wide, c.right + right));
    c.on = (c.on + on) % steps;
    this.face.carried = [...this.pins.in(c.stretch)].map(({ across, step }) => ({ across: across + c.right, step: this.pins.wrap(step + c.on) }));
    const at = { across: c.stretch.across + c.right, down: this.pins.wrap(c.stretch.down + c.on) };
    this.face.moveTo(at);
    this.say(at);
    this.tell(`Carrying ${counted(this.face.carried.length, "pin")} to ${this.placeName(at)}; Enter sets them down, Escape puts them back.`);
    this.show();
  }

  setDown() {
    const c = this.carries;
    if (!c) return;
    const n = this.face.carried.length;
    const changes = this.pins.move(c.stretch, c.right, c.on) ?? [];
    const how = [
      c.on && `${counted(Math.abs(c.on), "step")} ${c.on > 0 ? "later" : "earlier"}`,
      c.right && `${counted(Math.abs(c.right), "channel")} to the ${c.right > 0 ? "right" : "left"}`,
    ].filter(Boolean);
    this.letDown();
    // The stretch goes with its pins unless the seam cuts it.
    const down = this.pins.wrap(c.stretch.down + c.on);
    this.face.stretch = down + c.stretch.long <= this.turn.steps ? { ...c.stretch, across: c.stretch.across + c.right, down } : null;
    this.anchor = null;
    this.do("move", `move ${counted(n, "pin")} ${how.join(" and ")}, from ${this.stretchName(c.stretch)}`, changes, "They are where they were.");
    this.show();
  }

  putBack() {
    if (this.carries) this.face.moveTo({ across: this.carries.stretch.across, down: this.carries.stretch.down });
    this.letDown();
    this.tell("Put back; nothing was moved.");
    this.show();
  }

  letDown() {
    this.carries = null;
    this.face.carried = [];
    this.face.redraw();
  }

  copy() {
    const s = this.meant;
    if (!s) return this.tell("Select a stretch first.");
    this.kept = this.pins.copy(s);
    this.tell(`Copied: ${counted(this.kept.cells.length, "pin")} of ${this.stretchName(s)}. Point where they shall begin, and lay them down.`);
    this.show();
  }

  lay() {
    const { cursor } = this.face;
    if (!this.kept || !cursor) return this.tell(this.kept ? "Point at a hole first." : "Nothing is copied yet.");
    const { changes } = this.pins.lay(this.pins.work(), this.kept, cursor.across, cursor.down);
    this.do("copy", `lay ${counted(this.kept.cells.length, "pin")} down at ${this.placeName(cursor)}`, changes, "It is so already.");
  }

  repeat() {
    const s = this.face.stretch;
    if (!s) return this.tell("Select a stretch first.");
    this.do("repeat", `repeat ${this.stretchName(s)} to the end of the turn`, this.pins.repeat(s), "It is so already.");
  }

  clear() {
    const s = this.meant;
    if (!s) return this.tell("Select a stretch first.");
    this.do("clear", `clear ${this.stretchName(s)}: ${counted(this.pins.count(s), "pin")}`, this.pins.clear(s), "There is no pin to pull.");
  }

  /** @param {number} on */
  nudge(on) {
    const { cursor } = this.face;
    if (!cursor) return this.tell("Point at a hole of the channel first.");
    const { name } = this.turn.channels[cursor.across];
    this.do("nudge", `move all of ${name} a step ${on > 0 ? "later" : "earlier"}`, this.pins.nudge(cursor.across, on), `${name} has no pins.`);
  }

  hold() {
    const s = this.meant;
    if (!s) return this.tell("Point at a pin first.");
    const all = [...this.pins.in(s)];
    const hold = all.some(({ across, step }) => this.pins.heldAim(across, step, this.pins.at(across, step)) === null);
    const what = all.length === 1 ? this.placeName({ across: all[0].across, down: all[0].step }) : `${counted(all.length, "pin")} of ${this.stretchName(s)}`;
    this.do(hold ? "hold" : "release", hold ? `hold the aim of ${what}` : `let the aim follow: ${what}`, this.pins.hold(s, hold), "There is no pin.");
  }

  giveUp() {
    if (this.carries) return this.putBack();
    this.face.stretch = null;
    this.anchor = null;
    this.tell("");
    this.face.redraw();
    this.show();
  }

  /** Where in the face's window the pointer is. @param {MouseEvent} event */
  inFace(event) {
    const { scroll } = this.face;
    const box = scroll.getBoundingClientRect();
    return { x: event.clientX - box.left - scroll.clientLeft, y: event.clientY - box.top - scroll.clientTop };
  }

  attachPointer() {
    const { scroll } = this.face;
    const holeAt = (/** @type {MouseEvent} */ event) => {
      const { x, y } = this.inFace(event);
      return this.face.holeAt(x, y);
    };
    scroll.addEventListener("pointerdown", (event) => {
      this.drag = null;
      const hole = holeAt(event);
      if (event.pointerType !== "mouse" || event.button !== 0 || event.shiftKey || this.carries || !hole) return;
      const inside = event.offsetX < scroll.clientWidth && event.offsetY < scroll.clientHeight; // not on a scroll bar
      if (inside || event.target !== scroll) this.drag = { hole, moved: false };
    });
    scroll.addEventListener("pointermove", (event) => {
      if (!this.drag || !(event.buttons & 1)) return;
      const hole = holeAt(event);
      if (!hole || (!this.drag.moved && hole.across === this.drag.hole.across && hole.down === this.drag.hole.down)) return;
      if (!this.drag.moved) scroll.setPointerCapture(event.pointerId);
      this.drag.moved = true;
      this.anchor = this.drag.hole;
      this.selectTo(hole);
    });
    scroll.addEventListener("click", (event) => {
      const { drag } = this;
      this.drag = null;
      if (drag?.moved) return;
      const hole = holeAt(event);
      if (hole) this.clicked(hole, event);
    });
  }

  /** @param {Hole} hole @param {MouseEvent} event */
  clicked(hole, event) {
    const touch = /** @type {PointerEvent} */ (event).pointerType === "touch";
    const { neared } = this;
    this.neared = null;
    if (touch ? !this.face.fitsFinger : !this.face.fitsPointer) {
      const at = this.inFace(event);
      this.face.letGo();
      this.look(touch ? 2 : Math.max(1, this.face.near + 1), { hole, ...at });
      this.neared = at;
      if (!this.carries) this.pointAt(hole);
      return this.tell(touch ? "Nearer now, so that a finger finds its hole. Touch again." : "Nearer now, so that holes can be told apart. Click again.");
    }
    const { cursor } = this.face;
    if (neared && !this.carries && cursor && (cursor.across !== hole.across || cursor.down !== hole.down)) {
      const { x, y } = this.inFace(event);
      if (Math.hypot(x - neared.x, y - neared.y) < sameSpotPX) {
        this.pointAt(hole); // at the seam, or at the outermost channel, the face could not come nearer about that point
        return this.tell(`This is ${this.placeName(hole)}. ${touch ? "Touch" : "Click"} again.`);
      }
    }
    if (this.carries) {
      const { stretch, right, on } = this.carries;
      return this.carry(hole.across - stretch.across - right, hole.down - this.pins.wrap(stretch.down + on));
    }
    if (event.shiftKey) return this.selectTo(hole);
    if (this.mode === "select") {
      if (this.anchor) {
        this.selectTo(hole);
        this.anchor = null;
        return;
      }
      this.pointAt(hole);
      this.selectTo(hole);
      return;
    }
    this.pointAt(hole);
    if (this.mode === "drive") this.driveOrPull(hole);
  }

  /** Where a key takes the cursor from a hole. @param {KeyboardEvent} event @returns {[number, number] | null} channels, steps */
  way({ key, shiftKey }) {
    const beat = this.turn.steps_per_beat;
    const bar = beat * this.turn.beats_per_bar;
    /** @type {Record<string, [number, number]>} */
    const ways = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0], PageUp: [0, -bar], PageDown: [0, bar] };
    if (key.toLowerCase() === "b") return [0, shiftKey ? -beat : beat];
    return ways[key] ?? null;
  }

  /**
   * Does what a key on the face stands for.
   *
   * @param {KeyboardEvent} event
   * @returns {boolean} whether it stands for anything
   */
  pressed(event) {
    const { key, shiftKey } = event;
    if (event.ctrlKey || event.metaKey) {
      const letter = key.toLowerCase();
      if (event.altKey || (letter !== "z" && letter !== "y")) return false;
      if (letter === "y" || shiftKey) this.desk.redo();
      else this.desk.undo();
      return true;
    }
    if (event.altKey) return false;
    const { cursor } = this.face;
    const { channels, steps } = this.turn;
    const way = this.way(event);
    if (this.carries) {
      if (way) this.carry(way[0], way[1]);
      else if (key === "Enter") this.setDown();
      else if (key === "Escape") this.putBack();
      else return false;
      return true;
    }
    const to = way
      ? { across: (cursor?.across ?? 0) + way[0], down: (cursor?.down ?? -1) + way[1] }
      : { Home: { across: cursor?.across ?? 0, down: 0 }, End: { across: cursor?.across ?? 0, down: steps - 1 } }[key];
    if (to) {
      const hole = { across: Math.max(0, Math.min(channels.length - 1, to.across)), down: Math.max(0, Math.min(steps - 1, to.down)) };
      if (shiftKey && key.length > 1) this.selectTo(hole);
      else this.go(hole);
      return true;
    }
    if (key === "Escape" && this.face.stretch) {
      this.giveUp();
      return true;
    }
    const act = Hands.keys[shiftKey && key.length === 1 ? `Shift+${key.toLowerCase()}` : key.length === 1 ? key.toLowerCase() : key];
    if (!act) return false;
    if (!event.repeat || act === "undo" || act === "redo") this.act(act);
    return true;
  }

  /** @type {Record<string, string>} keys besides those that move */
  static keys = {
    Enter: "toggle",
    Delete: "clear",
    Backspace: "clear",
    m: "takeUp",
    c: "copy",
    l: "lay",
    r: "repeat",
    n: "later",
    "Shift+n": "earlier",
    h: "hold",
    w: "channel",
    u: "undo",
    "Shift+u": "redo",
    f: "find",
    "+": "nearer",
    "Shift++": "nearer",
    "Shift+=": "nearer",
    "-": "farther",
    0: "whole",
  };

  /** @param {string} act */
  act(act) {
    const { face } = this;
    /** @type {Record<string, () => void>} */
    const acts = {
      toggle: () => (face.cursor ? this.driveOrPull(face.cursor) : this.tell("Point at a hole first.")),
      clear: () => this.clear(),
      takeUp: () => this.takeUp(),
      setDown: () => this.setDown(),
      putBack: () => this.putBack(),
      copy: () => this.copy(),
      lay: () => this.lay(),
      repeat: () => this.repeat(),
      later: () => this.nudge(1),
      earlier: () => this.nudge(-1),
      hold: () => this.hold(),
      channel: () => this.selectChannel(),
      giveUp: () => this.giveUp(),
      undo: () => this.desk.undo(),
      redo: () => this.desk.redo(),
      find: () => this.find(),
      nearer: () => this.look(face.near + 1),
      farther: () => this.look(face.near - 1),
      whole: () => this.look(-1),
      left: () => this.step(-1, 0),
      right: () => this.step(1, 0),
      up: () => this.step(0, -1),
      down: () => this.step(0, 1),
    };
    acts[act]?.();
  }

  /** Carries on, or moves the cursor, by buttons. @param {number} right @param {number} on */
  step(right, on) {
    if (this.carries) return this.carry(right, on);
    const { across, down } = this.face.cursor ?? { across: 0, down: 0 };
    this.go({ across: Math.max(0, Math.min(this.turn.channels.length - 1, across + right)), down: Math.max(0, Math.min(this.turn.steps - 1, down + on)) });
  }

  /** The buttons: one stop for Tab, and the arrows go from one to the next. */
  attachTools() {
    const { tools } = this;
    tools.addEventListener("click", (event) => {
      const button = /** @type {HTMLElement} */ (event.target).closest("button");
      if (!button) return;
      if (button.dataset.mode) {
        this.mode = button.dataset.mode;
        this.anchor = null;
        this.show();
      } else this.act(button.dataset.act ?? "");
      this.rove(button);
      this.leaveMenu(button);
    });
    tools.addEventListener("keydown", (event) => {
      const turn = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
      if (!turn) return;
      event.preventDefault();
      const seen = this.buttons.filter((b) => b.checkVisibility());
      const at = seen.indexOf(/** @type {HTMLButtonElement} */ (document.activeElement));
      this.rove(seen[(at + turn + seen.length) % seen.length], true);
    });
    this.rove(this.buttons[0]);
  }

  /** The menu closes after all that is done once; the keys go back to the face. @param {HTMLButtonElement} button */
  leaveMenu(button) {
    const menu = button.closest("details");
    if (!menu || button.dataset.act === "earlier" || button.dataset.act === "later") return;
    this.face.scroll.focus({ preventScroll: true });
    menu.open = false;
  }

  get buttons() {
    return /** @type {HTMLButtonElement[]} */ ([...this.tools.querySelectorAll("button")]);
  }

  /** @param {HTMLElement} to @param {boolean} [focus] */
  rove(to, focus = false) {
    const seen = to.checkVisibility() ? to : this.buttons.find((b) => b.checkVisibility());
    for (const button of this.buttons) button.tabIndex = button === seen ? 0 : -1;
    if (focus || (seen !== to && document.activeElement === document.body)) seen?.focus();
  }

  /** Shows the buttons that there is something to do for. */
  show() {
    const { tools } = this;
    const hadFocus = tools.contains(document.activeElement);
    const parts = { carrying: this.carries !== null, stretch: !this.carries && this.face.stretch !== null, hole: !this.carries };
    for (const part of /** @type {NodeListOf<HTMLElement>} */ (tools.querySelectorAll("[data-when]"))) {
      part.hidden = !part.dataset.when?.split(" ").some((when) => parts[/** @type {keyof typeof parts} */ (when)]);
    }
    const lay = tools.querySelector("[data-act=lay]");
    if (lay instanceof HTMLElement) lay.hidden = !this.kept || this.carries !== null;
    for (const button of /** @type {NodeListOf<HTMLElement>} */ (tools.querySelectorAll("[data-mode]"))) {
      button.setAttribute("aria-pressed", String(button.dataset.mode === this.mode));
    }
    const current = this.buttons.find((b) => b.tabIndex === 0) ?? this.buttons[0];
    this.rove(current, hadFocus && !current.checkVisibility());
  }
}
