package web

import (
	"context"
	"crypto/rand"
	"io"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"pinwright/store"
	"pinwright/web/browsertest"
	"pinwright/web/page"
	"pinwright/web/webtest"
)

// workshopNet is an app with a door for phones, at an address of RFC 1918.
type workshopNet struct {
	t      *testing.T
	door   http.Handler
	here   http.Handler
	phones *Phones
	now    time.Time
}

const phonesHost = "192.168.1.20:8420"

func newWorkshopNet(t *testing.T) *workshopNet {
	t.Helper()
	n := &workshopNet{t: t, now: time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)}
	clock := func() time.Time { return n.now }
	st, err := store.Open(context.Background(), filepath.Join(t.TempDir(), "kept.db"), clock)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	if n.phones, err = NewPhones(phonesHost, clock, rand.Reader); err != nil {
		t.Fatal(err)
	}
	n.here, n.door = NewWithPhones(Options{Store: st, Now: clock}, n.phones)
	return n
}

// ask sends a request through the door.
func (n *workshopNet) ask(r *http.Request) *http.Response {
	if r.Host == "example.com" { // httptest's own
		r.Host = phonesHost
	}
	w := httptest.NewRecorder()
	n.door.ServeHTTP(w, r)
	return w.Result()
}

func (n *workshopNet) get(path string, cookies ...*http.Cookie) *http.Response {
	r := httptest.NewRequest("GET", path, nil)
	for _, c := range cookies {
		r.AddCookie(c)
	}
	return n.ask(r)
}

