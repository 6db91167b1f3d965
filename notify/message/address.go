package message

import (
	"errors"
	"fmt"
	"net/mail"
	"strings"
)

// MaxAddress is the longest address accepted, in octets: RFC 5321 4.5.3.1.3
// gives a path 256 octets, two of which are the angle brackets.
const MaxAddress = 254

// Address is a mailbox with the name shown beside it.
type Address struct {
	Name string // shown to the reader, may be empty, any text (cleaned)
	Addr string // local@domain, ASCII, see CheckAddress
}

// specials would let an address end its own command or header early. SMTP
// clients send MAIL and RCPT parameters as given, so "b@x.example> NOTIFY=NEVER <"
// must die here.
const specials = "<>()[]\\,;: \"`"

// CheckAddress reports why addr cannot be used as the address of a person or
// of the service, or nil. It is meant for the moment a configuration or a form
// is read as well as for the moment of sending.
//
// Accepted is local@domain with a dot-atom local part and a domain of letters,
// digits and hyphens, at most MaxAddress octets. Quoted local parts, address
// literals and non-ASCII addresses are refused; an international domain is
// written in its xn-- form. The error never contains the address.
func CheckAddress(addr string) error {
	if addr == "" {
		return errors.New("mail address is empty; write it as name@domain")
	}
	if len(addr) > MaxAddress {
		return fmt.Errorf("mail address has %d octets; at most %d are allowed", len(addr), MaxAddress)
	}
	for i := range len(addr) {
		switch c := addr[i]; {
		case c < ' ' || c == 0x7f:
			return fmt.Errorf("mail address has a control character at octet %d", i+1)
		case c > 0x7f:
			return fmt.Errorf("mail address has a non-ASCII character at octet %d; write an international domain in its xn-- form", i+1)
		case strings.IndexByte(specials, c) >= 0:
			return fmt.Errorf("mail address has %q at octet %d; write only name@domain", c, i+1)
		}
	}
	parsed, err := mail.ParseAddress(addr)
	if err != nil || parsed.Name != "" || parsed.Address != addr {
		return errors.New("mail address is malformed; write it as name@domain")
	}
	if !isHostName(domainOf(addr)) {
		return errors.New("mail address has a malformed domain; allowed are letters, digits, hyphens and dots")
	}
	return nil
}

func domainOf(addr string) string {
	return addr[strings.LastIndexByte(addr, '@')+1:]
}

// isHostName reports whether s is dot-separated labels of letters, digits and
// inner hyphens, each of at most 63 octets (RFC 1123 2.1, RFC 1035 2.3.4).
func isHostName(s string) bool {
	for label := range strings.SplitSeq(s, ".") {
		if label == "" || len(label) > 63 || label[0] == '-' || label[len(label)-1] == '-' {
			return false
		}
		if strings.ContainsFunc(label, func(r rune) bool { return !isAlnum(r) && r != '-' }) {
			return false
		}
	}
	return true
}

func isAlnum(r rune) bool {
	return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9'
}
