package main

import (
	"bufio"
	"context"
	"io"
	"net"
	"net/http"
	"net/netip"
	"regexp"
	"strings"
	"testing"
	"time"
)

// Networks of one's own: 10/8, 172.16/12, 192.168/16 (RFC 1918, section 3),
// fc00::/7 (RFC 4193), 169.254/16 (RFC 3927).
func TestOnlyAddressesOfOnesOwnNetworkAreServedToPhones(t *testing.T) {
	own := []netip.Addr{netip.MustParseAddr("127.0.0.1"), netip.MustParseAddr("192.168.1.20"), netip.MustParseAddr("fe80::1"), netip.MustParseAddr("203.0.113.5")}
	const wanted = "it should be this computer's address on the workshop's network and a port; on this computer that is 192.168.1.20:8420 (its network settings say which network that is)"
	for text, want := range map[string]string{
		"192.168.1.20:8420":        "192.168.1.20:8420",
		"10.255.255.255:1":         "10.255.255.255:1",
		"172.31.0.1:8420":          "172.31.0.1:8420",
		"169.254.10.1:8420":        "169.254.10.1:8420",
		"[fd12:3456::7]:0":         "[fd12:3456::7]:0",
		"0.0.0.0:8420":             `-phones has the host "0.0.0.0", which stands for every network that this computer is on; ` + wanted,
		"[::]:8420":                `-phones has the host "::", which stands for every network that this computer is on; ` + wanted,
		":8420":                    `-phones has the host ""; ` + wanted,
		"127.0.0.1:8420":           `-phones has the host "127.0.0.1", which no phone can reach; ` + wanted,
		"[::1]:8420":               `-phones has the host "::1", which no phone can reach; ` + wanted,
		"172.32.0.1:8420":          `-phones has the host "172.32.0.1", which is not an address of a private network; ` + wanted,
		"203.0.113.5:8420":         `-phones has the host "203.0.113.5", which is not an address of a private network; ` + wanted,
		"[2001:db8::1]:8420":       `-phones has the host "2001:db8::1", which is not an address of a private network; ` + wanted,
		"[fe80::1%eth0]:8420":      `-phones has the host "fe80::1%eth0", which is not an address of a private network; ` + wanted,
		"[::ffff:192.168.1.2]:80":  `-phones has the host "::ffff:192.168.1.2", which is not an address of a private network; ` + wanted,
		"224.0.0.1:8420":           `-phones has the host "224.0.0.1", which is not an address of a private network; ` + wanted,
		"localhost:8420":           `-phones has the host "localhost"; ` + wanted,
		"bench.local:8420":         `-phones has the host "bench.local"; ` + wanted,
		"192.168.1.20":             `-phones is "192.168.1.20"; ` + wanted,
		"192.168.1.20:70000":       `-phones has the port "70000"; a port is a number from 0 to 65535`,
		"http://192.168.1.20:8420": `-phones is "http://192.168.1.20:8420"; ` + wanted,
	} {
		addr, err := phonesAddress(text, own)
		got := addr.String()
		if err != nil {
			got = err.Error()
		}
		if got != want {
			t.Errorf("%q gives\n\t%s\nwant\n\t%s", text, got, want)
		}
	}
	_, err := phonesAddress("all", nil)
	if want := `-phones is "all"; it should be this computer's address on the workshop's network and a port, such as 192.168.1.20:8420; this computer seems to be on no such network: join it, then look under its network settings`; err == nil || err.Error() != want {
		t.Errorf("on no network: %v", err)
	}
}

func TestWrongAddressForPhonesIsRefusedBeforeAnythingIsMade(t *testing.T) {
	r := call("-data", t.TempDir()+"/data", "-addr", "127.0.0.1:0", "-phones", "0.0.0.0:8420")
	if r.status != refused || r.out != "" || !strings.Contains(r.err, `-phones has the host "0.0.0.0", which stands for every network`) {
		t.Errorf("status %d, output %q, errors %q", r.status, r.out, r.err)
	}
	// An address of documentation for networks of one's own is nobody's here.
	r = call("-data", t.TempDir()+"/data", "-addr", "127.0.0.1:0", "-phones", "[fd00:db8:dead:beef::9]:8420")
	if r.status != refused || r.out != "" || !strings.Contains(r.err, "-phones has the host fd00:db8:dead:beef::9, which is not this computer's") && !strings.Contains(r.err, "cannot be opened") {
		t.Errorf("status %d, output %q, errors %q", r.status, r.out, r.err)
	}
}

// The whole program, at an address of this computer's own network.
func TestPhonesAreServedBesideThisComputer(t *testing.T) {
	var own netip.Addr
	for _, addr := range ownAddresses() {
		if onOwnNetwork(addr) {
			own = addr
		}
	}
	if !own.IsValid() {
		t.Skip("this computer is on no network of its own")
	}
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	out, in := io.Pipe()
	errors, status := &lockedBuffer{}, make(chan int, 1)
	go func() {
		status <- run(ctx, []string{"-data", t.TempDir(), "-addr", "127.0.0.1:0", "-phones", net.JoinHostPort(own.String(), "0")}, in, errors)
		in.Close()
	}()
	lines := bufio.NewScanner(out)
	said := make(chan [2]string, 1)
	go func() {
		var two [2]string
		for i := range two {
			lines.Scan()
			two[i] = lines.Text()
		}
		said <- two
	}()
	var here, there string
	select {
	case two := <-said:
		here = strings.TrimPrefix(two[0], "Pinwright is at ")
		m := regexp.MustCompile(`^Phones: (http://\S+:\d+), code (\d{4} \d{4})$`).FindStringSubmatch(two[1])
		if m == nil {
			t.Fatalf("it says %q, errors %q", two, errors)
		}
		there = m[1]
	case <-time.After(patience):
		t.Fatalf("it does not say where it is; errors %q", errors)
	}
	client := http.Client{Timeout: patience}
	for address, want := range map[string]int{here: http.StatusOK, there: http.StatusForbidden} {
		r, err := client.Get(address)
		if err != nil {
			t.Fatal(err)
		}
		r.Body.Close()
		if r.StatusCode != want {
			t.Errorf("%s answers %d, want %d", address, r.StatusCode, want)
		}
	}
	stop()
	select {
	case got := <-status:
		if got != done || errors.String() != "" {
			t.Errorf("it ends with status %d, errors %q", got, errors)
		}
	case <-time.After(patience):
		t.Fatal("it does not stop")
	}
}
