// Package place says how pins come onto a wheel. It holds values and functions
// of values; it knows neither a database nor pages.
//
// [Changeover] works out the fewest pulls and drives that turn one pinning on
// the wheel into another, in the order in which the wheel turns.
//
// A [Job] is one piece of work on a wheel, from its begin to its end; a [Work] is
// a job with all that says where it stands. What someone at the wheel says is a
// [Tap]. [Work.Take] says what it changes of the pins, [Job.Settle] what becomes
// of the job then, [Work.SetProgress] how far it has come. Which of the taps said
// before matter is decided here; whoever keeps them implements [Log], and is
// asked for those alone. What is left is never counted along: [Apart], and nothing
// else, compares the pins that are on the wheel with those that should be. So two
// people at both ends, a stop half way, or a tap that comes late or twice cannot
// put it wrong. Each tap has an id and a fingerprint by which it is known again.
//
// [OnWheel] is what is known of a wheel between jobs, [OnWheel.Task] what there is
// to do next, [Reading] what a proofreading came to, [Rate] how fast a crew works,
// [CheckWheelStays] which changes of a machine the pins on its wheel allow.
//
// What hands carry to the wheel is drawn in folders of their own: package sheets
// has the face at 1:1 and the lists, package cards the crank card, and package
// paper sets and writes the pages of both.
package place
