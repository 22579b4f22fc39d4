// Package window answers at which tempos visitors can turn a pinning, as a page
// and a command tell it: the window itself, worked out by [timing.Turn.Window],
// in beats and in turns of the crank; and what setting the pinning for a range of
// slow tempos gives, see [SetForSlow].
package window
