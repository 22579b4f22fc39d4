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
