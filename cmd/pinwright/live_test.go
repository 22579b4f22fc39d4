package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"mime/multipart"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/coder/websocket"

	"pinwright/store"
	"pinwright/wheel"
	"pinwright/wheel/history"
)

// killRoundsEnv is how many times the program is killed; a few where it is not
// set.
const killRoundsEnv = "PINWRIGHT_KILL_ROUNDS"

// program is the real program, as it runs now.
type program struct {
	cmd  *exec.Cmd
	host string
}

func startProgram(t *testing.T, dir string) *program {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	p := &program{cmd: exec.Command(self, "-data", dir, "-addr", "127.0.0.1:0")}
	p.cmd.Env = append(os.Environ(), "PINWRIGHT_RUN_MAIN=1")
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = p.cmd.Process.Kill() })
	line, err := bufio.NewReader(out).ReadString('\n')
	_, host, found := strings.Cut(strings.TrimSpace(line), "http://")
	if err != nil || !found {
		t.Fatalf("the program starts with %q (%v)", line, err)
	}
	p.host = host
	return p
}

func (p *program) kill(t *testing.T) {
	t.Helper()
	if err := p.cmd.Process.Kill(); err != nil { // SIGKILL
		t.Fatal(err)
	}
	if err := p.cmd.Wait(); err == nil || !strings.Contains(err.Error(), "killed") {
		t.Errorf("the program ended by itself: %v", err)
	}
}

// bring adds a pinning as a page does, and returns its id.
func (p *program) bring(t *testing.T, file string) int64 {
	t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	part, err := form.CreateFormFile("file", "p.json")
	if err != nil {
		t.Fatal(err)
	}
	fmt.Fprint(part, file)
	_ = form.Close()
	r, err := http.NewRequest(http.MethodPost, "http://"+p.host+"/pinnings", &body)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", form.FormDataContentType())
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	to := answer.Header.Get("Location")
	id, err := strconv.ParseInt(strings.TrimPrefix(to, "/pinnings/"), 10, 64)
	if err != nil {
		t.Fatalf("%s leads to %q", answer.Status, to)
	}
	return id
}

// answered is what the program says of an edit.
type answered struct {
	Is, ID, Kind, Why string
	Seq               int64
	Changes           []wheel.PinChange
}

// writer is a page that edits without pause. What it has no answer to it sends
// again when the program is back.
type writer struct {
	name    string
	random  *rand.Rand
	seen    int64
	sent    int
	open    string // the message without an answer, or none
	openID  string
	acked   map[string]answered
	refused int
	resent  int
}

// work edits until the connection ends.
func (w *writer) work(ctx context.Context, host string, pinning int64) error {
	conn, _, err := websocket.Dial(ctx, fmt.Sprintf("ws://%s/pinnings/%d/live", host, pinning), nil)
	if err != nil {
		return err
	}
	defer conn.CloseNow()
	conn.SetReadLimit(64 << 20)
	say := func(text string) error { return conn.Write(ctx, websocket.MessageText, []byte(text)) }
	if err := say(fmt.Sprintf(`{"do": "open", "after": %d, "name": %q}`, w.seen, w.name)); err != nil {
		return err
	}
	if err := w.until(ctx, conn, func(a answered) bool { return a.Is == "state" }); err != nil {
		return err
	}
	for {
		if w.open == "" {
			w.next()
		} else {
			w.resent++
		}
		if err := say(w.open); err != nil {
			return err
		}
		if err := w.until(ctx, conn, func(a answered) bool { return a.ID == w.openID && (a.Is == "edit" || a.Is == "refused") }); err != nil {
			return err
		}
		w.open = ""
	}
}

// next is another edit of a few holes that both writers work on, or sometimes
// an undo or a redo of whatever is next.
func (w *writer) next() {
	w.sent++
	w.openID = fmt.Sprintf("%s-%d", w.name, w.sent)
	switch w.random.IntN(8) {
	case 0:
		w.open = fmt.Sprintf(`{"do": "undo", "id": %q}`, w.openID)
	case 1:
		w.open = fmt.Sprintf(`{"do": "redo", "id": %q}`, w.openID)
	default:
		now := [...]string{"null", "{}", `{"aim": 7}`}[w.random.IntN(3)]
		first := w.random.IntN(20)
		w.open = fmt.Sprintf(`{"do": "edit", "id": %q, "base": %d, "kind": "drive", "words": "drive", "changes": [{"channel": "bar-c5", "step": %d, "now": %s}, {"channel": "bar-d5", "step": %d, "now": %[4]s}]}`,
			w.openID, w.seen, first, now, w.random.IntN(20))
	}
}

// until reads on to a message, and notes every answer on the way.
func (w *writer) until(ctx context.Context, conn *websocket.Conn, is func(answered) bool) error {
	for {
		_, text, err := conn.Read(ctx)
		if err != nil {
			return err
		}
		var a answered
		if err := json.Unmarshal(text, &a); err != nil {
			return err
		}
		if a.Is == "edit" {
			w.seen = max(w.seen, a.Seq)
			if strings.HasPrefix(a.ID, w.name+"-") {
				w.acked[a.ID] = a
			}
		}
		if a.Is == "refused" {
			w.refused++
		}
		if is(a) {
			return nil
		}
	}
}

