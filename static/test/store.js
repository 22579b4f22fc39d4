// A browser's storage, for tests.
export class FakeStore {
  /** @param {Record<string, string>} [entries] */
  constructor(entries = {}) {
    this.entries = new Map(Object.entries(entries));
    this.full = false;
  }

  get length() {
    return this.entries.size;
  }

  key(i) {
    return [...this.entries.keys()][i] ?? null;
  }

  getItem(key) {
    return this.entries.get(key) ?? null;
  }

  setItem(key, value) {
    if (this.full) throw new DOMException("full", "QuotaExceededError");
    this.entries.set(key, String(value));
  }

  removeItem(key) {
    this.entries.delete(key);
  }
}
