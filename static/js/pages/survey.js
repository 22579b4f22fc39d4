// @ts-check
// The survey page: the MIDI files of a folder are sent a few at a time, and
// what each few come to is ranked among what came before.

import { onFilesDropped } from "../lib/drops.js";
import { among, lookThrough } from "../lib/folders.js";
import { counted, figure } from "../lib/places.js";

const mostFiles = 16; // of one request
const mostBytes = 8 * 2 ** 20; // and of their content
const quickMS = 5000; // an answer in this time asks for more files in the next request
const showEveryMS = 1000; // a long table takes a browser a while to lay out again
const gone = "The program does not answer. Start it again if it was stopped, then go on.";
const tooMuch = "There is more in it than can be looked through; bring the folders in it one by one to have every song judged.";

/**
 * @typedef {import("../lib/folders.js").Found} Found
 * @typedef {import("../lib/folders.js").Looked} Looked
 * @typedef {{suits: number, file: string, number: number, found: Found | null, row: HTMLTableRowElement}} Ranked
 * @typedef {{found: Found, data: ArrayBuffer}} Opened
 */

/**
 * What the page knows of the survey, besides its parts.
 *
 * @typedef {object} SurveyState
 * @property {AbortController} going  ends what is going on
 * @property {FormData} fields  machine and tempo, as they were when it was begun
 * @property {Found[]} waiting  not judged yet
 * @property {number} all  files that were found
 * @property {number} others  that are no MIDI files
 * @property {boolean} cut  whether there was more than is looked through
 * @property {number} size  files of the next request
 * @property {{page: Document, opened: Opened[]}[]} held  answers that are not shown yet
 * @property {number} shownMS  when the table was last shown
 * @property {Ranked[]} ranked  best first
 * @property {{file: string, row: HTMLElement}[]} refused  by name
 */

