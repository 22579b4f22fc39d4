// Package pinnings serves the pages of pinnings: the list, the wheel's page on
// which pins are driven and pulled, and a pinning on another machine.
package pinnings
