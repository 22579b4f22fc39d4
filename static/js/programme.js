// @ts-check
// The programme page: songs are dragged to another place by their grips. The
// buttons Up and Down do the same without a script.

const form = /** @type {HTMLFormElement | null} */ (document.querySelector("[data-programme]"));
if (form) joinGrips(form);

/** @param {HTMLFormElement} form */
function joinGrips(form) {
  const list = /** @type {HTMLElement} */ (form.querySelector(".songs"));
  const says = /** @type {HTMLElement} */ (form.querySelector("[data-says]"));
  const songs = () => [...list.children];
  for (const grip of /** @type {NodeListOf<HTMLElement>} */ (list.querySelectorAll("[data-grip]"))) {
    const song = /** @type {HTMLElement} */ (grip.closest(".song"));
    grip.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      event.preventDefault();
      drag(list, song, event.pointerId, (before) => {
        if (songs().every((other, i) => other === before[i])) return;
        says.textContent = `${song.dataset.song} is now song ${songs().indexOf(song) + 1}.`;
        send(form, "order");
      });
    });
  }
}

/**
 * Follows a pointer with a song until it is let go. A song that changes places
 * leaves the document for a moment and would lose a captured pointer, so it is
 * the document that listens.
 *
 * @param {HTMLElement} list
 * @param {HTMLElement} song
 * @param {number} pointer
 * @param {(before: Element[]) => void} done with the order at the start
 */
function drag(list, song, pointer, done) {
  const before = [...list.children];
  const over = new AbortController();
  const { signal } = over;
  const mine = (/** @type {PointerEvent} */ event) => event.pointerId === pointer;
  song.classList.add("dragged");
  const end = (/** @type {boolean} */ keep) => {
    over.abort();
    song.classList.remove("dragged");
    if (keep) done(before);
    else list.append(...before);
  };
  document.addEventListener(
    "pointermove",
    (event) => {
      if (!mine(event)) return;
      const after = [...list.children].find((other) => other !== song && event.clientY < middleOf(other));
      if (song.nextElementSibling !== (after ?? null)) list.insertBefore(song, after ?? null);
    },
    { signal },
  );
  document.addEventListener("pointerup", (event) => mine(event) && end(true), { signal });
  document.addEventListener("pointercancel", (event) => mine(event) && end(false), { signal });
  document.addEventListener("keydown", (event) => event.key === "Escape" && end(false), { signal });
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
}
