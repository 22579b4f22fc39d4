package atwheel_test

import (
	"encoding/json"
	"os"
	"testing"

	"pinwright/web/atwheel"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(browsertest.Main(m)) }

// sendTap sends a tap as the page of a job does. It returns the status, where the
// work stands then, and what is wrong where the tap is refused.
func sendTap(t *testing.T, a *webtest.Wheel, job string, tap any) (int, atwheel.JobState, string) {
	t.Helper()
	status, body := a.SendTap(t, job, tap)
	var answer struct {
		atwheel.JobState
		Says string `json:"problem"`
	}
	if err := json.Unmarshal([]byte(body), &answer); err != nil {
		t.Fatalf("%d: %s: %v", status, body, err)
	}
	return status, answer.JobState, answer.Says
}
