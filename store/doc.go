// Package store keeps the machines, songs and pinnings of a workshop in one
// SQLite file.
//
// Every change is one transaction and is on disk when the call returns: the
// file is in write-ahead mode with synchronous = FULL, and one connection
// writes while others read. What is kept is what came in, machines and
// pinnings as the text of their files, songs as the bytes of theirs. What can
// be worked out from those is not kept.
//
// Errors that the person at the bench can do something about are [Error],
// and say what: errors.Is tells their kind.
package store