/** @implements {SurveyState} */
class Survey {
  /** @param {HTMLFormElement} form */
  constructor(form) {
    const part = (/** @type {string} */ name) => /** @type {HTMLElement} */ (document.querySelector(`[data-${name}]`));
    this.form = form;
    this.work = part("work");
    this.line = part("line");
    this.bar = /** @type {HTMLProgressElement} */ (part("bar"));
    this.cancel = part("cancel");
    this.said = part("said");
    this.problem = part("problem");
    this.rest = part("rest");
    this.songs = part("songs");
    this.rows = /** @type {HTMLTableSectionElement} */ (this.songs.querySelector("tbody"));
    this.fold = part("fold");
    this.unreadable = part("unreadable");
    this.unreadList = /** @type {HTMLElement} */ (this.unreadable.querySelector("ul"));
    this.unread = /** @type {HTMLTemplateElement} */ (part("unread"));
    this.endings = (form.dataset.endings ?? "").split(" ");
    this.going = new AbortController();
    this.fields = new FormData();
    /** @type {Found[]} */
    this.waiting = [];
    this.all = 0;
    this.others = 0;
    this.cut = false;
    this.size = mostFiles;
    /** @type {{page: Document, opened: Opened[]}[]} */
    this.held = [];
    this.shownMS = -Infinity;
    /** @type {Ranked[]} */
    this.ranked = [];
    /** @type {{file: string, row: HTMLElement}[]} */
    this.refused = [];

    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const inputs = /** @type {NodeListOf<HTMLInputElement>} */ (form.querySelectorAll("input[type=file]"));
      const picked = [...inputs].flatMap((input) => [...(input.files ?? [])]);
      if (picked.length === 0) this.fail("No file was chosen; choose a folder or files, or drop them here.");
      else this.survey(async () => ({ ...among(picked, this.wanted), closed: [], cut: false }));
    });
    onFilesDropped(form, (data) => {
      this.survey((signal) =>
        lookThrough(data, this.wanted, signal, (n) => this.tell(`Looking through the folder: ${figure(n)} files and folders so far`)),
      );
    });
    this.cancel.addEventListener("click", () => this.going.abort());
    this.rest.addEventListener("click", () => this.run());
    addEventListener("pagehide", () => this.going.abort());
    this.restore();
  }

  /** @type {(name: string) => boolean} */
  wanted = (name) => this.endings.some((ending) => name.toLowerCase().endsWith(ending));

  /**
   * Starts over with the files that a search finds. Where it finds none, what
   * was there before stays.
   *
   * @param {(signal: AbortSignal) => Promise<Looked>} look
   */
  async survey(look) {
    this.going.abort();
    const going = (this.going = new AbortController());
    this.atWork(true);
    this.bar.value = 0;
    this.tell("Looking through the folder");
    /** @type {Looked | null} */
    let looked = null;
    try {
      looked = await look(going.signal);
    } catch {
      // looked stays null
    }
    if (this.going !== going) return;
    if (looked && looked.files.length > 0) {
      this.clear(looked);
      await this.run();
    } else if (looked) {
      this.stop(this.nothing(looked));
    } else {
      this.stop(going.signal.aborted ? "" : "What was dropped could not be looked through; choose the folder instead.");
    }
  }

  /** What the ranking of this machine, as it is now, is remembered by while the window is open. */
  get memory() {
    return `pinwright-survey-${this.field("machine").value}-${this.form.dataset.revision}`;
  }

  /**
   * @param {string} name
   * @returns {HTMLInputElement}
   */
  field(name) {
    return /** @type {HTMLInputElement} */ (this.form.elements.namedItem(name));
  }

  /** Remembers the ranking, for those who come back from a song. */
  remember() {
    if (this.ranked.length + this.refused.length === 0) return;
    const ranking = { rows: this.rows.innerHTML, refused: this.unreadList.innerHTML, said: this.summary(), tempo: this.field("tempo").value };
    try {
      sessionStorage.setItem(this.memory, JSON.stringify(ranking));
    } catch {
      sessionStorage.removeItem(this.memory); // it is too long to be remembered
    }
  }

  /** Shows the ranking that is remembered. Its files are closed, so songs are kept on another page. */
  restore() {
    const kept = sessionStorage.getItem(this.memory);
    if (!kept || this.rows.rows.length > 0) return;
    const { rows, refused, said, tempo } = JSON.parse(kept);
    this.rows.innerHTML = rows;
    this.unreadList.innerHTML = refused;
    for (const row of this.rows.rows) {
      const { suits, file, number } = row.dataset;
      this.ranked.push({ suits: Number(suits), file: file ?? "", number: Number(number), found: null, row });
    }
    for (const row of /** @type {NodeListOf<HTMLElement>} */ (this.unreadList.querySelectorAll("li"))) {
      this.refused.push({ file: row.querySelector("bdi")?.textContent ?? "", row });
    }
    for (const cell of this.rows.querySelectorAll("[data-keep]")) {
      const link = document.createElement("a");
      link.href = "/songs";
      link.textContent = "Add its file to keep it";
      cell.replaceChildren(link);
    }
    this.field("tempo").value = tempo;
    this.songs.hidden = this.ranked.length === 0;
    this.unreadable.hidden = this.refused.length === 0;
    this.fold.hidden = this.ranked.length <= 8;
    this.say(said);
  }

  /** @param {Looked} looked through for the files to judge now */
  clear(looked) {
    this.waiting = looked.files;
    this.all = looked.files.length;
    this.others = looked.others;
    this.cut = looked.cut;
    this.size = mostFiles;
    this.held = [];
    this.shownMS = -Infinity;
    this.ranked = [];
    this.refused = [];
    this.rows.replaceChildren();
    this.unreadList.replaceChildren();
    this.songs.hidden = this.unreadable.hidden = true;
    for (const { path, why } of looked.closed) this.refuse(path, why);
  }

  /**
   * @param {Looked} looked
   * @returns {string}
   */
  nothing(looked) {
    if (looked.cut) return tooMuch;
    if (looked.closed.length > 0) return `${looked.closed[0].path}: ${looked.closed[0].why}.`;
    const seen = looked.others ? ` (${counted(looked.others, "other file", "other files")})` : "";
    return `There is no MIDI file in it${seen}; their names end in ${this.form.dataset.ends}.`;
  }

  /** Judges the files that are waiting. */
  async run() {
    const going = (this.going = new AbortController());
    if (this.waiting.length === this.all) {
      for (const name of ["machine", "tempo"]) {
        this.fields.set(name, /** @type {HTMLInputElement} */ (this.form.elements.namedItem(name)).value);
      }
    }
    this.fail("");
    this.atWork(true);
    this.say(`Judging ${counted(this.waiting.length, "file", "files")}.`);
    let trouble = "";
    try {
      while (this.waiting.length > 0 && !trouble) {
        this.showDone();
        trouble = await this.judgeSome(going.signal);
      }
    } catch (error) {
      if (!going.signal.aborted) throw error;
    }
    if (this.going === going) this.stop(trouble || (this.cut ? tooMuch : ""));
  }

  /** @param {string} trouble that stopped it; empty where none did */
  stop(trouble) {
    this.show();
    const left = this.waiting.length;
    this.rest.hidden = left === 0;
    this.rest.textContent = left === this.all ? "Try again" : `Go on with the other ${counted(left, "file", "files")}`;
    this.atWork(false);
    if (this.all) {
      this.say(this.summary());
      this.remember();
    }
    this.fail(trouble);
  }

  /**
   * Sends the next few files. They stay among those waiting until they are
   * judged.
   *
   * @param {AbortSignal} signal
   * @returns {Promise<string>} what is wrong, so that it cannot go on
   */
  async judgeSome(signal) {
    const { few, opened, refused } = await this.next(signal);
    if (opened.length > 0) {
      const form = new FormData();
      for (const [name, value] of this.fields) form.append(name, value);
      for (const { found, data } of opened) form.append("file", new Blob([data]), found.path.replace(/\p{Cc}/gu, " "));
      const startMS = performance.now();
      const answer = await ask("/survey", form, signal);
      const tookMS = performance.now() - startMS;
      signal.throwIfAborted();
      if (!answer) return gone;
      const page = new DOMParser().parseFromString(answer.text, "text/html");
      if (answer.status === 413 && opened.length > 1) {
        this.size = Math.ceil(opened.length / 2);
        return "";
      }
      if (answer.status === 413) refused.push([opened[0].found.path, wordsOf(page)]);
      else if (answer.status === 200) this.held.push({ page, opened });
      else return wordsOf(page);
      if (tookMS < quickMS) this.size = Math.min(mostFiles, this.size * 2);
    }
    this.waiting = this.waiting.slice(few);
    for (const [path, why] of refused) this.refuse(path, why);
    if (performance.now() - this.shownMS > showEveryMS) this.show();
    return "";
  }

  /**
   * Opens the next few files of those waiting. Those that cannot be opened, or
   * are too large, are refused.
   *
   * @param {AbortSignal} signal
   */
  async next(signal) {
    /** @type {Opened[]} */
    const opened = [];
    /** @type {[string, string][]} */
    const refused = [];
    let bytes = 0;
    let few = 0;
    for (const found of this.waiting.slice(0, this.size)) {
      try {
        const file = await found.open();
        if (file.size > Number(this.form.dataset.most)) {
          refused.push([found.path, this.form.dataset.large ?? ""]);
        } else {
          if (bytes + file.size > mostBytes && opened.length > 0) break;
          bytes += file.size;
          opened.push({ found, data: await file.arrayBuffer() });
        }
      } catch {
        refused.push([found.path, "it could not be opened; it may have been moved, or be closed to this browser"]);
      }
      signal.throwIfAborted();
      few++;
    }
    return { few, opened, refused };
  }

  /** Ranks what was not shown yet. */
  show() {
    let first = this.ranked.length;
    for (const { page, opened } of this.held) first = Math.min(first, this.take(page, opened));
    this.held = [];
    for (let i = first; i < this.ranked.length; i++) {
      const cell = this.ranked[i].row.cells[0];
      if (cell.textContent !== String(i + 1)) cell.textContent = String(i + 1);
    }
    this.songs.hidden = this.ranked.length === 0;
    this.fold.hidden = this.ranked.length <= 8;
    this.shownMS = performance.now();
  }

  /**
   * Puts what a few files came to in its places.
   *
   * @param {Document} page
   * @param {Opened[]} opened
   * @returns {number} the first place that is new
   */
  take(page, opened) {
    let first = this.ranked.length;
    for (const row of /** @type {NodeListOf<HTMLTableRowElement>} */ (page.querySelectorAll("[data-songs] tbody tr"))) {
      const { suits, file, number, part } = row.dataset;
      const { found } = opened[Number(part)];
      const one = { suits: Number(suits), file: file ?? "", number: Number(number), found, row };
      const at = place(this.ranked, (other) => compare(other, one) < 0);
      this.rows.insertBefore(row, this.ranked[at]?.row ?? null);
      this.ranked.splice(at, 0, one);
      first = Math.min(first, at);
      row.querySelector("[data-keep] button")?.addEventListener("click", () => this.keep(one));
    }
    for (const line of /** @type {NodeListOf<HTMLElement>} */ (page.querySelectorAll("[data-unreadable] li"))) this.list(line);
    return first;
  }

  /**
   * Adds a song's file to the songs, and leads from every song of the file to
   * where it is; of several, to the songs.
   *
   * @param {Ranked} one
   */
  async keep({ found, file, row }) {
    if (!found) return;
    const cell = keepCell(row);
    const button = /** @type {HTMLButtonElement} */ (cell.querySelector("button"));
    cell.querySelector("p")?.remove();
    button.disabled = true;
    const added = await add(found);
    const lost = document.activeElement === document.body; // with the button
    if (added.wrong) {
      button.disabled = false;
      const says = document.createElement("p");
      says.setAttribute("role", "alert");
      says.textContent = added.wrong;
      cell.append(says);
      if (lost) button.focus();
      return;
    }
    for (const other of this.ranked.filter((ranked) => ranked.found === found)) {
      const title = /** @type {HTMLElement} */ (other.row.querySelector("[data-title]"));
      const link = document.createElement("a");
      link.href = /\/songs\/\d+$/.test(added.at) ? added.at + other.row.dataset.choice : added.at;
      link.append(...title.childNodes);
      title.replaceChildren(link);
      keepCell(other.row).remove();
    }
    if (lost) /** @type {HTMLElement | null} */ (row.querySelector("[data-title] a"))?.focus();
    this.say(`${file} was added to the songs.`);
    this.remember();
  }

  /**
   * @param {string} file
   * @param {string} why
   */
  refuse(file, why) {
    const line = /** @type {HTMLElement} */ (/** @type {DocumentFragment} */ (this.unread.content.cloneNode(true)).querySelector("li"));
    /** @type {HTMLElement} */ (line.querySelector("bdi")).textContent = file;
    /** @type {HTMLElement} */ (line.querySelector("span")).textContent = why;
    this.list(line);
  }

  /** @param {HTMLElement} row of a file that was not judged */
  list(row) {
    const file = row.querySelector("bdi")?.textContent ?? "";
    const at = place(this.refused, (other) => other.file <= file);
    this.unreadList.insertBefore(row, this.refused[at]?.row ?? null);
    this.refused.splice(at, 0, { file, row });
    this.unreadable.hidden = false;
  }

  showDone() {
    const done = this.all - this.waiting.length;
    this.tell(`${figure(done)} of ${counted(this.all, "file", "files")}`);
    this.bar.max = this.all;
    this.bar.value = done;
  }

  summary() {
    const left = this.waiting.length;
    const done = left ? `${figure(this.all - left)} of ${counted(this.all, "file", "files")}` : counted(this.all, "file", "files");
    let words = `${done} read: ${counted(this.ranked.length, "song", "songs")} ranked`;
    if (this.refused.length > 0) words += `, ${figure(this.refused.length)} not judged`;
    if (this.others > 0) words += `, ${counted(this.others, "file that is no MIDI file", "files that are no MIDI files")}`;
    return `${words}.`;
  }

  /** @param {boolean} on */
  atWork(on) {
    const focused = this.work.contains(document.activeElement) || this.rest === document.activeElement;
    this.work.hidden = !on;
    this.said.classList.toggle("unseen", on); // what is said meanwhile is in the line
    if (on) this.rest.hidden = true;
    if (focused) (on ? this.cancel : this.rest.hidden ? this.said : this.rest).focus();
  }

  /** @param {string} text how far it is; read out by nobody, as it changes all the time */
  tell(text) {
    this.line.textContent = text;
  }

  /** @param {string} text */
  say(text) {
    this.said.textContent = text;
  }

  /** @param {string} text */
  fail(text) {
    this.problem.textContent = text;
    this.problem.hidden = !text;
  }
}

