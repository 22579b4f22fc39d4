package page

import "net/netip"

// ClientAddress is who sent a request: of IPv6 the network of 64 bits, within which
// one device may take any address (RFC 4291, 2.5.4).
func ClientAddress(remote string) netip.Addr {
	at, err := netip.ParseAddrPort(remote)
	if err != nil {
		return netip.Addr{}
	}
	addr := at.Addr().Unmap().WithZone("")
	if addr.Is6() {
		if network, err := addr.Prefix(64); err == nil {
			return network.Addr()
		}
	}
	return addr
}
