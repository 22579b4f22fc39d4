package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"pinwright/web/webtest"
)

// DNS rebinding: some other site's name is pointed at this computer, and its
// pages then count as of one origin with ours unless the name is refused.
func TestRequestsForAForeignHostAreRefused(t *testing.T) {
	a := webtest.Start(t, New)
	for _, c := range []struct {
		host string
		want int
	}{
		{"museum.example", http.StatusMisdirectedRequest},
		{"museum.example:8420", http.StatusMisdirectedRequest},
		{"127.0.0.1.museum.example", http.StatusMisdirectedRequest},
		{"192.168.1.7:8420", http.StatusMisdirectedRequest},
		{"0.0.0.0:8420", http.StatusMisdirectedRequest},
		{"localhost:8420", http.StatusOK},
		{"LOCALHOST", http.StatusOK},
		{"127.0.0.1:8420", http.StatusOK},
		{"127.8.9.1", http.StatusOK},
		{"[::1]:8420", http.StatusOK},
		{"[::ffff:127.0.0.1]:8420", http.StatusOK},
		{"[2001:db8::1]:8420", http.StatusMisdirectedRequest},
	} {
		r := httptest.NewRequest("GET", a.URL+"/", nil)
		r.Host = c.host
		if got, body := a.Send(t, r); got != c.want {
			t.Errorf("host %q: %d, want %d: %.80s", c.host, got, c.want, body)
		}
	}
}

func TestRequestsFromPagesOfOtherSitesAreRefused(t *testing.T) {
	a := webtest.Start(t, New)
	host := strings.TrimPrefix(a.URL, "http://")
	for _, c := range []struct {
		name, header, value string
		want                int
	}{
		{"our own page", "Origin", a.URL, http.StatusBadRequest}, // it comes through, and has no file
		{"another site", "Origin", "http://museum.example", http.StatusForbidden},
		{"another port", "Origin", "http://127.0.0.1:9", http.StatusForbidden},
		{"no site", "Origin", "null", http.StatusForbidden},
		{"the same host in another scheme", "Origin", "https://" + host, http.StatusForbidden},
		{"a form of another site", "Sec-Fetch-Site", "cross-site", http.StatusForbidden},
	} {
		r := httptest.NewRequest("POST", a.URL+"/songs", nil)
		r.Header.Set(c.header, c.value)
		if got, body := a.Send(t, r); got != c.want {
			t.Errorf("%s: %d, want %d: %.80s", c.name, got, c.want, body)
		}
	}
	r := httptest.NewRequest("GET", a.URL+"/", nil)
	r.Header.Set("Origin", "http://museum.example")
	if got, _ := a.Send(t, r); got != http.StatusForbidden {
		t.Errorf("a foreign page read one of ours: %d", got)
	}
}

func TestEveryAnswerCarriesAPolicyWithoutInlineScript(t *testing.T) {
	a := webtest.Start(t, New)
	for _, path := range []string{"/", "/songs", "/no-such-page", "/static/css/pinwright.css"} {
		answer, err := http.Get(a.URL + path)
		if err != nil {
			t.Fatal(err)
		}
		answer.Body.Close()
		p := answer.Header.Get("Content-Security-Policy")
		if !strings.Contains(p, "default-src 'none'") || !strings.Contains(p, "script-src 'self'") || strings.Contains(p, "unsafe") {
			t.Errorf("%s: policy %q", path, p)
		}
	}
}

func TestAFormLargerThanItsLimitIsRefused(t *testing.T) {
	a := webtest.StartDemo(t, New)
	status, body := a.Post(t, "/songs/1/pinnings", url.Values{"tempo": {strings.Repeat("9", maxFormBytes+1)}})
	if status != http.StatusRequestEntityTooLarge {
		t.Errorf("%d: %.200s", status, body)
	}
}
