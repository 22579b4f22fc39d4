package store

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// killedWriterEnv makes the test program write to the database it names until
// it is killed.
const killedWriterEnv = "PINWRIGHT_STORE_TEST_WRITES_TO"

// writeUntilKilled adds pinnings, and says so on a line each when the call
// has returned. Every fourth it changes too, and says so.
func writeUntilKilled(path string) {
	ctx := context.Background()
	fail := func(err error) {
		fmt.Println("error", err)
		os.Exit(1)
	}
	s, err := Open(ctx, path, time.Now)
	if err != nil {
		fail(err)
	}
	machines, err := s.Machines(ctx)
	if err != nil {
		fail(err)
	}
	for i := 0; ; i++ {
		title := fmt.Sprint("Pinning ", os.Getpid(), " ", i)
		id, err := s.AddPinning(ctx, machines[0].ID, 0, smallPinning(title, i%200))
		if err != nil {
			fail(err)
		}
		fmt.Println("added", id, i%200)
		if i%4 == 0 {
			if err := s.ReplacePinning(ctx, id, 1, smallPinning(title, 256)); err != nil {
				fail(err)
			}
			fmt.Println("changed", id, 256)
		}
	}
}

// What SQLite promises ("Write-Ahead Logging", "PRAGMA synchronous"): a commit
// that has returned outlives the program. The disk itself is trusted here.
func TestAKilledProgramLosesNothingItAcknowledged(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "pinwright.db")
	s := openAt(t, path)
	addMachine(t, s, smallMachine("Hailstone", 1))
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	pins := map[int64]int{} // by pinning, the last acknowledged
	for _, lines := range []int{1, 7, 40, 150} {
		killAfter(t, path, lines, pins)
		s := openAt(t, path)
		checkIntegrity(t, s)
		for id, want := range pins {
			p, err := s.Pinning(ctx, id)
			if err != nil {
				t.Fatal(err)
			}
			// The program may have changed a pinning and died before it said so.
			if got := len(p.File.Pins); got != want && (got != 256 || p.Revision != 2) {
				t.Errorf("pinning %d has %d pins, want the %d acknowledged", id, got, want)
			}
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if len(pins) < 100 {
		t.Errorf("only %d pinnings were ever acknowledged", len(pins))
	}
}

// killAfter runs a writer, kills it after so many acknowledgements, and notes
// them all.
func killAfter(t *testing.T, path string, lines int, pins map[int64]int) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	writer := exec.Command(self)
	writer.Env = append(os.Environ(), killedWriterEnv+"="+path)
	out, err := writer.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := writer.Start(); err != nil {
		t.Fatal(err)
	}
	said := bufio.NewScanner(out)
	for n := 0; said.Scan(); n++ {
		var what string
		var id int64
		var count int
		if _, err := fmt.Sscan(said.Text(), &what, &id, &count); err != nil || what == "error" {
			t.Errorf("the writer says %q", said.Text())
		}
		pins[id] = count
		if n == lines {
			if err := writer.Process.Kill(); err != nil { // SIGKILL
				t.Error(err)
			}
		}
	}
	if err := writer.Wait(); err == nil || !strings.Contains(err.Error(), "killed") {
		t.Errorf("the writer ended by itself: %v", err)
	}
}
