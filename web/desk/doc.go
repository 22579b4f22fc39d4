// Package desk lets several people work on one pinning at once, each in a
// window of a browser.
//
// A pinning that is open in some window lies on a desk: its pins on a turn of
// the wheel, and the clients that have it open. [Desks] has all of them. A
// client sends a [Request], and everything that is asked of one pinning is done
// in one order, which is that of the edits kept: the store decides what an edit
// changes (package history), the desk makes the same changes on its turn, and
// every client is sent the edit, the new verdict and the new state.
//
// A client that was away asks for what it has missed since the last edit that it
// saw. One that cannot keep up is disconnected, and comes back in that way.
//
// Nothing here knows how messages travel: [Client.Messages] are values that
// have a JSON form, and whoever owns the connection sends them.
package desk
