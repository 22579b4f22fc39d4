package webtest

import (
	"encoding/json"
	"net/http"
	"testing"

	"pinwright/web/page"
)

// Strikes are the strikes that an address answers with.
func (a *App) Strikes(t testing.TB, path string) page.StrikesAnswer {
	t.Helper()
	status, body := a.Get(t, path)
	var answer page.StrikesAnswer
	if err := json.Unmarshal([]byte(body), &answer); err != nil || status != http.StatusOK {
		t.Fatalf("%s: %d: %v: %.200s", path, status, err, body)
	}
	return answer
}
