// Package machines serves the pages of machines: their list, one machine with
// its channels and lanes, its file brought in and taken away.
package machines
