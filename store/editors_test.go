package store

import (
	"bufio"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/history"
)

// killedEditorEnv makes the test program edit the pinning 1 of the database it
// names, until it is killed.
const killedEditorEnv = "PINWRIGHT_STORE_TEST_EDITS"

// longRunEnv sets how many rounds of killing there are and how many thousand
// edits each of two writers makes, for a run longer than the usual one.
const longRunEnv = "PINWRIGHT_STORE_LONG"

// rounds is how long to run: usually few, more if asked.
func rounds(t *testing.T, usually int) int {
	t.Helper()
	asked := os.Getenv(longRunEnv)
	if asked == "" {
		return usually
	}
	n, err := strconv.Atoi(asked)
	if err != nil {
		t.Fatalf("%s is %q; it should be a number of rounds", longRunEnv, asked)
	}
	return n
}

// editor is one of those who edit a pinning. Its edits are numbered, so that
// their order can be told.
type editor struct {
	s    *Store
	name string
	n    int
	base int64
	rng  *rand.Rand
	wear float64 // the part of edits that are sent twice
}

// next makes one edit of any sort and returns it as it is kept.
func (w *editor) next(ctx context.Context) (history.Edit, error) {
	id := fmt.Sprint(w.name, "-", w.n)
	w.n++
	send := func() (history.Edit, error) {
		pin := wheel.Pin{Channel: string(rune('a' + w.rng.IntN(4))), Step: w.rng.IntN(16)}
		other := wheel.Pin{Channel: string(rune('a' + w.rng.IntN(4))), Step: w.rng.IntN(16), Aim: wheel.AimAt(w.rng.Float64())}
		n := history.NewEdit{ID: id, Base: w.base, By: w.name, Kind: "drive", Words: "drive a pin", Changes: []wheel.PinChange{wheel.Drive(pin)}}
		if w.rng.IntN(3) == 0 {
			n.Changes[0] = wheel.Pull(pin)
		}
		if w.rng.IntN(4) == 0 && (other.Channel != pin.Channel || other.Step != pin.Step) {
			n.Changes = append(n.Changes, wheel.Drive(other))
		}
		e, err := w.s.Edit(ctx, 1, n)
		if err == nil && w.rng.Float64() < w.wear {
			again, err := w.s.Edit(ctx, 1, n)
			if err != nil || again.Seq != e.Seq {
				return e, fmt.Errorf("sent again, edit %d is %d (%v)", e.Seq, again.Seq, err)
			}
		}
		return e, err
	}
	var e history.Edit
	var err error
	switch w.rng.IntN(10) {
	case 0, 1:
		e, err = w.s.Undo(ctx, 1, 0, id, w.name)
	case 2:
		e, err = w.s.Redo(ctx, 1, 0, id, w.name)
	default:
		e, err = send()
	}
	if errors.Is(err, wheel.ErrConflict) { // nothing to undo or redo
		e, err = send()
	}
	if w.rng.IntN(10) == 0 { // it hears of the others now and then
		w.base = max(w.base, e.Seq)
	}
	return e, err
}

// editUntilKilled edits, and says so on a line each when the call has returned.
func editUntilKilled(path string) {
	ctx := context.Background()
	s, err := Open(ctx, path, time.Now)
	if err == nil {
		w := &editor{s: s, name: fmt.Sprint("p", os.Getpid()), rng: rand.New(rand.NewPCG(uint64(os.Getpid()), 0))}
		for {
			var e history.Edit
			if e, err = w.next(ctx); err != nil {
				break
			}
			fmt.Println("kept", e.Seq, e.ID)
		}
	}
	fmt.Println("error", err)
	os.Exit(1)
}