// The whole program, killed at random moments while two pages edit one
// pinning: whatever it said was kept is there, in its order and once, and can
// be taken back.
func TestEditsThatWereAnsweredOutliveTheKilledProgram(t *testing.T) {
	if testing.Short() {
		t.Skip("starts and kills the program")
	}
	rounds := 4
	if text := os.Getenv(killRoundsEnv); text != "" {
		var err error
		if rounds, err = strconv.Atoi(text); err != nil || rounds < 1 {
			t.Fatalf("%s is %q; it should be a number of rounds", killRoundsEnv, text)
		}
	}
	data := t.TempDir()
	p := startProgram(t, data)
	id := p.bring(t, `{"format": "pinwright-pinning/1", "title": "Hard Days", "machine": "Hailstone", "tempo_bpm": 60, "pins": [{"channel": "bar-c5", "step": 3}]}`)

	random := rand.New(rand.NewPCG(20, 26))
	writers := []*writer{}
	for _, name := range []string{"bench", "gallery"} {
		writers = append(writers, &writer{name: name, random: rand.New(rand.NewPCG(random.Uint64(), 1)), acked: map[string]answered{}})
	}
	began := time.Now()
	for round := range rounds {
		ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
		var both sync.WaitGroup
		for _, w := range writers {
			both.Go(func() { _ = w.work(ctx, p.host, id) }) // it ends with the program
		}
		time.Sleep(time.Duration(100+random.IntN(500)) * time.Millisecond)
		p.kill(t)
		both.Wait()
		cancel()
		checkHistory(t, data, id, writers)
		p = startProgram(t, data)
		if round == rounds-1 {
			checkUndo(t, p, id)
		}
	}
	answers, resent, refusals := 0, 0, 0
	for _, w := range writers {
		answers, resent, refusals = answers+len(w.acked), resent+w.resent, refusals+w.refused
	}
	t.Logf("killed %d times in %v: %d edits answered, %d sent again after a kill, %d refused (nothing to undo or redo)",
		rounds, time.Since(began).Round(time.Millisecond), answers, resent, refusals)
	if answers < 2*rounds {
		t.Errorf("only %d edits were ever answered", answers)
	}
}

// checkHistory reads what is kept while no program runs.
func checkHistory(t *testing.T, data string, id int64, writers []*writer) {
	t.Helper()
	ctx := context.Background()
	st, err := store.Open(ctx, filepath.Join(data, databaseName), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	byID := map[string]history.Edit{}
	pinning, err := st.PinningAt(ctx, id, 0)
	if err != nil {
		t.Fatal(err)
	}
	last := int64(0)
	for {
		edits, err := st.Edits(ctx, id, last, 1000)
		if err != nil {
			t.Fatal(err)
		}
		if len(edits) == 0 {
			break
		}
		for _, e := range edits {
			if e.Seq != last+1 {
				t.Fatalf("after edit %d comes %d", last, e.Seq)
			}
			last = e.Seq
			if before, twice := byID[e.ID]; twice {
				t.Errorf("%s is kept twice, as %d and %d", e.ID, before.Seq, e.Seq)
			}
			byID[e.ID] = e
			if err := pinning.Apply(e.Changes); err != nil {
				t.Fatalf("edit %d does not follow those before it: %v", e.Seq, err)
			}
		}
	}
	for _, w := range writers {
		for name, a := range w.acked {
			if e := byID[name]; e.Seq != a.Seq || !slices.Equal(e.Changes, a.Changes) {
				t.Errorf("%s was answered as edit %d with %v; kept is %d with %v", name, a.Seq, a.Changes, e.Seq, e.Changes)
			}
		}
	}
	now, err := st.Pinning(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	if pinning.Sort(); !slices.Equal(pinning.Pins, now.File.Pins) || now.Seq != last {
		t.Errorf("the pins are %v at edit %d; the edits make them %v at %d", now.File.Pins, now.Seq, pinning.Pins, last)
	}
}

// checkUndo takes everything back, to the pinning as it came in.
func checkUndo(t *testing.T, p *program, id int64) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	conn, _, err := websocket.Dial(ctx, fmt.Sprintf("ws://%s/pinnings/%d/live", p.host, id), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.CloseNow()
	conn.SetReadLimit(64 << 20)
	answer, err := http.Get(fmt.Sprintf("http://%s/pinnings/%d/wheel.json", p.host, id))
	if err != nil {
		t.Fatal(err)
	}
	var kept struct{ Seq int64 }
	err = json.NewDecoder(answer.Body).Decode(&kept)
	answer.Body.Close()
	if err != nil {
		t.Fatal(err)
	}
	w := &writer{name: "undoer", acked: map[string]answered{}}
	say := func(format string, args ...any) {
		if err := conn.Write(ctx, websocket.MessageText, fmt.Appendf(nil, format, args...)); err != nil {
			t.Fatal(err)
		}
	}
	say(`{"do": "open", "after": %d}`, kept.Seq)
	undone := 0
	for w.refused == 0 {
		name := fmt.Sprintf("undoer-%d", undone)
		say(`{"do": "undo", "id": %q}`, name)
		if err := w.until(ctx, conn, func(a answered) bool { return a.ID == name && (a.Is == "edit" || a.Is == "refused") }); err != nil {
			t.Fatal(err)
		}
		undone++
	}
	answer, err = http.Get(fmt.Sprintf("http://%s/pinnings/%d/file", p.host, id))
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	var file wheel.Pinning
	if err := json.NewDecoder(answer.Body).Decode(&file); err != nil {
		t.Fatal(err)
	}
	if want := []wheel.Pin{{Channel: "bar-c5", Step: 3}}; !slices.Equal(file.Pins, want) {
		t.Errorf("after %d undos the pins are %v, want %v", undone-1, file.Pins, want)
	}
	t.Logf("%d edits were taken back, to the pinning as it came in", undone-1)
}
