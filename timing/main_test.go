package timing

import (
	"flag"
	"os"
	"testing"
)

// The properties are cheap to try; a hundred tries, the default, would leave
// the rarer rules untouched in some runs.
func TestMain(m *testing.M) {
	if f := flag.Lookup("rapid.checks"); f != nil && f.Value.String() == "100" {
		_ = f.Value.Set("1500")
	}
	os.Exit(m.Run())
}

// floor is how much a property has to have seen at least. With -short rapid
// tries a fifth as often.
func floor(n int) int {
	if testing.Short() {
		return n / 10
	}
	return n
}
