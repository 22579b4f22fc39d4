// Package arrange sets a song on a machine's wheel: it takes a [Section] of
// the song, moves its melodic notes by a [Transpose], finds each note's place
// on the grid and a channel for it, and advances the channels so that what
// should sound together does. [Set] does all of it and says in a [Report] what
// became of every note.
//
// A step is 1/q of a quarter note. In the section that starts at tick t₀ a note
// at tick t stands at
//
//	x = (t − t₀) ÷ (ticks per quarter) × q
//
// steps, its aim is the nearest step, halves going up, brought to the turn, and
// its error is aim − x in milliseconds at the song's own tempo there. A note
// may so be moved past its section's last step. Where the section fills the
// turn that is step 0, where the music goes on; where it is shorter the note
// sounds one step after it, in the silence or in the next repetition.
//
// What setting must know of how the machine moves it asks through [Mechanics];
// it works out no mechanics itself. Which notes to change so that a tempo can be
// kept it leaves to package ease.
package arrange