func (n *workshopNet) send(code, from, to string) *http.Response {
	r := httptest.NewRequest("POST", "/code", strings.NewReader(url.Values{"code": {code}, "to": {to}}.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", "http://"+phonesHost)
	r.RemoteAddr = from
	return n.ask(r)
}

func (n *workshopNet) wrongCode() string {
	if n.phones.code == "00000000" {
		return "00000001"
	}
	return "00000000"
}

func textOf(t *testing.T, r *http.Response) string {
	t.Helper()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestPhoneWithoutTheCodeSeesTheCodePageAlone(t *testing.T) {
	n := newWorkshopNet(t)
	forged := &http.Cookie{Name: phoneCookie, Value: strings.Repeat("0", 64)}
	for _, path := range []string{"/", "/machines", "/pinnings/1/live", "/machines/1/jobs/1/state", "/static/js/pages/every.js", "/static/vendor/htmx/htmx.min.js", "/no-such-page"} {
		for _, cookies := range [][]*http.Cookie{nil, {forged}, {{Name: phoneCookie, Value: ""}}} {
			r := n.get(path, cookies...)
			page := textOf(t, r)
			if r.StatusCode != http.StatusForbidden || !strings.Contains(page, "The workshop's code") && !strings.Contains(page, "The workshop&#39;s code") {
				t.Errorf("%s: %d: %.200s", path, r.StatusCode, page)
			}
			if p := r.Header.Get("Content-Security-Policy"); !strings.Contains(p, "default-src 'none'") {
				t.Errorf("%s: policy %q", path, p)
			}
			if strings.Contains(page, n.phones.code) || strings.Contains(page, n.phones.Code()) {
				t.Errorf("%s: the page tells the code", path)
			}
		}
	}
	for _, path := range []string{"/static/css/pinwright.css", "/static/css/placing.css", "/static/fonts/fonts.css"} {
		if r := n.get(path); r.StatusCode != http.StatusOK {
			t.Errorf("%s, which the code page is drawn with: %d", path, r.StatusCode)
		}
	}
	r := httptest.NewRequest("POST", "/machines/1/remove", nil)
	r.Header.Set("Origin", "http://"+phonesHost)
	if got := n.ask(r).StatusCode; got != http.StatusForbidden {
		t.Errorf("a change without the code: %d", got)
	}
}

func TestCodeLetsAPhoneInByACookie(t *testing.T) {
	n := newWorkshopNet(t)
	if code := n.phones.Code(); len(code) != 9 || code[4] != ' ' || strings.Trim(code, "0123456789 ") != "" {
		t.Fatalf("the code reads %q, want eight digits in two groups", code)
	}
	r := n.send(n.phones.Code(), "192.168.1.31:5000", "/machines?x=1")
	if r.StatusCode != http.StatusSeeOther || r.Header.Get("Location") != "/machines?x=1" || len(r.Cookies()) != 1 {
		t.Fatalf("%d to %q with cookies %v", r.StatusCode, r.Header.Get("Location"), r.Cookies())
	}
	c := r.Cookies()[0]
	if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != "/" || c.Domain != "" || len(c.Value) != 64 {
		t.Errorf("the cookie is %+v; want HttpOnly, SameSite=Strict and 256 bits in hexadecimal digits", c)
	}
	if r := n.get("/machines", c); r.StatusCode != http.StatusOK {
		t.Errorf("with it: %d", r.StatusCode)
	}
	again := n.send(n.phones.code, "192.168.1.32:5000", "").Cookies()
	if len(again) != 1 || again[0].Value == c.Value {
		t.Errorf("another phone gets %v", again)
	}
	// The next start knows neither the code nor the cookie.
	other := newWorkshopNet(t)
	if r := other.get("/", c); r.StatusCode != http.StatusForbidden {
		t.Errorf("a cookie of before: %d", r.StatusCode)
	}
}

func TestCodeSendsNobodyToAnotherSite(t *testing.T) {
	n := newWorkshopNet(t)
	for _, to := range []string{"", "http://museum.example/", "//museum.example/", `/\museum.example/`, "javascript:alert(1)", "machines", "/a\nb", "/" + strings.Repeat("a", 600)} {
		if got := n.send(n.phones.code, "192.168.1.31:5000", to).Header.Get("Location"); got != "/" {
			t.Errorf("%q leads to %q", to, got)
		}
	}
}

func TestFiveWrongCodesInAMinuteHaveToWait(t *testing.T) {
	n := newWorkshopNet(t)
	const guesser, crew = "192.168.1.66:1000", "192.168.1.31:1000"
	for i := range maxWrongCodes {
		if r := n.send(n.wrongCode(), guesser, "/"); r.StatusCode != http.StatusForbidden || len(r.Cookies()) != 0 {
			t.Fatalf("wrong code %d: %d", i+1, r.StatusCode)
		}
		n.now = n.now.Add(10 * time.Second)
	}
	// Worked by hand: the first was sent 50 s ago, so that 10 s are left.
	r := n.send(n.phones.code, "192.168.1.66:2000", "/")
	if r.StatusCode != http.StatusTooManyRequests || r.Header.Get("Retry-After") != "11" || len(r.Cookies()) != 0 {
		t.Errorf("the right code after five wrong ones: %d, wait %q", r.StatusCode, r.Header.Get("Retry-After"))
	}
	if r := n.send(n.phones.code, crew, "/"); r.StatusCode != http.StatusSeeOther {
		t.Errorf("another phone: %d", r.StatusCode)
	}
	n.now = n.now.Add(11 * time.Second)
	if r := n.send(n.phones.code, guesser, "/"); r.StatusCode != http.StatusSeeOther {
		t.Errorf("after the wait: %d", r.StatusCode)
	}
}

func TestGuesserWithManyAddressesHasToWaitToo(t *testing.T) {
	n := newWorkshopNet(t)
	for i := range maxWrongInAll {
		from := netip.AddrPortFrom(netip.AddrFrom4([4]byte{10, 0, byte(i >> 8), byte(i)}), 9).String()
		if r := n.send(n.wrongCode(), from, "/"); r.StatusCode != http.StatusForbidden {
			t.Fatalf("guess %d: %d", i+1, r.StatusCode)
		}
	}
	if r := n.send(n.phones.code, "10.0.9.9:9", "/"); r.StatusCode != http.StatusTooManyRequests {
		t.Errorf("the next: %d", r.StatusCode)
	}
	n.now = n.now.Add(codeWindow)
	if r := n.send(n.phones.code, "10.0.9.9:9", "/"); r.StatusCode != http.StatusSeeOther {
		t.Errorf("a minute later: %d", r.StatusCode)
	}
	if len(n.phones.wrong) != 0 {
		t.Errorf("%d addresses are still remembered", len(n.phones.wrong))
	}
}

// RFC 4291, 2.5.4: the last 64 bits are the device's to choose.
func TestOneDeviceOfIPv6CountsOnce(t *testing.T) {
	a, b, c := page.ClientAddress("[fd00:1:2:3::1]:1"), page.ClientAddress("[fd00:1:2:3:aaaa::9]:2"), page.ClientAddress("[fd00:1:2:4::1]:1")
	if a != b || a == c {
		t.Errorf("%s, %s and %s", a, b, c)
	}
	if page.ClientAddress("[::ffff:10.0.0.1]:1") != page.ClientAddress("10.0.0.1:2") {
		t.Error("an address of IPv4 counts twice")
	}
}

func TestPhonesDoorAnswersItsOwnHostAlone(t *testing.T) {
	n := newWorkshopNet(t)
	cookie := n.send(n.phones.code, "192.168.1.31:5000", "/").Cookies()[0]
	for host, want := range map[string]int{
		phonesHost: http.StatusOK, "192.168.1.20": http.StatusMisdirectedRequest, "192.168.1.20:80": http.StatusMisdirectedRequest,
		"127.0.0.1:8420": http.StatusMisdirectedRequest, "localhost:8420": http.StatusMisdirectedRequest,
		"192.168.1.20:8420.museum.example": http.StatusMisdirectedRequest, "museum.example:8420": http.StatusMisdirectedRequest, "": http.StatusMisdirectedRequest,
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.Host = host
		r.AddCookie(cookie)
		if got := n.ask(r).StatusCode; got != want {
			t.Errorf("host %q: %d, want %d", host, got, want)
		}
		w := httptest.NewRecorder()
		n.here.ServeHTTP(w, r) // the door on this computer still refuses phones
		if loopback(host) != (w.Code == http.StatusOK) {
			t.Errorf("host %q on this computer's door: %d", host, w.Code)
		}
	}
	// Port 80 is left out by browsers.
	door, err := NewPhones("192.168.1.20:80", time.Now, rand.Reader)
	if err != nil || !door.isHost("192.168.1.20") || !door.isHost("192.168.1.20:80") || door.isHost("192.168.1.20:8420") {
		t.Error("port 80 is not seen to be left out")
	}
}

func TestPagesOfOtherSitesCannotUseAPhonesCookie(t *testing.T) {
	n := newWorkshopNet(t)
	cookie := n.send(n.phones.code, "192.168.1.31:5000", "/").Cookies()[0]
	for _, origin := range []string{"http://museum.example", "http://192.168.1.20", "http://127.0.0.1:8420", "https://" + phonesHost, "null"} {
		for _, path := range []string{"/machines", "/code"} {
			r := httptest.NewRequest("POST", path, nil)
			r.Header.Set("Origin", origin)
			r.AddCookie(cookie)
			if got := n.ask(r).StatusCode; got != http.StatusForbidden {
				t.Errorf("%s from %s: %d", path, origin, got)
			}
		}
	}
}

func TestChanceThatFailsMakesNoCodeAndNoToken(t *testing.T) {
	if _, err := NewPhones(phonesHost, time.Now, strings.NewReader("")); err == nil {
		t.Error("a code was made of nothing")
	}
	n := newWorkshopNet(t)
	n.phones.random = strings.NewReader("too little")
	if r := n.send(n.phones.code, "192.168.1.31:5000", "/"); r.StatusCode != http.StatusInternalServerError || len(r.Cookies()) != 0 {
		t.Errorf("%d with cookies %v", r.StatusCode, r.Cookies())
	}
}

// A phone types the code once, works at the wheel, and is asked for a new one
// when the program has been started anew; what was tapped meanwhile is kept.
func TestPhoneIsLetInByItsCodeAndAskedAgainAfterANewStart(t *testing.T) {
	browser := browsertest.Start(t)
	b := webtest.StartWheel(t, New)
	b.SayOnWheel(t, b.Old)
	job := b.BeginChangeover(t)
	var door atomic.Pointer[http.Handler]
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { (*door.Load()).ServeHTTP(w, r) }))
	defer server.Close()
	start := func() *Phones {
		phones, err := NewPhones(strings.TrimPrefix(server.URL, "http://"), time.Now, rand.Reader)
		if err != nil {
			t.Fatal(err)
		}
		_, there := NewWithPhones(Options{Store: b.Store, Now: time.Now}, phones)
		door.Store(&there)
		return phones
	}
	first := start()
	page := browser.Open(t, server.URL+job, browsertest.Phone)
	page.Troubles(t) // the browser's own note that it was refused
	page.NoSideScroll(t)
	page.Axe(t)
	page.Screenshot(t, "code-phone")
	page.Type(t, "#code", "12 34")
	page.Click(t, "form.code button")
	page.WaitFor(t, `document.querySelector("[role=alert]")?.textContent.startsWith("That is not the code.")`)
	page.Troubles(t)
	page.Type(t, "#code", first.Code())
	page.Click(t, "form.code button")
	page.WaitFor(t, webtest.JobShown)
	page.Click(t, `[data-way="forward"]`)
	page.WaitFor(t, webtest.StepShown(4))
	second := start()
	page.Click(t, "[data-done]")
	page.WaitFor(t, `document.querySelector("[data-network]").textContent === "The program was started again and asks this phone for the code. 1 tap is kept on this phone. Load this page again."`)
	page.Go(t, server.URL+job)
	page.Type(t, "#code", second.Code())
	page.Click(t, "form.code button")
	page.WaitFor(t, webtest.StepShown(8))
	page.WaitFor(t, webtest.JobShown)
	page.Troubles(t)
}