/**
 * @param {HTMLElement} row
 * @returns {HTMLElement}
 */
function keepCell(row) {
  return /** @type {HTMLElement} */ (row.querySelector("[data-keep]"));
}

/**
 * Adds a file to the songs.
 *
 * @param {Found} found
 * @returns {Promise<{at: string, wrong: string}>} the address of what it holds, or what is wrong
 */
async function add(found) {
  const form = new FormData();
  try {
    const file = await found.open();
    form.append("file", new Blob([await file.arrayBuffer()]), file.name);
  } catch {
    return { at: "", wrong: "The file could not be opened; it may have been moved since." };
  }
  const answer = await ask("/songs", form);
  if (!answer) return { at: "", wrong: gone };
  if (answer.redirected) return { at: answer.at, wrong: "" };
  return { at: "", wrong: wordsOf(new DOMParser().parseFromString(answer.text, "text/html")) };
}

/**
 * @param {string} address
 * @param {FormData} form
 * @param {AbortSignal} [signal]
 * @returns {Promise<{status: number, text: string, at: string, redirected: boolean} | null>} null where no answer came
 */
async function ask(address, form, signal) {
  try {
    const answer = await fetch(address, { method: "POST", body: form, signal, headers: { "HX-Request": "true" } });
    return { status: answer.status, text: await answer.text(), at: answer.url, redirected: answer.redirected };
  } catch {
    return null;
  }
}

/**
 * What an answer says is wrong.
 *
 * @param {Document} page
 * @returns {string}
 */
function wordsOf(page) {
  const lines = [...page.querySelectorAll(".problem p, .problem li")].map((line) => line.textContent);
  return lines.join(" ") || page.body.textContent?.trim() || "The program gave no answer that can be read.";
}

/**
 * Which of two songs is ranked first: the one that suits better, then by name.
 *
 * @param {Ranked} a
 * @param {Ranked} b
 * @returns {number}
 */
function compare(a, b) {
  if (a.suits !== b.suits) return b.suits - a.suits;
  if (a.file !== b.file) return a.file < b.file ? -1 : 1;
  return a.number - b.number;
}

/**
 * Where something belongs in a list in order.
 *
 * @template T
 * @param {T[]} list
 * @param {(other: T) => boolean} before tells what stands before it
 * @returns {number}
 */
function place(list, before) {
  let low = 0;
  for (let high = list.length; low < high; ) {
    const middle = (low + high) >> 1;
    if (before(list[middle])) low = middle + 1;
    else high = middle;
  }
  return low;
}

new Survey(/** @type {HTMLFormElement} */ (document.querySelector("form[data-survey]")));
