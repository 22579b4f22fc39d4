// @ts-check
// Folders that are dropped on a page.

const mostEntries = 200000; // more than any folder of songs has

/**
 * @typedef {{path: string, open: () => Promise<File>}} Found a file, and where in the folder it is
 * @typedef {{files: Found[], others: number, closed: {path: string, why: string}[], cut: boolean}} Looked
 */

/**
 * Starts to look for files in what was dropped. What a drop carries can be
 * asked for only while it is being dropped: this must be called then.
 *
 * @param {DataTransfer} data
 * @param {(name: string) => boolean} wanted tells files to find from others, which are counted
 * @param {AbortSignal} signal ends the search
 * @param {(entries: number) => void} tell is told how many files and folders were looked at
 * @returns {Promise<Looked>} with cut, where there is more than anybody would mean
 */
export function lookThrough(data, wanted, signal, tell) {
  const entries = [...data.items].filter((item) => item.kind === "file").map((item) => item.webkitGetAsEntry());
  if (entries.includes(null)) {
    return Promise.resolve({ ...among([...data.files], wanted), closed: [], cut: false });
  }
  return walk(/** @type {FileSystemEntry[]} */ (entries), wanted, signal, tell);
}

/**
 * Files picked, with their paths in the folder that was.
 *
 * @param {File[]} picked
 * @param {(name: string) => boolean} wanted
 * @returns {{files: Found[], others: number}}
 */
export function among(picked, wanted) {
  const files = picked.filter((file) => wanted(file.name));
  return {
    files: files.map((file) => ({ path: file.webkitRelativePath || file.name, open: async () => file })),
    others: picked.length - files.length,
  };
}

/**
 * @param {FileSystemEntry[]} waiting
 * @param {(name: string) => boolean} wanted
 * @param {AbortSignal} signal
 * @param {(entries: number) => void} tell
 * @returns {Promise<Looked>}
 */
async function walk(waiting, wanted, signal, tell) {
  /** @type {Looked} */
  const looked = { files: [], others: 0, closed: [], cut: false };
  let entries = 0;
  for (let entry = waiting.pop(); entry; entry = waiting.pop()) {
    signal.throwIfAborted();
    entries++;
    const path = entry.fullPath.replace(/^\//, "");
    if (entry.isDirectory) {
      tell(entries);
      try {
        const inside = await entriesOf(/** @type {FileSystemDirectoryEntry} */ (entry), mostEntries - entries - waiting.length);
        if (!inside) {
          looked.cut = true;
          continue;
        }
        for (const one of inside) waiting.push(one);
      } catch {
        looked.closed.push({ path, why: "the folder could not be opened" });
      }
    } else if (wanted(entry.name)) {
      const file = /** @type {FileSystemFileEntry} */ (entry);
      looked.files.push({ path, open: () => new Promise((resolve, reject) => file.file(resolve, reject)) });
    } else {
      looked.others++;
    }
  }
  return looked;
}

/**
 * Everything in a folder, which a browser gives by the hundred; null where it
 * is more than the most.
 *
 * @param {FileSystemDirectoryEntry} folder
 * @param {number} most
 * @returns {Promise<FileSystemEntry[] | null>}
 */
async function entriesOf(folder, most) {
  const reader = folder.createReader();
  /** @type {FileSystemEntry[]} */
  const all = [];
  for (;;) {
    const some = await new Promise((resolve, reject) => reader.readEntries(resolve, reject));
    if (some.length === 0) return all;
    if (all.length + some.length > most) return null;
    for (const one of some) all.push(one);
  }
}
