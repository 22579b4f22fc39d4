// @ts-check
// Menus that are drawn over the page: they close by Escape, and when someone
// goes on elsewhere.

/** @param {HTMLDetailsElement} menu */
export function closesElsewhere(menu) {
  menu.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !menu.open) return;
    event.stopPropagation();
    menu.open = false;
    menu.querySelector("summary")?.focus();
  });
  menu.addEventListener("focusout", ({ relatedTarget }) => {
    if (relatedTarget instanceof Node && !menu.contains(relatedTarget)) menu.open = false;
  });
  document.addEventListener("pointerdown", ({ target }) => {
    if (menu.open && target instanceof Node && !menu.contains(target)) menu.open = false;
  });
}
