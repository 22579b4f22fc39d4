package main

import (
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os"
	"strconv"
	"strings"
	"syscall"
)

const defaultAddress = "127.0.0.1:8420"

// loopbackAddress reads HOST:PORT. The pages have no passwords, so that only
// addresses that no other computer can reach are taken.
func loopbackAddress(text string) (netip.AddrPort, error) {
	host, portText, err := net.SplitHostPort(text)
	if err != nil {
		return netip.AddrPort{}, fmt.Errorf("-addr is %q; it should be a host and a port, such as %s", text, defaultAddress)
	}
	port, err := strconv.ParseUint(portText, 10, 16)
	if err != nil {
		return netip.AddrPort{}, fmt.Errorf("-addr has the port %q; a port is a number from 0 to 65535", portText)
	}
	if strings.EqualFold(host, "localhost") {
		host = "127.0.0.1"
	}
	addr, err := netip.ParseAddr(host)
	if err != nil || !addr.IsLoopback() {
		return netip.AddrPort{}, fmt.Errorf("-addr has the host %q; the pages are for this computer alone, so it should be 127.0.0.1, ::1 or localhost", host)
	}
	return netip.AddrPortFrom(addr, uint16(port)), nil
}

// listen opens the address. Its error says what to do about it.
func listen(addr netip.AddrPort) (net.Listener, error) {
	ln, err := net.Listen("tcp", addr.String())
	const wsaEADDRINUSE = syscall.Errno(10048) // what Windows calls EADDRINUSE
	switch {
	case errors.Is(err, syscall.EADDRINUSE) || errors.Is(err, wsaEADDRINUSE):
		return nil, fmt.Errorf("%s is in use, perhaps by another pinwright; stop that one, or give another port with -addr 127.0.0.1:PORT", addr)
	case errors.Is(err, os.ErrPermission):
		return nil, fmt.Errorf("%s cannot be opened without more rights; give a port above 1023 with -addr 127.0.0.1:PORT", addr)
	case err != nil:
		return nil, fmt.Errorf("%s cannot be opened: %w", addr, err)
	}
	return ln, nil
}