// checkHistory follows the whole history of pinning 1 in its own way, holds
// the pins against it, and returns every edit by its sender's id.
func checkHistory(t *testing.T, s *Store, start []wheel.Pin) map[string]int64 {
	t.Helper()
	ctx := context.Background()
	state := stateOf(start)
	byID := map[string]int64{}
	last := map[string]int{}
	var all []history.Edit
	for {
		part, err := s.Edits(ctx, 1, int64(len(all)), 1000)
		if err != nil {
			t.Fatal(err)
		}
		if len(part) == 0 {
			break
		}
		all = append(all, part...)
	}
	for i, e := range all {
		if e.Seq != int64(i+1) {
			t.Fatalf("edit %d stands where %d should", e.Seq, i+1)
		}
		name, number, _ := strings.Cut(e.ID, "-")
		n, err := strconv.Atoi(number)
		if before, any := last[name]; err != nil || byID[e.ID] != 0 || any && n <= before {
			t.Fatalf("edit %d is %s, which follows number %d of the same sender", e.Seq, e.ID, before)
		}
		last[name], byID[e.ID] = n, e.Seq
		for _, c := range e.Changes {
			was, now := wheel.Pin{Channel: c.Channel, Step: c.Step, Aim: c.Was.Aim}, wheel.Pin{Channel: c.Channel, Step: c.Step, Aim: c.Now.Aim}
			if state[was] != c.Was.Pin || c.Was == c.Now {
				t.Fatalf("edit %d makes %s of %s, and there it is not", e.Seq, c.Now, c.Was)
			}
			delete(state, was)
			if c.Now.Pin {
				state[now] = true
			}
		}
	}
	p, err := s.Pinning(ctx, 1)
	if err != nil || !maps.Equal(stateOf(p.File.Pins), state) || p.Pins != len(state) || p.Seq != int64(len(all)) {
		t.Fatalf("the pinning has %d pins after edit %d (%v); the history makes %d after %d", p.Pins, p.Seq, err, len(state), len(all))
	}
	return byID
}

