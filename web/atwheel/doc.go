// Package atwheel serves the pages for hands at the wheel: what is on it, the
// changeover to another pinning, the work step by step, proofreading and sheets.
package atwheel
