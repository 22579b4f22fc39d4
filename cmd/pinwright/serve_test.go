package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"pinwright/store"
)

// patience is how long a test waits for what takes no time.
const patience = 30 * time.Second

// A test may run this binary as the program itself.
func TestMain(m *testing.M) {
	if os.Getenv("PINWRIGHT_RUN_MAIN") != "" {
		main()
		return
	}
	os.Exit(m.Run())
}

// served is a run that serves the pages.
type served struct {
	t      *testing.T
	url    string
	stop   func()
	status chan int
	err    *lockedBuffer
}

type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func startServing(t *testing.T, dir, addr string) *served {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	out, in := io.Pipe()
	s := &served{t: t, stop: stop, status: make(chan int, 1), err: &lockedBuffer{}}
	go func() {
		s.status <- run(ctx, []string{"-data", dir, "-addr", addr}, in, s.err)
		in.Close()
	}()
	t.Cleanup(stop)
	s.url = addressFrom(t, out, s.err)
	return s
}

// addressFrom reads the line in which the program says where it is.
func addressFrom(t *testing.T, out io.Reader, errors *lockedBuffer) string {
	t.Helper()
	line := make(chan string, 1)
	go func() {
		b := make([]byte, 200)
		n, _ := out.Read(b)
		line <- string(b[:n])
	}()
	select {
	case says := <-line:
		url, is := strings.CutPrefix(strings.TrimSuffix(says, "\n"), "Pinwright is at ")
		if !is || !strings.HasPrefix(url, "http://127.0.0.1:") {
			t.Fatalf("it says %q, errors %q", says, errors)
		}
		return url
	case <-time.After(patience):
		t.Fatalf("it does not say where it is; errors %q", errors)
	}
	return ""
}

func (s *served) get(path string) string {
	s.t.Helper()
	client := http.Client{Timeout: patience}
	r, err := client.Get(s.url + path)
	if err != nil {
		s.t.Fatal(err)
	}
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	if err != nil || r.StatusCode != http.StatusOK {
		s.t.Fatalf("%s answers %s, error %v", path, r.Status, err)
	}
	return string(body)
}

func (s *served) stops() {
	s.t.Helper()
	s.stop()
	select {
	case status := <-s.status:
		if status != done {
			s.t.Errorf("it ends with status %d, errors %q", status, s.err)
		}
	case <-time.After(patience):
		s.t.Fatal("it does not stop")
	}
}

func TestPagesAreServedUntilTheProgramIsToldToStop(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "data", "pinwright")
	s := startServing(t, dir, "127.0.0.1:0")
	if page := s.get("/"); !strings.Contains(page, "Hailstone") {
		t.Errorf("the first page does not name the demo machine:\n%s", page)
	}
	for _, title := range demoTitles {
		if page := s.get("/songs"); !strings.Contains(page, title) {
			t.Errorf("the songs' page does not name %s", title)
		}
	}
	if info, err := os.Stat(dir); err != nil {
		t.Error(err)
	} else if runtime.GOOS != "windows" && info.Mode().Perm() != 0o700 {
		t.Errorf("the data folder is %v; it should be its user's alone", info.Mode())
	}
	s.stops()
	if s.err.String() != "" {
		t.Errorf("errors are %q", s.err)
	}
	if entries, err := os.ReadDir(dir); err != nil || len(entries) != 1 || entries[0].Name() != databaseName {
		t.Errorf("it leaves %v, error %v; want the database alone", entries, err)
	}
	ln, err := net.Listen("tcp", strings.TrimPrefix(s.url, "http://"))
	if err != nil {
		t.Fatalf("the address is not free again: %v", err)
	}
	ln.Close()
}

func TestSecondStartFindsEverythingAsItWas(t *testing.T) {
	dir := t.TempDir()
	startServing(t, dir, "127.0.0.1:0").stops()
	open := func() *store.Store {
		st, err := store.Open(context.Background(), filepath.Join(dir, databaseName), time.Now)
		if err != nil {
			t.Fatal(err)
		}
		return st
	}
	st := open()
	wantDemo(t, st)
	if err := st.RemovePinning(context.Background(), 1); err != nil {
		t.Fatal(err)
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	s := startServing(t, dir, "localhost:0")
	s.get("/")
	s.stops()
	st = open()
	defer st.Close()
	if machines, songs, pinnings := kept(t, st); len(machines) != 1 || len(songs) != 3 || len(pinnings) != 2 {
		t.Errorf("machines %q, songs %q, pinnings %q; want one pinning less than the demo", machines, songs, pinnings)
	}
}

func TestRequestUnderWayIsFinishedWhenTheProgramStops(t *testing.T) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	begun, goOn := make(chan bool), make(chan bool)
	handler := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		close(begun)
		<-goOn
		_, _ = io.WriteString(w, "the whole page")
	})
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	told, ended := make(chan bool), make(chan error, 1)
	go func() {
		ended <- serveUntil(ctx, ln, handler, slog.New(slog.DiscardHandler), func() { close(told) })
	}()
	page := make(chan string, 1)
	go func() {
		r, err := http.Get("http://" + ln.Addr().String())
		if err != nil {
			page <- err.Error()
			return
		}
		defer r.Body.Close()
		body, _ := io.ReadAll(r.Body)
		page <- string(body)
	}()
	<-begun
	stop()
	<-told
	select {
	case err := <-ended:
		t.Fatalf("it ended, with error %v, while a page was being sent", err)
	case <-time.After(50 * time.Millisecond):
	}
	close(goOn)
	if err := <-ended; err != nil {
		t.Error(err)
	}
	if got := <-page; got != "the whole page" {
		t.Errorf("the page is %q", got)
	}
}

