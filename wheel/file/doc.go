// Package file reads and writes the files of machines and pinnings.
//
// A reader is strict: unknown and doubled keys, wrong kinds of value and numbers
// that are not finite are refused, all of them at once, each with its place and
// what would be right. What is written is read back the same.
package file
