// @ts-check

const query = window.matchMedia("(prefers-reduced-motion: reduce)");

/**
 * Says whether the reader has asked their system for less motion
 * (Media Queries Level 5, prefers-reduced-motion).
 *
 * @returns {boolean}
 */
export function prefersReducedMotion() {
  return query.matches;
}

/**
 * Calls back whenever that wish changes while the page is open.
 *
 * @param {(reduced: boolean) => void} listener
 * @returns {() => void} ends the calls
 */
export function onReducedMotionChange(listener) {
  /** @param {MediaQueryListEvent} event */
  const report = (event) => listener(event.matches);
  query.addEventListener("change", report);
  return () => query.removeEventListener("change", report);
}
