package web

import (
	"bytes"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"fmt"
	"io"
	"math/big"
	"net/http"
	"net/netip"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"pinwright/web/page"
	"pinwright/wheel/say"
)

// Phones is the door through which phones in the workshop come to the pages, at
// an address of this computer on the workshop's network. A phone sends a code of
// eight digits once and is known after that by a cookie. Codes and tokens are
// kept in memory alone. What goes over the network is not encrypted.
type Phones struct {
	host   string
	now    func() time.Time
	random io.Reader
	code   string

	mu     sync.Mutex
	tokens [][sha256.Size]byte // hashes of those given out, the oldest first
	wrong  map[netip.Addr][]time.Time
}

const (
	codeDigits    = 8
	maxWrongCodes = 5  // from one address within codeWindow
	maxWrongInAll = 60 // from all addresses: a guesser may have many
	codeWindow    = time.Minute
	maxTokens     = 1000
	phoneCookie   = "pinwright_phone"
	codePath      = "/code"
)

// NewPhones makes the door at a host and port, just as phones ask for it, with
// a new code. The source of chance has to be fit for secrets.
func NewPhones(hostPort string, now func() time.Time, random io.Reader) (*Phones, error) {
	n, err := rand.Int(random, new(big.Int).Exp(big.NewInt(10), big.NewInt(codeDigits), nil))
	if err != nil {
		return nil, fmt.Errorf("no code could be made: %w", err)
	}
	return &Phones{
		host: hostPort, now: now, random: random, code: fmt.Sprintf("%0*d", codeDigits, n),
		wrong: map[netip.Addr][]time.Time{},
	}, nil
}

// Code is the code as people read it: "1234 5678".
func (p *Phones) Code() string { return p.code[:codeDigits/2] + " " + p.code[codeDigits/2:] }

// door lets phones that have sent the code through to the pages. To all others
// there is only the page that asks for it, and what that page is drawn with.
func (p *Phones) door(s *server, pages http.Handler) http.Handler {
	asks := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch {
		case p.known(r):
			pages.ServeHTTP(w, r)
		case r.URL.Path == codePath && r.Method == http.MethodPost:
			p.take(s, w, r)
		case drawsCodePage(r.URL.Path):
			pages.ServeHTTP(w, r)
		default:
			p.ask(s, w, r, http.StatusForbidden, backTo(r), "")
		}
	})
	guarded := guardOrigin(http.NewCrossOriginProtection().Handler(headers(limitBody(asks))))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !p.isHost(r.Host) {
			http.Error(w, fmt.Sprintf("This program answers phones at http://%s; the request was for %q.", p.host, r.Host), http.StatusMisdirectedRequest)
			return
		}
		guarded.ServeHTTP(w, r)
	})
}

// isHost tells whether a request is for this door: a browser leaves port 80 out
// (RFC 9110, 4.2.1).
func (p *Phones) isHost(host string) bool {
	return host == p.host || host+":80" == p.host
}

// drawsCodePage tells the static files of the page that asks for the code.
func drawsCodePage(path string) bool {
	switch path {
	case "/static/css/reset.css", "/static/css/pinwright.css", "/static/css/placing.css", "/static/icons/pinwright.svg":
		return true
	}
	return strings.HasPrefix(path, "/static/fonts/")
}

func (p *Phones) known(r *http.Request) bool {
	cookie, err := r.Cookie(phoneCookie)
	if err != nil || len(cookie.Value) != 2*sha256.Size {
		return false
	}
	is := sha256.Sum256([]byte(cookie.Value)) // of a hash nothing can be guessed byte by byte
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Contains(p.tokens, is)
}

// take reads a code that was sent.
func (p *Phones) take(s *server, w http.ResponseWriter, r *http.Request) {
	if err := r.ParseForm(); err != nil {
		p.ask(s, w, r, http.StatusBadRequest, "/", "The code did not arrive whole. Send it again.")
		return
	}
	to := safePath(r.PostForm.Get("to"))
	token, wait, err := p.try(r.RemoteAddr, r.PostForm.Get("code"))
	switch {
	case err != nil:
		s.Log.Error("no token could be made", "error", err)
		http.Error(w, "Something went wrong inside the program.", http.StatusInternalServerError)
	case wait > 0:
		seconds := int(wait/time.Second) + 1
		w.Header().Set("Retry-After", strconv.Itoa(seconds))
		p.ask(s, w, r, http.StatusTooManyRequests, to, fmt.Sprintf("Too many wrong codes. Wait %s, then try again.", say.Count(seconds, "second", "seconds")))
	case token == "":
		p.ask(s, w, r, http.StatusForbidden, to, "That is not the code. The computer's screen shows it after the word Phones. It changes each time the program starts.")
	default:
		http.SetCookie(w, &http.Cookie{Name: phoneCookie, Value: token, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
		http.Redirect(w, r, to, http.StatusSeeOther)
	}
}

// try compares a code and, if it is right, gives out a token of 256 bits. wait
// is how long no code is taken from this address.
func (p *Phones) try(remote, code string) (token string, wait time.Duration, err error) {
	from := page.ClientAddress(remote)
	digits := strings.NewReplacer(" ", "", "-", "", "\u00a0", "").Replace(code)
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.now()
	all, oldest := 0, now
	for addr, times := range p.wrong {
		times = slices.DeleteFunc(times, func(t time.Time) bool { return now.Sub(t) >= codeWindow })
		if len(times) == 0 {
			delete(p.wrong, addr)
			continue
		}
		p.wrong[addr] = times
		all += len(times)
		if times[0].Before(oldest) {
			oldest = times[0]
		}
	}
	switch mine := p.wrong[from]; {
	case len(mine) >= maxWrongCodes:
		return "", codeWindow - now.Sub(mine[0]), nil
	case all >= maxWrongInAll:
		return "", codeWindow - now.Sub(oldest), nil
	}
	sent, want := sha256.Sum256([]byte(digits)), sha256.Sum256([]byte(p.code))
	if subtle.ConstantTimeCompare(sent[:], want[:]) != 1 {
		p.wrong[from] = append(p.wrong[from], now)
		return "", 0, nil
	}
	secret := make([]byte, 32)
	if _, err := io.ReadFull(p.random, secret); err != nil {
		return "", 0, err
	}
	token = hex.EncodeToString(secret)
	p.tokens = append(p.tokens, sha256.Sum256([]byte(token)))
	p.tokens = p.tokens[max(0, len(p.tokens)-maxTokens):]
	return token, 0, nil
}

// ask writes the page that asks for the code.
func (p *Phones) ask(s *server, w http.ResponseWriter, r *http.Request, status int, to, problem string) {
	var b bytes.Buffer
	if err := codeView(to, problem).Render(r.Context(), &b); err != nil {
		s.Log.Error("a view failed", "path", r.URL.Path, "error", err)
		http.Error(w, "Something went wrong inside the program.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes())
}

// backTo is the address to come back to after the code.
func backTo(r *http.Request) string {
	if r.Method != http.MethodGet {
		return "/"
	}
	return safePath(r.URL.RequestURI())
}

// safePath is an address of ours, or "/" for one that is none.
func safePath(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.Scheme != "" || u.Host != "" || u.User != nil || !strings.HasPrefix(to, "/") ||
		strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\r\n\t") || len(to) > 500 {
		return "/"
	}
	return to
}
