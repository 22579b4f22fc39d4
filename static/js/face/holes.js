// @ts-check
// The line of holes of one step, all rows in their order, drawn so that what is
// to be done differs by word and by shape.

const svgNS = "http://www.w3.org/2000/svg";
const across = 14; // holes in a line of the drawing
const pitch = 26;
const high = 46;

const shapes = {
  pull: "M0-8 8 6H-8Z",
  drive: "M0 8 8-6H-8Z",
};

/**
 * @param {string} name
 * @param {Record<string, string | number>} attributes
 * @param {string} [text]
 */
export function svg(name, attributes, text) {
  const element = document.createElementNS(svgNS, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  if (text !== undefined) element.textContent = text;
  return element;
}

/**
 * A drawing of a step: for each row pull, drive, stay or none.
 *
 * @param {{row: number}[]} rows
 * @param {("pull" | "drive" | "stay" | "none")[]} marks
 */
export function drawHoles(rows, marks) {
  const lines = Math.ceil(rows.length / across);
  const wide = Math.min(rows.length, across) * pitch;
  const words = rows.flatMap(({ row }, i) => (marks[i] === "pull" || marks[i] === "drive" ? [`${marks[i]} row ${row}`] : []));
  const drawing = svg("svg", { viewBox: `0 0 ${wide} ${lines * high}`, role: "img", "aria-label": `The line of holes: ${words.join(", ") || "nothing to do"}` });
  rows.forEach(({ row }, i) => {
    const mark = marks[i] ?? "none";
    const place = svg("g", { transform: `translate(${(i % across) * pitch + pitch / 2} ${Math.floor(i / across) * high + 22})`, class: `hole-${mark}` });
    if (mark === "pull" || mark === "drive") {
      place.append(svg("path", { d: shapes[mark] }), svg("text", { y: -12, class: "word" }, mark));
    } else {
      place.append(svg("circle", { r: mark === "stay" ? 5.5 : 3 }));
    }
    place.append(svg("text", { y: 20, class: "row-number" }, String(row)));
    drawing.append(place);
  });
  return drawing;
}

/** The shape of a hole that is read: a pin or none, as it should be or not. @param {boolean} pin @param {boolean} wrong */
export function drawHole(pin, wrong) {
  const drawing = svg("svg", { viewBox: "-10 -10 20 20", "aria-hidden": "true" });
  if (!wrong) drawing.append(svg("circle", { r: pin ? 6 : 3, class: pin ? "hole-stay" : "hole-none" }));
  else if (pin) drawing.append(svg("path", { d: "M-7-7H7V7H-7Z", class: "hole-extra" }));
  else drawing.append(svg("path", { d: "M-7-7 7 7M7-7-7 7", class: "hole-missing" }));
  return drawing;
}
