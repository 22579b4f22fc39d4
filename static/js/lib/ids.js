// @ts-check
// Names for what is made here.

/** One that nothing else has. crypto.randomUUID is there on secure pages alone. */
export function newID() {
  return [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
}
