// @ts-check
// What was done here and the program has not taken yet. Each item has an id and
// is kept by the browser until the program has it, so that it outlives a program
// that is stopped and a page that is closed. It may be sent more than once; the
// program knows it by its id.

import { newID } from "./ids.js";

/** @typedef {{id: string, at: number}} Kept   at: milliseconds since 1970; gives the order */

/**
 * What of a browser's storage is used: each item by itself, under a prefix and
 * its id, so that two pages do not undo each other's.
 *
 * @typedef {Pick<Storage, "length" | "key" | "getItem" | "setItem" | "removeItem">} Store
 */

/** @template {Kept} T */
export class Outbox {
  /**
   * @param {string} prefix  of the keys
   * @param {(item: any) => boolean} valid  tells an item from what something else left under the prefix
   * @param {{store?: () => Store, now?: () => number}} [from]
   */
  constructor(prefix, valid, { store = () => localStorage, now = Date.now } = {}) {
    this.prefix = prefix;
    this.valid = valid;
    this.store = store;
    this.now = now;
    this.keeps = true; // the browser keeps what is put here
    /** @type {Set<string>} ids of items that it would not keep */
    this.unkept = new Set();
    /** @type {Set<string>} ids of items that are on their way, without an answer */
    this.onTheWay = new Set();
    /** @type {T[]} in the order they were made */
    this.items = this.stored();
    /** @type {Set<string>} ids of items that may have arrived: an earlier page may have sent its own */
    this.tried = new Set(this.items.map((item) => item.id));
    this.last = this.items.at(-1)?.at ?? 0;
  }

  /**
   * Puts something in the box: after all that is in it, whatever the clock says.
   *
   * @param {Omit<T, "id" | "at">} what
   * @returns {T}
   */
  add(what) {
    this.last = Math.max(this.last + 0.001, this.now());
    const item = /** @type {T} */ (/** @type {unknown} */ ({ ...what, id: newID(), at: this.last }));
    this.items.push(item);
    try {
      this.store().setItem(this.prefix + item.id, JSON.stringify(item));
    } catch {
      this.keeps = false; // it lasts as long as the page
      this.unkept.add(item.id);
    }
    return item;
  }

  /** The first item that is not on its way. @returns {T | undefined} */
  get next() {
    return this.items.find((item) => !this.onTheWay.has(item.id));
  }

  /** An item goes out. @param {T} item */
  sending({ id }) {
    this.onTheWay.add(id);
    this.tried.add(id);
  }

  /** The connection is gone: what has no answer must be sent again. */
  lost() {
    this.onTheWay.clear();
  }

  /** @param {T} item whether it may have arrived already */
  mayHaveArrived({ id }) {
    return this.tried.has(id);
  }

  /**
   * The program has taken an item or refused it, or it was taken back before it
   * was sent.
   *
   * @param {string} id
   * @returns {T | null} null where it is none of these
   */
  settle(id) {
    const i = this.items.findIndex((item) => item.id === id);
    if (i < 0) return null;
    const [item] = this.items.splice(i, 1);
    for (const ids of [this.unkept, this.onTheWay, this.tried]) ids.delete(id);
    try {
      this.store().removeItem(this.prefix + id);
    } catch {
      // nothing was kept
    }
    return item;
  }

  /** Whether a key of the storage is one of these items'. @param {string | null} key */
  owns(key) {
    return key?.startsWith(this.prefix) ?? false;
  }

  /** Another page has added an item or settled one: takes what is kept now. */
  reload() {
    const here = this.items.filter((item) => this.unkept.has(item.id));
    const known = new Set(this.items.map((item) => item.id));
    this.items = inOrder([...this.stored(), ...here]);
    for (const { id } of this.items) if (!known.has(id)) this.tried.add(id);
  }

  /** @returns {T[]} */
  stored() {
    /** @type {T[]} */
    const items = [];
    try {
      const store = this.store();
      for (const key of keysOf(store)) {
        if (!this.owns(key)) continue;
        const item = parsed(store.getItem(key));
        if (typeof item?.id === "string" && this.valid(item)) items.push(item);
        else store.removeItem(key);
      }
    } catch {
      // a browser that keeps nothing: there are none
    }
    return inOrder(items);
  }
}

/**
 * How long to wait before the next attempt: longer after each that failed.
 *
 * @param {number} failed  attempts that failed since the last good one
 * @param {{firstMS: number, longestMS: number}} waits
 */
export function retryMS(failed, { firstMS, longestMS }) {
  return Math.min(longestMS, firstMS * 2 ** Math.max(0, Math.min(failed - 1, 20)));
}

/** @template {Kept} T @param {T[]} items */
function inOrder(items) {
  return items.sort((a, b) => a.at - b.at);
}

/** @param {Store} store */
function keysOf(store) {
  return Array.from({ length: store.length }, (_, i) => store.key(i) ?? "");
}

/** @param {string | null} text */
function parsed(text) {
  try {
    return JSON.parse(text ?? "null");
  } catch {
    return null;
  }
}
