package certs

import (
	"net"
	"strings"
)

// localAddresses lists the addresses of interfaces that are up, loopback and point-to-point apart.
func localAddresses() ([]net.IP, error) {
	ifs, err := net.Interfaces()
	if err != nil {
		return nil, err
	}
	var ips []net.IP
	for _, i := range ifs {
		if i.Flags&net.FlagUp == 0 || i.Flags&(net.FlagLoopback|net.FlagPointToPoint) != 0 {
			continue
		}
		addrs, err := i.Addrs()
		if err != nil {
			continue // the interface went away just now
		}
		for _, a := range addrs {
			if n, ok := a.(*net.IPNet); ok && !n.IP.IsMulticast() {
				ips = append(ips, n.IP)
			}
		}
	}
	return ips, nil
}

// cleanLabel returns a name as one DNS label (RFC 1123: letters, digits, dashes), or "".
func cleanLabel(s string) string {
	s = strings.Trim(strings.ToLower(s), "-")
	if s == "" || len(s) > 63 {
		return ""
	}
	for _, r := range s {
		if (r < 'a' || r > 'z') && (r < '0' || r > '9') && r != '-' {
			return ""
		}
	}
	return s
}

// Loopback reports whether a listen address can be reached from this machine only.
func Loopback(listen string) bool {
	host, _, err := net.SplitHostPort(listen)
	if err != nil {
		return false
	}
	if host == "localhost" {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}
