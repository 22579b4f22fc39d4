package atwheel

// What a page sends and is sent.
type (
	JobState   = jobState
	StopState  = stopState
	TapRequest = tapRequest
)