// checkUndo goes ten edits back and as many on again.
func checkUndo(t *testing.T, s *Store, name string) {
	t.Helper()
	ctx := context.Background()
	before, err := s.Pinning(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	undone := 0
	for ; undone < 10; undone++ {
		state, err := s.EditState(ctx, 1)
		if err != nil {
			t.Fatal(err)
		}
		if state.Undo == nil {
			break
		}
		if _, err := s.Undo(ctx, 1, state.Undo.Seq, fmt.Sprint(name, "-", undone), ""); err != nil {
			t.Fatal(err)
		}
		want, err := s.PinningAt(ctx, 1, state.Undo.Seq-1)
		if err != nil {
			t.Fatal(err)
		}
		if is, err := s.Pinning(ctx, 1); err != nil || !maps.Equal(stateOf(is.File.Pins), stateOf(want.Pins)) {
			t.Fatalf("with edit %d taken back it is other than before that (%v)", state.Undo.Seq, err)
		}
	}
	for i := range undone {
		if _, err := s.Redo(ctx, 1, 0, fmt.Sprint(name, "-", undone+i), ""); err != nil {
			t.Fatal(err)
		}
	}
	if is, err := s.Pinning(ctx, 1); err != nil || !maps.Equal(stateOf(is.File.Pins), stateOf(before.File.Pins)) {
		t.Fatalf("%d edits undone and redone, it is not the same (%v)", undone, err)
	}
}

// Two programs edit one pinning and are killed at random moments, again and
// again. What SQLite promises ("Write-Ahead Logging", "PRAGMA synchronous"): a
// commit that has returned outlives the program.
func TestKilledEditorsLoseNoEditTheyWereToldIsKept(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pinwright.db")
	s := openAt(t, path)
	start := smallPinning("Mill Race", 40)
	addPinning(t, s, addMachine(t, s, smallMachine("Hailstone", 4)), 0, start)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	told := map[string]int64{}
	begun := time.Now()
	kept, unsaid := 0, 0
	n := rounds(t, 3)
	for round := range n {
		var both sync.WaitGroup
		var said [2]map[string]int64
		for i := range said {
			after := time.Duration(50+rng.IntN(250)) * time.Millisecond
			both.Go(func() { said[i] = killEditor(t, path, after) })
		}
		both.Wait()
		for _, one := range said {
			maps.Copy(told, one)
		}
		if t.Failed() {
			t.FailNow()
		}
		s := openAt(t, path)
		checkIntegrity(t, s)
		byID := checkHistory(t, s, start.Pins)
		for id, seq := range told {
			if byID[id] != seq {
				t.Fatalf("round %d: edit %s was kept as %d and is now %d", round, id, seq, byID[id])
			}
		}
		kept, unsaid = len(byID), unsaid+len(byID)-len(told)
		checkUndo(t, s, fmt.Sprint("round", round))
		for id, seq := range checkHistory(t, s, start.Pins) {
			told[id] = seq
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d programs killed in %d rounds, %.1f s: %d edits kept, every one that was acknowledged among them, and %d whose acknowledgement the kill cut off",
		2*n, n, time.Since(begun).Seconds(), kept, unsaid)
	if kept < 10*n {
		t.Errorf("only %d edits were kept in %d rounds", kept, n)
	}
}

// killEditor runs an editor for a time after its first acknowledgement, kills
// it, and returns the edits it acknowledged.
func killEditor(t *testing.T, path string, after time.Duration) map[string]int64 {
	said := map[string]int64{}
	self, err := os.Executable()
	if err != nil {
		t.Error(err)
		return said
	}
	program := exec.Command(self)
	program.Env = append(os.Environ(), killedEditorEnv+"="+path)
	out, err := program.StdoutPipe()
	if err != nil {
		t.Error(err)
		return said
	}
	if err := program.Start(); err != nil {
		t.Error(err)
		return said
	}
	hung := time.AfterFunc(time.Minute, func() { _ = program.Process.Kill() })
	defer hung.Stop()
	var kill sync.Once
	for lines := bufio.NewScanner(out); lines.Scan(); {
		var what, id string
		var seq int64
		if _, err := fmt.Sscan(lines.Text(), &what, &seq, &id); err != nil || what != "kept" {
			t.Errorf("the editor says %q", lines.Text())
			continue
		}
		said[id] = seq
		kill.Do(func() { time.AfterFunc(after, func() { _ = program.Process.Kill() }) }) // SIGKILL
	}
	if err := program.Wait(); err == nil || !strings.Contains(err.Error(), "killed") {
		t.Errorf("the editor ended by itself: %v", err)
	}
	return said
}

func TestTwoWritersAtOnceLoseNothingAndDoubleNothing(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "pinwright.db")
	stores := []*Store{openAt(t, path), openAt(t, path)} // as two programs would
	start := smallPinning("Mill Race", 40)
	addPinning(t, stores[0], addMachine(t, stores[0], smallMachine("Hailstone", 4)), 0, start)
	each := 300
	if n := rounds(t, 0); n > 0 {
		each = 1000 * n
	}
	begun := time.Now()
	said := make([]map[string]int64, 2)
	var both sync.WaitGroup
	held, changed := make([]int, 2), make([]int, 2)
	for i, s := range stores {
		both.Go(func() {
			said[i] = map[string]int64{}
			w := &editor{s: s, name: []string{"ann", "ben"}[i], rng: rand.New(rand.NewPCG(uint64(i), 7)), wear: 0.2}
			for range each {
				e, err := w.next(ctx)
				if err != nil {
					t.Error(err)
					return
				}
				said[i][e.ID] = e.Seq
				held[i] += len(e.Held)
				changed[i] += len(e.Changes)
			}
		})
	}
	both.Wait()
	took := time.Since(begun)
	byID := checkHistory(t, stores[0], start.Pins)
	want := map[string]int64{}
	maps.Copy(want, said[0])
	maps.Copy(want, said[1])
	if !maps.Equal(byID, want) || len(byID) != 2*each {
		t.Errorf("%d edits are kept, want the %d acknowledged, each at its place", len(byID), 2*each)
	}
	checkUndo(t, stores[1], "end")
	checkIntegrity(t, stores[0])
	t.Logf("%d edits by two writers at once in %.1f s (%.0f a second), a fifth of them sent twice: %d holes changed, %d changes held back to be asked about; nothing lost, nothing doubled",
		2*each, took.Seconds(), float64(2*each)/took.Seconds(), changed[0]+changed[1], held[0]+held[1])
}

// The power goes while the log is written, so that it breaks off anywhere.
// SQLite takes up whole commits and nothing of a broken one ("WAL-mode File
// Format"); the history has to be whole then, too.
func TestALogThatBreaksOffAnywhereLeavesAWholeHistory(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "pinwright.db")
	s := openAt(t, path)
	start := smallPinning("Mill Race", 40)
	addPinning(t, s, addMachine(t, s, smallMachine("Hailstone", 4)), 0, start)
	if _, err := s.writer.Exec(`PRAGMA wal_checkpoint(TRUNCATE)`); err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(3, 4))
	w := &editor{s: s, name: "ann", rng: rng}
	const edits = 60
	for range edits {
		if _, err := w.next(ctx); err != nil {
			t.Fatal(err)
		}
	}
	log, err := os.ReadFile(path + "-wal")
	if err != nil {
		t.Fatal(err)
	}
	if magic := binary.BigEndian.Uint32(log); magic&^1 != 0x377f0682 { // SQLite, "WAL-mode File Format", section 4.1
		t.Fatalf("the log begins with %x", magic)
	}
	found := map[int]bool{}
	for range rounds(t, 8) {
		copied := copyAs(t, path, "")
		if err := os.WriteFile(copied+"-wal", log[:32+rng.IntN(len(log)-32)], 0o600); err != nil {
			t.Fatal(err)
		}
		torn := openAt(t, copied)
		found[len(checkHistory(t, torn, start.Pins))] = true
		checkUndo(t, torn, "torn")
		checkIntegrity(t, torn)
		if err := torn.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if len(found) < 3 {
		t.Errorf("the log broke off after %v edits only", found)
	}
}
