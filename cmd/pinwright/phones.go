package main

import (
	"crypto/rand"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"strconv"
	"strings"
	"syscall"
	"time"

	"pinwright/web"
)

const phonesHelp = `also serve the pages at this ` + "`HOST:PORT`" + `, an address of this computer on the
workshop's network, for phones. Each phone types a code of eight digits once;
the program prints it at the start. Nothing on that network is encrypted, so
it should be the workshop's own, with nobody else on it. Without this flag no
other computer can reach the pages`

// phonesAddress reads HOST:PORT of an address at which phones reach this
// computer. Addresses that the whole world may reach are not taken.
func phonesAddress(text string, own []netip.Addr) (netip.AddrPort, error) {
	host, portText, err := net.SplitHostPort(text)
	if err != nil {
		return netip.AddrPort{}, fmt.Errorf("-phones is %q; it should be %s", text, phonesWanted(own))
	}
	port, err := strconv.ParseUint(portText, 10, 16)
	if err != nil {
		return netip.AddrPort{}, fmt.Errorf("-phones has the port %q; a port is a number from 0 to 65535", portText)
	}
	addr, err := netip.ParseAddr(host)
	switch {
	case err != nil:
		return netip.AddrPort{}, fmt.Errorf("-phones has the host %q; it should be %s", host, phonesWanted(own))
	case addr.IsUnspecified():
		return netip.AddrPort{}, fmt.Errorf("-phones has the host %q, which stands for every network that this computer is on; it should be %s", host, phonesWanted(own))
	case addr.IsLoopback():
		return netip.AddrPort{}, fmt.Errorf("-phones has the host %q, which no phone can reach; it should be %s", host, phonesWanted(own))
	case !onOwnNetwork(addr):
		return netip.AddrPort{}, fmt.Errorf("-phones has the host %q, which is not an address of a private network; it should be %s", host, phonesWanted(own))
	}
	return netip.AddrPortFrom(addr, uint16(port)), nil
}

// onOwnNetwork tells addresses that are not routed beyond a network of one's
// own: RFC 1918, RFC 4193 and, within one link, RFC 3927.
func onOwnNetwork(addr netip.Addr) bool {
	return addr.Zone() == "" && !addr.Is4In6() && (addr.IsPrivate() || addr.Is4() && addr.IsLinkLocalUnicast())
}

// phonesWanted says what -phones should be, and how to find that.
func phonesWanted(own []netip.Addr) string {
	var fit []string
	for _, addr := range own {
		if onOwnNetwork(addr) {
			fit = append(fit, netip.AddrPortFrom(addr, 8420).String())
		}
	}
	const where = "this computer's address on the workshop's network and a port"
	if len(fit) == 0 {
		return where + ", such as 192.168.1.20:8420; this computer seems to be on no such network: join it, then look under its network settings"
	}
	return where + "; on this computer that is " + strings.Join(fit, " or ") + " (its network settings say which network that is)"
}

// ownAddresses are the addresses of this computer.
func ownAddresses() []netip.Addr {
	networks, err := net.InterfaceAddrs()
	if err != nil {
		return nil
	}
	var own []netip.Addr
	for _, n := range networks {
		if prefix, err := netip.ParsePrefix(n.String()); err == nil {
			own = append(own, prefix.Addr())
		}
	}
	return own
}

// listenForPhones opens the address for phones and makes the door there.
func listenForPhones(address netip.AddrPort) (net.Listener, *web.Phones, error) {
	ln, err := net.Listen("tcp", address.String())
	const wsaEADDRNOTAVAIL = syscall.Errno(10049) // what Windows calls EADDRNOTAVAIL
	switch {
	case errors.Is(err, syscall.EADDRNOTAVAIL) || errors.Is(err, wsaEADDRNOTAVAIL):
		return nil, nil, fmt.Errorf("-phones has the host %s, which is not this computer's; it should be %s", address.Addr(), phonesWanted(ownAddresses()))
	case err != nil:
		return nil, nil, fmt.Errorf("-phones %s cannot be opened: %w", address, bare(err))
	}
	phones, err := web.NewPhones(ln.Addr().String(), time.Now, rand.Reader)
	if err != nil {
		ln.Close()
		return nil, nil, err
	}
	return ln, phones, nil
}
