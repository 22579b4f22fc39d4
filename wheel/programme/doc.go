// Package programme answers what a day of songs for visitors adds up to. A
// [Programme] is an ordered list of pinnings with a tempo each; [Programme.Check]
// lists what is wrong with one, [Version.Follow] says which version a change
// makes of it, and [Apply] changes its order. [DayOf] works out the day: minutes,
// marbles, wear, changeovers, and a warning where something will not hold. What a
// day must know of mechanics it asks through [Mechanics]. [Share] says which
// songs could stand on one wheel together, and [Join] puts them on it.
package programme
