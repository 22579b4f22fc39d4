package main

import "testing"

// Loopback is 127.0.0.0/8 (RFC 1122, section 3.2.1.3) and ::1 (RFC 4291,
// section 2.5.3).
func TestOnlyLoopbackAddressesAreServed(t *testing.T) {
	const only = "; the pages are for this computer alone, so it should be 127.0.0.1, ::1 or localhost"
	for text, want := range map[string]string{
		"127.0.0.1:8420":          "127.0.0.1:8420",
		"127.255.255.254:1":       "127.255.255.254:1",
		"[::1]:0":                 "[::1]:0",
		"localhost:65535":         "127.0.0.1:65535",
		"LocalHost:80":            "127.0.0.1:80",
		":8420":                   `-addr has the host ""` + only,
		"0.0.0.0:8420":            `-addr has the host "0.0.0.0"` + only,
		"[::]:8420":               `-addr has the host "::"` + only,
		"192.168.1.5:8420":        `-addr has the host "192.168.1.5"` + only,
		"128.0.0.1:8420":          `-addr has the host "128.0.0.1"` + only,
		"localhost.example:80":    `-addr has the host "localhost.example"` + only,
		"127.1:80":                `-addr has the host "127.1"` + only,
		"0127.0.0.1:80":           `-addr has the host "0127.0.0.1"` + only,
		"127.0.0.1 :80":           `-addr has the host "127.0.0.1 "` + only,
		"127.0.0.1":               `-addr is "127.0.0.1"; it should be a host and a port, such as 127.0.0.1:8420`,
		"8420":                    `-addr is "8420"; it should be a host and a port, such as 127.0.0.1:8420`,
		"::1:8420":                `-addr is "::1:8420"; it should be a host and a port, such as 127.0.0.1:8420`,
		"http://127.0.0.1:8420":   `-addr is "http://127.0.0.1:8420"; it should be a host and a port, such as 127.0.0.1:8420`,
		"":                        `-addr is ""; it should be a host and a port, such as 127.0.0.1:8420`,
		"127.0.0.1:":              `-addr has the port ""; a port is a number from 0 to 65535`,
		"127.0.0.1:65536":         `-addr has the port "65536"; a port is a number from 0 to 65535`,
		"127.0.0.1:-1":            `-addr has the port "-1"; a port is a number from 0 to 65535`,
		"127.0.0.1:http":          `-addr has the port "http"; a port is a number from 0 to 65535`,
		"127.0.0.1:8420/machines": `-addr has the port "8420/machines"; a port is a number from 0 to 65535`,
	} {
		addr, err := loopbackAddress(text)
		got := addr.String()
		if err != nil {
			got = err.Error()
		}
		if got != want {
			t.Errorf("%q gives\n\t%s\nwant\n\t%s", text, got, want)
		}
	}
}
