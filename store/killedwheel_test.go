package store

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

// killedTapperEnv makes the test program drive pins into the wheel of the
// database it names until it is killed.
const killedTapperEnv = "PINWRIGHT_STORE_TEST_TAPS_TO"

// tapUntilKilled does step after step of work 2, and says so when the call has
// returned.
func tapUntilKilled(path string) {
	ctx := context.Background()
	s, err := Open(ctx, path, time.Now)
	for step := 0; err == nil && step < 256; step++ {
		if _, err = s.Tap(ctx, 2, done(fmt.Sprint("t", step), step, "a")); err == nil {
			fmt.Println("done", step)
		}
	}
	fmt.Println("error", err)
	os.Exit(1)
}

// As for edits: what was acknowledged outlives a program that is killed.
func TestKilledProgramKeepsEveryStepThatWasDone(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "pinwright.db")
	s := openAt(t, path)
	w := workshop{s: s, machine: addMachine(t, s, smallMachine("Hailstone", 1))}
	w.new = addPinning(t, s, w.machine, 0, smallPinning("New", 256))
	must(t, s.SayOnWheel(ctx, w.machine, 0))
	j := w.begin(t)
	must(t, s.Close())

	self, err := os.Executable()
	must(t, err)
	tapper := exec.Command(self)
	tapper.Env = append(os.Environ(), killedTapperEnv+"="+path)
	out, err := tapper.StdoutPipe()
	must(t, err)
	must(t, tapper.Start())
	last, said := -1, bufio.NewScanner(out)
	for said.Scan() {
		var step int
		if _, err := fmt.Sscanf(said.Text(), "done %d", &step); err != nil {
			t.Fatalf("it says %q", said.Text())
		}
		last = step
		if step == 25 {
			must(t, tapper.Process.Kill())
		}
	}
	_ = tapper.Wait()

	w.s = openAt(t, path)
	checkIntegrity(t, w.s)
	on := w.on(t)
	if n := len(on.File.Pins); n != last+1 && n != last+2 { // it may have died before it said so
		t.Errorf("%d pins are on the wheel; %d steps were acknowledged", n, last+1)
	}
	if on.UnderWay == nil || on.UnderWay.ID != j.ID || last < 25 {
		t.Errorf("the work is %+v after step %d", on.UnderWay, last)
	}
}
