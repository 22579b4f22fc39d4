// Package limits serves the page that says what limits a pinning, and what a
// mend would win.
package limits
