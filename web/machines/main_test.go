package machines_test

import (
	"os"
	"testing"

	"pinwright/web/browsertest"
)

func TestMain(m *testing.M) { os.Exit(browsertest.Main(m)) }
