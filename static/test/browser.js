// As much of a browser as the desk and the taps need: storage, a clock that the
// test moves, sockets and requests that the test answers.

import { mock } from "node:test";

import { FakeStore } from "./store.js";

class FakeSocket extends EventTarget {
  static OPEN = 1;
  /** @type {FakeSocket[]} the connections that were made, the last at the end */
  static all = [];

  constructor(url) {
    super();
    this.url = url;
    this.readyState = 0;
    this.sent = [];
    FakeSocket.all.push(this);
  }

  send(text) {
    this.sent.push(JSON.parse(text));
  }

  close() {
    if (this.readyState === 3) return;
    this.readyState = 3;
    this.dispatchEvent(new Event("close"));
  }

  /** The program accepts the connection. */
  accept() {
    this.readyState = 1;
    this.dispatchEvent(new Event("open"));
  }

  /** The program says something. */
  say(message) {
    this.dispatchEvent(new MessageEvent("message", { data: JSON.stringify(message) }));
  }

  /** The edits that were sent over it. */
  get edits() {
    return this.sent.filter((m) => m.do === "edit");
  }
}

/** Puts the fakes in place of a browser's own until the test ends. */
export function fakeBrowser(t, { store = new FakeStore() } = {}) {
  FakeSocket.all = [];
  mock.timers.enable({ apis: ["setTimeout", "setInterval"] });
  const page = new EventTarget();
  const fakes = {
    localStorage: store,
    WebSocket: FakeSocket,
    document: Object.assign(new EventTarget(), { hidden: false }),
    addEventListener: page.addEventListener.bind(page),
    dispatchEvent: page.dispatchEvent.bind(page),
  };
  const had = Object.keys(fakes).map((name) => [name, Object.getOwnPropertyDescriptor(globalThis, name)]);
  for (const [name, value] of Object.entries(fakes)) Object.defineProperty(globalThis, name, { value, configurable: true, writable: true });
  t.after(() => {
    mock.timers.reset();
    for (const [name, was] of had) {
      if (was) Object.defineProperty(globalThis, name, was);
      else delete globalThis[name];
    }
  });
  return { store, page, tick: (ms) => mock.timers.tick(ms), get socket() { return FakeSocket.all.at(-1); } };
}
