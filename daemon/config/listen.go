package config

import (
	"fmt"
	"net"
)

// loopback refuses an address that others could reach: the page has no
// accounts yet.
func loopback(addr string) error {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return fmt.Errorf("%q is not host:port, such as 127.0.0.1:8732", addr)
	}
	if ip := net.ParseIP(host); host == "localhost" || ip != nil && ip.IsLoopback() {
		return nil
	}
	return fmt.Errorf("%q is not allowed: the page has no accounts, so loopback only (127.0.0.1, [::1] or localhost)", addr)
}
