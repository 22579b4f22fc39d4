package browsertest

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

func TestBrowserIsFoundOrItsAbsenceExplained(t *testing.T) {
	for _, c := range []struct {
		name, browser, chromium string
		short                   bool
		installed               []string
		want                    string // the program found
		skip                    bool
		says                    string // part of the error
	}{
		{name: "Debian's", installed: []string{"google-chrome", "chromium"}, want: "/bin/chromium"},
		{name: "the other", installed: []string{"google-chrome"}, want: "/bin/google-chrome"},
		{name: "named", chromium: "mine", installed: []string{"chromium", "mine"}, want: "/bin/mine"},
		{name: "named in vain", chromium: "mine", installed: []string{"chromium"}, says: "PINWRIGHT_CHROMIUM names no program"},
		{name: "none", skip: true, says: "install Debian's chromium"},
		{name: "none but required", browser: "required", says: `PINWRIGHT_BROWSER is "required", but there is no chromium`},
		{name: "short", short: true, installed: []string{"chromium"}, skip: true, says: "-short"},
		{name: "short but required", short: true, browser: "required", installed: []string{"chromium"}, want: "/bin/chromium"},
		{name: "mistaken", browser: "yes", installed: []string{"chromium"}, says: `PINWRIGHT_BROWSER is "yes"; it must be "required" or not set`},
	} {
		t.Run(c.name, func(t *testing.T) {
			getenv := func(name string) string {
				return map[string]string{"PINWRIGHT_BROWSER": c.browser, "PINWRIGHT_CHROMIUM": c.chromium}[name]
			}
			lookPath := func(name string) (string, error) {
				for _, have := range c.installed {
					if have == name {
						return "/bin/" + name, nil
					}
				}
				return "", errors.New("not found")
			}
			got, err := findBrowser(getenv, lookPath, c.short)
			if got != c.want {
				t.Errorf("found %q, want %q", got, c.want)
			}
			if (err != nil) != (c.says != "") || err != nil && !strings.Contains(err.Error(), c.says) {
				t.Errorf("error %v, want one that says %q", err, c.says)
			}
			if errors.Is(err, errSkip) != c.skip {
				t.Errorf("error %v: skip is %v, want %v", err, errors.Is(err, errSkip), c.skip)
			}
		})
	}
}

// On Linux every process shows its environment in proc(5), so the browser's
// are those that have its home in theirs.
func TestNothingOfTheBrowserStaysBehind(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("the processes of a browser can be told by their environment on Linux only")
	}
	b, err := launch(executable(t))
	if err != nil {
		t.Fatal(err)
	}
	process := fmt.Sprintf("/proc/%d", chromedp.FromContext(b.ctx).Browser.Process().Pid)
	home := valueIn(procStrings(process, "environ"), "HOME=")
	profile := valueIn(procStrings(process, "cmdline"), "--user-data-dir=")
	if n := processesAt(t, home); n < 2 {
		t.Fatalf("%d processes have their home at %q; a browser with a page has more", n, home)
	}
	if _, err := os.Stat(profile); profile == "" || err != nil {
		t.Fatalf("the profile %q is not there: %v", profile, err)
	}
	if err := b.close(); err != nil {
		t.Error(err)
	}
	if n := processesAt(t, home); n != 0 {
		t.Errorf("%d processes are left", n)
	}
	for _, folder := range []string{home, profile} {
		if _, err := os.Stat(folder); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("%s is left (%v)", folder, err)
		}
	}
}

// valueIn returns the rest of the last entry that starts with prefix.
func valueIn(entries []string, prefix string) (value string) {
	for _, entry := range entries {
		if rest, ok := strings.CutPrefix(entry, prefix); ok {
			value = rest
		}
	}
	return value
}

// procStrings returns the entries of a process's file in /proc that are ended
// by NUL; none if the process is gone.
func procStrings(process, file string) []string {
	content, err := os.ReadFile(filepath.Join(process, file))
	if err != nil {
		return nil
	}
	return strings.Split(string(content), "\x00")
}

func processesAt(t *testing.T, home string) (n int) {
	t.Helper()
	folders, err := filepath.Glob("/proc/[0-9]*")
	if err != nil {
		t.Fatal(err)
	}
	for _, folder := range folders {
		for _, entry := range procStrings(folder, "environ") {
			if entry == "HOME="+home {
				n++
			}
		}
	}
	return n
}
