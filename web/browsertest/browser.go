// Package browsertest opens the pages in a real browser, for tests: a headless
// Chromium that can reach this machine only, with a profile of its own that is
// gone when the test ends.
//
// A page is watched from its opening to the end of its test. Whatever a reader
// would never see but a developer should, such as an error on the console, an
// uncaught exception, something that the content security policy forbade, or a
// request to another machine, fails the test.
package browsertest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// Environment variables that a run of the tests listens to.
const (
	// BrowserEnv set to "required" makes a test fail where it would be
	// skipped for want of a browser.
	BrowserEnv = "PINWRIGHT_BROWSER"
	// ChromiumEnv is the path of the browser to use.
	ChromiumEnv = "PINWRIGHT_CHROMIUM"
	// ShotsEnv is the folder for screenshots; none are taken without it.
	ShotsEnv = "PINWRIGHT_SHOTS"
)

const (
	startLimit = 60 * time.Second
	stepLimit  = 30 * time.Second
	closeLimit = 10 * time.Second
)

// A Browser is one running Chromium. Its pages share nothing: each has its own
// cookies and storage. Several goroutines may open pages of one Browser.
type Browser struct {
	ctx   context.Context
	close func() error
}

// shared is the browser of all tests under Main; nil without Main.
var shared *lazyBrowser

type lazyBrowser struct {
	once    sync.Once
	browser *Browser
	err     error
}

func (l *lazyBrowser) get(executable string) (*Browser, error) {
	l.once.Do(func() { l.browser, l.err = launch(executable) })
	return l.browser, l.err
}

// Main runs the tests of a package on one browser, which starts with the first
// test that asks for it, and returns the code to exit with. A package with
// several browser tests saves the time of starting one for each:
//
//	func TestMain(m *testing.M) { os.Exit(browsertest.Main(m)) }
func Main(m *testing.M) int {
	shared = &lazyBrowser{}
	code := m.Run()
	if shared.browser != nil {
		if err := shared.browser.close(); err != nil {
			fmt.Fprintln(os.Stderr, err)
			code = max(code, 1)
		}
	}
	return code
}

// Start returns a running browser that lasts until t ends, or under Main until
// the last test has. It skips t if there is no browser or the run is -short,
// unless PINWRIGHT_BROWSER is "required": then it fails t if there is none.
func Start(t testing.TB) *Browser {
	t.Helper()
	executable := executable(t)
	if shared != nil {
		b, err := shared.get(executable)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	b, err := launch(executable)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := b.close(); err != nil {
			t.Error(err)
		}
	})
	return b
}

// executable returns the path of the browser, or skips or fails t.
func executable(t testing.TB) string {
	t.Helper()
	path, err := findBrowser(os.Getenv, exec.LookPath, testing.Short())
	switch {
	case errors.Is(err, errSkip):
		t.Skip(err)
	case err != nil:
		t.Fatal(err)
	}
	return path
}

// launch starts a browser in a home folder of its own, which goes when the
// browser is closed.
func launch(executable string) (*Browser, error) {
	// A short name: the browser makes a socket in there, and the path of a
	// socket has 107 bytes at most (unix(7)).
	home, err := os.MkdirTemp("", "pinwright-")
	if err != nil {
		return nil, err
	}
	ctx, cancel := chromedp.NewContext(context.Background(),
		chromedp.WithAllocatorOptions(append(flags(), chromedp.ExecPath(executable), homeAt(home))...))
	b := &Browser{ctx: ctx, close: func() error {
		limited, done := context.WithTimeout(ctx, closeLimit)
		defer done()
		err := chromedp.Cancel(limited)
		cancel()
		if errors.Is(err, context.Canceled) {
			err = nil // it was closed already
		}
		return errors.Join(err, removeFolder(home))
	}}
	if err := within(startLimit, cancel, func() error { return chromedp.Do(ctx) }); err != nil {
		return nil, errors.Join(fmt.Errorf("%s does not start: %w", executable, err), b.close())
	}
	return b, nil
}

// flags are what the browser is started with beyond chromedp's defaults, which
// make it headless and keep it from calling home. They give it a new profile
// too, in a temporary folder, and remove that with any process still in it.
func flags() []chromedp.ExecAllocatorOption {
	return []chromedp.ExecAllocatorOption{
		chromedp.NoSandbox, // Chromium's sandbox does not start for root, nor in many containers
		chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("no-proxy-server", true),
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND , EXCLUDE localhost , EXCLUDE 127.0.0.1"),
	}
}

// homeAt keeps everything that the browser writes outside its profile in home.
func homeAt(home string) chromedp.ExecAllocatorOption {
	return chromedp.Env("HOME="+home, "TMPDIR="+home,
		"XDG_CONFIG_HOME="+home, "XDG_CACHE_HOME="+home, "XDG_DATA_HOME="+home)
}

// errSkip is in the errors that are a reason to skip a test, not to fail it.
var errSkip = errors.New("browser test skipped")

// findBrowser returns the path of a browser. It returns an error with errSkip
// in it if the test may be skipped.
func findBrowser(getenv func(string) string, lookPath func(string) (string, error), short bool) (string, error) {
	required := getenv(BrowserEnv) == "required"
	if v := getenv(BrowserEnv); v != "" && !required {
		return "", fmt.Errorf(`%s is %q; it must be "required" or not set`, BrowserEnv, v)
	}
	if short && !required {
		return "", fmt.Errorf("%w: -short leaves the browser tests out", errSkip)
	}
	if named := getenv(ChromiumEnv); named != "" {
		path, err := lookPath(named)
		if err != nil {
			return "", fmt.Errorf("%s names no program: %w", ChromiumEnv, err)
		}
		return path, nil
	}
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable"} {
		if path, err := lookPath(name); err == nil {
			return path, nil
		}
	}
	advice := "there is no chromium or google-chrome on the PATH; install Debian's chromium, or name a browser in " + ChromiumEnv
	if required {
		return "", fmt.Errorf("%s is \"required\", but %s", BrowserEnv, advice)
	}
	return "", fmt.Errorf("%w: %s", errSkip, advice)
}

// within runs f and cancels it, through cancel, if it takes longer than limit.
// It serves the first steps on a chromedp context: those bind the browser's
// life to the context that they get, which so cannot be one with a deadline.
func within(limit time.Duration, cancel context.CancelFunc, f func() error) error {
	timer := time.AfterFunc(limit, cancel)
	err := f()
	if !timer.Stop() && err != nil {
		return fmt.Errorf("no answer in %v: %w", limit, err)
	}
	return err
}

// removeFolder removes a folder in which a process that is just ending may
// still write.
func removeFolder(folder string) error {
	deadline := time.Now().Add(closeLimit)
	for {
		err := os.RemoveAll(folder)
		if err == nil || time.Now().After(deadline) {
			return err
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// moduleFile returns the path of a file of the repository, whichever of its
// packages the test runs in.
func moduleFile(name string) (string, error) {
	folder, err := os.Getwd()
	if err != nil {
		return "", err
	}
	for {
		if _, err := os.Stat(filepath.Join(folder, "go.mod")); err == nil {
			return filepath.Join(folder, filepath.FromSlash(name)), nil
		}
		parent := filepath.Dir(folder)
		if parent == folder {
			return "", fmt.Errorf("no folder above the test has a go.mod, so %s cannot be found", name)
		}
		folder = parent
	}
}
