package arrange

// placedNote is a note that has a channel and, there, a pin of its own.
type placedNote struct {
	channel int32   // index in the machine file
	aim     int32   // the step at which it should sound, 0 … N−1
	weight  float64 // what leaving it out costs: the sum over the notes merged in it
	choices []int32 // the channels that may play it, channel among them, in file order; shared, not to be changed
	notes   int32   // how many notes of the song the pin sounds, itself and those merged in it
}
