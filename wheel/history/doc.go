// Package history says what an edit of a pinning does: what it changes where
// others have edited meanwhile, what undo takes back, how to return to an
// earlier state, and which states have names.
//
// The history of a pinning is a [Log] of edits, 1, 2, 3 …, to which edits are
// added and of which none is ever changed or removed. An [Edit] lists the holes
// it changed, with what they held and what they hold. Three kinds go back to
// another edit, and are edits too: undo, redo and return. So nothing is lost,
// and undo takes back a return like any other edit.
//
// An edit is made on a base, the last edit that its sender had seen, and may
// arrive after edits of others. [Pinning.Merge] decides hole by hole: a change
// is held back, as a [Conflict], only if someone else has changed the same hole
// since then and the two outcomes differ.
//
// Each edit carries its [Stacks], the tops of what undo and redo would take
// next. What lies below a top is what the edit before it carries, so no history
// is ever scanned to undo.
//
// Nothing here reads or writes: whoever keeps the history implements [Log],
// which is asked for the holes and edits in question and no more, opens a
// [Pinning], and keeps the [Entry] that comes back.
package history
