// @ts-check
// Files that are dropped anywhere on a page.

/**
 * Hands on what is dropped, and marks the place that it is meant for while
 * files are over the page.
 *
 * @param {HTMLElement} place
 * @param {(data: DataTransfer) => void} take
 */
export function onFilesDropped(place, take) {
  let inside = 0;
  const mark = () => place.classList.toggle("over", inside > 0);
  document.addEventListener("dragenter", (event) => {
    if (!carriesFiles(event)) return;
    inside++;
    mark();
  });
  document.addEventListener("dragleave", (event) => {
    if (!carriesFiles(event)) return;
    inside = Math.max(0, inside - 1);
    mark();
  });
  document.addEventListener("dragover", (event) => {
    if (carriesFiles(event)) event.preventDefault();
  });
  document.addEventListener("drop", (event) => {
    if (!carriesFiles(event)) return;
    event.preventDefault();
    inside = 0;
    mark();
    take(/** @type {DataTransfer} */ (event.dataTransfer));
  });
}

/**
 * @param {DragEvent} event
 * @returns {boolean}
 */
function carriesFiles(event) {
  return event.dataTransfer?.types.includes("Files") ?? false;
}
