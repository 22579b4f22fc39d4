// @ts-check
// The list of pinnings: a search that leaves the rows whose names have the words.

/** @param {string} text */
const plain = (text) => text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();

/** @param {HTMLFormElement} form */
function attachSearch(form) {
  const field = /** @type {HTMLInputElement} */ (form.querySelector("input"));
  const shown = /** @type {HTMLElement} */ (form.querySelector("[data-shown]"));
  const rows = [.../** @type {NodeListOf<HTMLTableRowElement>} */ (document.querySelectorAll("[data-pinnings] tbody tr"))];
  const names = rows.map((row) => plain(row.querySelector("th")?.textContent ?? ""));
  const search = () => {
    const words = plain(field.value).split(/\s+/).filter(Boolean);
    let n = 0;
    rows.forEach((row, i) => {
      row.hidden = !words.every((word) => names[i].includes(word));
      if (!row.hidden) n++;
    });
    shown.textContent = words.length ? `${n} of ${rows.length} pinnings` : "";
  };
  field.addEventListener("input", search);
  form.addEventListener("submit", (event) => event.preventDefault());
  search(); // the browser may have kept what was written
}

const form = document.querySelector("[data-search]");
if (form instanceof HTMLFormElement) attachSearch(form);
