package visitors

// What a sensor sends, and what a page is sent of a crank.
type (
	TurnRequest = turnRequest
	CrankAnswer = crankAnswer
)

// FormOf is a programme as the fields of its page have it.
var FormOf = formOf
