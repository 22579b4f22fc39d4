// Package store keeps the machines, songs and pinnings of a workshop in one
// SQLite file.
//
// Every change is one transaction and is on disk when the call returns: the
// file is in write-ahead mode with synchronous = FULL, and one connection
// writes while others read. What is kept is what came in: machines as the text
// of their files, songs as the bytes of theirs, pinnings as their head and
// their pins. What can be worked out from those is not kept.
//
// Every edit of a pinning is kept too, in order, and is never changed or
// thrown away while the pinning is there: [Store.Edit], [Store.Undo],
// [Store.Redo] and [Store.ReturnTo] each add one. Package history says what it
// changes; the store loads what that takes, and writes what comes of it.
//
// What is on a machine's wheel is known hole by hole ([Store.OnWheel]): someone
// says what it is, and from then on every tap at the wheel ([Store.Tap]) that
// pulls, drives or corrects is kept once, in order. What is left of a changeover
// is its target compared with those pins, never a count.
//
// Errors that the person at the bench can do something about are [wheel.Error],
// and say what: errors.Is tells their kind.
package store