type failingListener struct{ net.Listener }

func (failingListener) Accept() (net.Conn, error) { return nil, errors.New("no more connections") }

func TestEndOfServingIsAnErrorUnlessAskedFor(t *testing.T) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	err = serveUntil(context.Background(), failingListener{ln}, http.NotFoundHandler(), slog.New(slog.DiscardHandler), func() {})
	if want := "the pages can no longer be served: no more connections"; err == nil || err.Error() != want {
		t.Errorf("error is %v, want %s", err, want)
	}
}

func TestAddressInUseIsSaidBeforeAnythingIsMade(t *testing.T) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer ln.Close()
	dir := filepath.Join(t.TempDir(), "data")
	call("-data", dir, "-addr", ln.Addr().String()).refuses(t,
		"pinwright: "+ln.Addr().String()+" is in use, perhaps by another pinwright; stop that one, or give another port with -addr 127.0.0.1:PORT")
	if _, err := os.Stat(dir); err == nil {
		t.Error("the data folder was made")
	}
}

func TestAddressForOthersIsRefused(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "data")
	call("-data", dir, "-addr", ":8420").refuses(t, `pinwright: -addr has the host ""; the pages are for this computer alone, so it should be 127.0.0.1, ::1 or localhost (see pinwright -h)`)
	if _, err := os.Stat(dir); err == nil {
		t.Error("the data folder was made")
	}
}

func TestDataThatCannotBeKeptIsRefused(t *testing.T) {
	f := newFolder(t)
	file := f.write("notes.txt", "Ring the smith on Monday.")
	call("-data", file, "-addr", "127.0.0.1:0").refuses(t, "pinwright: "+file+": the folder for the data cannot be made: not a directory")
	call("-data", filepath.Join(file, "below"), "-addr", "127.0.0.1:0").refuses(t, "pinwright: "+filepath.Join(file, "below")+": the folder for the data cannot be made: not a directory")

	database := f.write(databaseName, "This is no database. "+strings.Repeat("It is text. ", 200))
	r := call("-data", f.path, "-addr", "127.0.0.1:0")
	if r.status != refused || r.out != "" || !strings.Contains(r.err, database+" is not a database") || strings.Count(r.err, "\n") != 1 {
		t.Errorf("status %d, output %q, errors %q", r.status, r.out, r.err)
	}
	if !strings.HasPrefix(f.read(databaseName), "This is no database.") {
		t.Error("it was written over")
	}
}

func TestProgramToldToStopBeforeItStartedEndsQuietly(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	var out, errors bytes.Buffer
	status := run(ctx, []string{"-data", t.TempDir(), "-addr", "127.0.0.1:0"}, &out, &errors)
	if status != done || errors.Len() > 0 {
		t.Errorf("status %d, output %q, errors %q", status, out.String(), errors.String())
	}
}

// The program itself, in a process of its own.
func TestTerminateSignalStopsTheProgramCleanly(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows has no signal to terminate")
	}
	dir := t.TempDir()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	for _, signal := range []os.Signal{syscall.SIGTERM, os.Interrupt} {
		cmd := exec.Command(self, "-addr", "127.0.0.1:0")
		cmd.Env = append(os.Environ(), "PINWRIGHT_RUN_MAIN=1", "XDG_DATA_HOME="+dir, "HOME="+dir)
		errors := &lockedBuffer{}
		cmd.Stderr = errors
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		defer cmd.Process.Kill()
		s := &served{t: t, url: addressFrom(t, out, errors)}
		s.get("/")
		if err := cmd.Process.Signal(signal); err != nil {
			t.Fatal(err)
		}
		if err := cmd.Wait(); err != nil || errors.String() != "" {
			t.Errorf("%s: it ends with %v, errors %q", signal, err, errors)
		}
	}
	if runtime.GOOS == "linux" {
		if _, err := os.Stat(filepath.Join(dir, "pinwright", databaseName)); err != nil {
			t.Error(err)
		}
	}
}
