// Package ease decides which notes of a song are moved or left out so that the
// rest keep apart on a wheel, at the least cost. It knows steps, channels and
// costs, and nothing of songs, tempos or marbles: whoever asks has worked out
// beforehand, for the tempo wanted, how far apart the notes of a channel have to
// be and which differences in steps two channels may not have. See [Problem] for
// the rules and [Solve] for the answer.
//
// # How an answer is found
//
// Each stage hands on only what it could not settle.
//
//  1. build.go writes the [Problem] down as a model: the notes with their
//     candidates, and for each candidate those of other notes that it excludes.
//     Gap, order and meetings are all of this one form. Steps that more
//     candidates want than may be tripped at once are full steps and stand
//     beside it. It looks only as far round each pin as the rules reach. A
//     problem with too many exclusions goes to firstcome.go, which places notes
//     one after the other: it breaks no rule and proves nothing.
//
//  2. solver.go leaves full steps out at first, as few are ever overfilled, and
//     counts only those that an answer did overfill, round by round. An answer
//     that costs the least with some of them, and overfills none of the others,
//     costs the least.
//
//  3. presolve.go takes out candidates that another one of the same note and
//     channel makes needless, and notes whose cheapest candidate excludes
//     nothing that is left. Most notes end here. What it takes out changes no
//     least cost.
//
//  4. component.go splits what is left into components: notes that, over others,
//     have to do with each other. Channels that no lane and no note ties together
//     fall apart here. Components are answered by themselves and their costs add
//     up.
//
//  5. A component on one channel, in which no two notes have one aim and no step
//     is full, goes to chain.go, an exact dynamic program: all that matters of
//     the notes so far is where the last of them stands. It tries each way to
//     begin after the seam, so the seam is exact as well. It takes time in
//     proportion to the candidates, once for each candidate near the seam.
//
//  6. Any other component goes to sweep.go, a dynamic program over its notes in
//     the order of the wheel. A state is the set of later candidates that the
//     notes so far exclude (bits.go); of equal states the cheaper is kept, and of
//     the rest those that no cheaper one makes needless (states.go). What the
//     first notes exclude of the last is carried along, so the seam is exact.
//     While all states can be kept the answer costs the least. Where there are
//     too many the dearest are dropped, and the answer is only a good one.
//
//  7. prove.go sweeps to and fro, ever wider, and merges states instead of
//     dropping them. A merged state excludes less than either, so what comes out
//     is a lower bound; what one sweep says of the notes behind it bounds the
//     rest for the next. Often that ends in a proof.
//
//  8. What is not proved is improved in turns until time is over: search.go
//     answers a few notes again at a time, the others as they are, by exact
//     sweeps; and a bound is raised, by decompose.go (several views of the
//     component share its costs: Lagrangean decomposition) or, where full steps
//     are to blame, by relax.go (a price for each full step: Lagrangean
//     relaxation). ascent.go holds how far the two have come.
//
// # What is guaranteed
//
// An answer breaks no rule, whatever the limits. It costs the least, round the
// seam as well, where all of it was settled by stages 2 to 5: the problem has not
// too many exclusions, and each component is on one channel, has no two notes of
// one aim, and has no candidate on a step that had to be counted as full.
// Otherwise it is the best that was found, LowerBound is proved, and Exact says
// whether the two have met, but for rounding and a millionth. Given time enough, the same problem has the
// same answer.
//
// # What it takes
//
// An exclusion takes 4 bytes from either side, up to 12 million of them. A sweep
// keeps up to 256 states after each note for an answer and 4,096 for a proof, of
// some words each, and a link of 8 bytes for each of them. Proving one component
// tries at most 4 million states in the first go. Stages 1 to 5 take
// milliseconds for 1,500 notes on 28 channels, the others up to seconds. The
// context is looked at after every note of a sweep.
package ease
