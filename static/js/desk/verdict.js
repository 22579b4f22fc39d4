// @ts-check
// The verdict beside the wheel: what the program says of the pins after each
// edit, and the marks that it leaves on the face.

import { joinStrip, markTempo } from "../lib/strip.js";
import { part } from "./page.js";
import { bpmOf } from "./fields.js";
import { sayAgain } from "./readout.js";

/**
 * @typedef {import("./page.js").WheelPage} WheelPage
 * @typedef {import("./desk.js").Verdict} Verdict
 * @typedef {import("../face/face.js").Mark} Mark
 */

/**
 * The findings, and the drops that are missed, by the index of their channels.
 *
 * @param {[string, string, number[]][]} rows  kind, channel, steps
 * @param {{channel: string, step: number}[]} missed
 * @param {Map<string, number>} across
 * @returns {Mark[]}
 */
export function marksOf(rows, missed, across) {
  const found = rows.flatMap(([kind, id, steps]) => steps.map((step) => ({ kind, channel: across.get(id) ?? -1, step })));
  const notHeard = missed.map(({ channel, step }) => ({ kind: "missed", channel: across.get(channel) ?? -1, step }));
  return [...found, ...notHeard];
}

/** Marks on the face what the verdict on the page has found. @param {WheelPage} page */
export function readMarks({ face, desk, missed }) {
  const verdict = /** @type {HTMLElement | null} */ (document.querySelector("#verdict [data-marks]"));
  face.setMarks(marksOf(JSON.parse(verdict?.dataset.marks ?? "[]"), missed, desk.pins.across));
  if (verdict?.dataset.stock) part("[data-stock-here]").textContent = verdict.dataset.stock;
}

/**
 * What an edit has made of the verdict, in a sentence.
 *
 * @param {string} made  as the program says it; empty where nothing changed
 * @param {string} words  the edit's, where it is known
 */
export function madeWords(made, words) {
  if (made) return `${made}${words ? ` (${words})` : ""}`;
  return words && `${words[0].toUpperCase()}${words.slice(1)}: the tempo to keep below stays`;
}

/**
 * What resolves a warning by another tempo sets it here: the page stays open, and
 * the focus is in the field that changes.
 */
function attachTempoLinks() {
  const field = /** @type {HTMLInputElement} */ (part("form.tempo #tempo"));
  part("#verdict").addEventListener("click", (event) => {
    const link = /** @type {HTMLElement} */ (event.target).closest(".warning a");
    if (!(link instanceof HTMLAnchorElement)) return;
    const tempo = new URL(link.href).searchParams.get("tempo");
    if (!tempo || new URL(link.href).pathname !== location.pathname) return;
    event.preventDefault();
    field.value = tempo;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.focus();
  });
}

/** The tempo can be dragged on the strip; the field is what is asked for. */
function attachStrip() {
  const field = /** @type {HTMLInputElement} */ (part("form.tempo #tempo"));
  const verdict = part("#verdict");
  const join = () => joinStrip(verdict, (bpm) => {
    field.value = String(bpm);
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
  field.addEventListener("input", () => {
    const bpm = bpmOf(field.value);
    if (bpm) markTempo(verdict, bpm);
  });
  document.body.addEventListener("htmx:afterSettle", join);
  join();
  return join;
}

/** Joins the part of the page to what takes a verdict. @param {WheelPage} page */
export function attachVerdict(page) {
  const verdict = part("#verdict");
  attachTempoLinks();
  const join = attachStrip();
  /** @type {{in: HTMLElement | null, html: string}} the list that was set last, and what it says */
  const listed = { in: null, html: "" };

  /** @param {Verdict} v */
  return (v) => {
    const { activeElement } = document;
    const focused = activeElement instanceof HTMLAnchorElement && verdict.contains(activeElement) ? activeElement : null;
    fill(verdict, v, listed);
    join();
    if (focused) sameLink(verdict, focused)?.focus({ preventScroll: true });
    if (page.ledBy && !page.ledBy.isConnected) {
      page.ledBy = sameLink(verdict, page.ledBy);
      page.ledBy?.setAttribute("aria-current", "true");
    }
    if (v.seq > page.judged) {
      page.judged = v.seq;
      part("[data-made]").textContent = madeWords(v.made, page.last.seq === v.seq ? page.last.words : "");
    }
    readMarks(page);
    sayAgain(page);
    page.section.dataset.judged = String(v.seq);
  };
}

/** @param {HTMLElement} verdict @param {Verdict} v @param {{in: HTMLElement | null, html: string}} listed */
function fill(verdict, v, listed) {
  if (!verdict.querySelector("[data-stands]")) {
    verdict.innerHTML = "<div data-stands></div><div data-listed></div>"; // there was no verdict
  }
  fillStands(/** @type {HTMLElement} */ (verdict.querySelector("[data-stands]")), v.stands);
  const list = /** @type {HTMLElement} */ (verdict.querySelector("[data-listed]"));
  if (list !== listed.in || v.listed !== listed.html) {
    const open = list.querySelector("details")?.open;
    list.innerHTML = v.listed;
    const all = list.querySelector("details");
    if (open && all) all.open = true; // who has opened the list goes on reading it
    listed.in = list;
    listed.html = v.listed;
  }
  part("#brief").innerHTML = v.brief;
}

/**
 * Writes what the verdict says above its list. A strip that shows the same as
 * before stays, so that a hand on it keeps hold.
 *
 * @param {HTMLElement} stands
 * @param {string} html
 */
function fillStands(stands, html) {
  const fresh = document.createElement("template");
  fresh.innerHTML = html;
  const shows = (/** @type {ParentNode} */ root) => /** @type {HTMLElement | null} */ (root.querySelector("[data-strip]"))?.dataset.shows;
  if (!shows(stands) || shows(stands) !== shows(fresh.content)) {
    const held = document.activeElement?.matches("#verdict .handle");
    stands.replaceChildren(fresh.content);
    if (held) /** @type {HTMLElement | null} */ (stands.querySelector(".handle"))?.focus({ preventScroll: true });
    return;
  }
  const [is, becomes] = [stands, fresh.content].map((root) => /** @type {HTMLElement} */ (root.querySelector("[data-marks]")));
  Object.assign(is.dataset, becomes.dataset);
  for (const name of ["warned", "highest", "figures", "counted"]) {
    const [old, now] = [is, becomes].map((root) => /** @type {Element} */ (root.querySelector(`[data-${name}]`)));
    old.replaceChildren(...now.childNodes);
  }
}

/**
 * The link of a finding in a list that was written again.
 *
 * @param {HTMLElement} verdict
 * @param {HTMLAnchorElement} link
 */
function sameLink(verdict, link) {
  const kind = (/** @type {Element} */ a) => a.querySelector("b")?.textContent;
  const links = /** @type {HTMLAnchorElement[]} */ ([...verdict.querySelectorAll("a[data-channel]")]);
  return links.find((a) => a.dataset.channel === link.dataset.channel && a.dataset.step === link.dataset.step && kind(a) === kind(link)) ?? null;
}
