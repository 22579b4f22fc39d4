package songs

// What the tests of the pages ask for by name.
const (
	SurveyFiles = surveyFiles
	MostPath    = mostPath
)

var ReadDecision = readDecision
