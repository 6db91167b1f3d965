package message

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestCheckAddress(t *testing.T) {
	long := func(n int) string { // n octets in all
		const tail = "@reptiles.example"
		return strings.Repeat("a", n-len(tail)) + tail
	}
	tests := []struct {
		name, addr, want string // want is part of the error, empty means accepted
	}{
		{"ordinary", "keeper@reptiles.example", ""},
		{"tagged and dotted", "o.brook+snakes@mail.reptiles.example", ""},
		{"host without dot, for a smarthost on this machine", "root@localhost", ""},
		{"international domain in xn-- form", "keeper@xn--bcher-kva.example", ""},
		{"254 octets", long(254), ""},
		{"255 octets", long(255), "at most 254"},
		{"empty", "", "empty"},
		{"no at sign", "keeper", "malformed"},
		{"two at signs", "a@b@reptiles.example", "malformed"},
		{"no local part", "@reptiles.example", "malformed"},
		{"no domain", "keeper@", "malformed"},
		{"double dot", "a..b@reptiles.example", "malformed"},
		{"underscore in domain", "keeper@big_house.example", "domain"},
		{"hyphen at label start", "keeper@-house.example", "domain"},
		{"address literal", "keeper@[192.0.2.1]", "'['"},
		{"with name", "Olive Brook <o@reptiles.example>", "' '"},
		{"bare angle brackets", "<o@reptiles.example>", "'<'"},
		{"list", "a@reptiles.example,b@reptiles.example", "','"},
		{"quoted local part", `"a b"@reptiles.example`, "'\"'"},
		{"comment", "a(x)@reptiles.example", "'('"},
		{"group", "all:a@reptiles.example;", "':'"},
		{"backtick", "a`id`@reptiles.example", "'`'"},
		{"backslash", `a\b@reptiles.example`, `'\\'`},
		{"MAIL parameter injection", "a@x.example> SIZE=1 BODY=<", "'>'"},
		{"RCPT parameter injection", "b@x.example> NOTIFY=NEVER <", "'>'"},
		{"header injection", "a@x.example\r\nBcc: b@y.example", "control character at octet 12"},
		{"line feed only", "a@x.example\nBcc:b@y.example", "control character"},
		{"NUL", "a\x00@x.example", "control character at octet 2"},
		{"DEL", "a\x7f@x.example", "control character"},
		{"non-ASCII local part", "zoë@reptiles.example", "xn--"},
		{"non-ASCII domain", "a@büro.example", "xn--"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := CheckAddress(tt.addr)
			if tt.want == "" {
				if err != nil {
					t.Fatalf("refused: %v", err)
				}
				return
			}
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Fatalf("got error %v, want one with %q", err, tt.want)
			}
			if len(tt.addr) > 1 && strings.Contains(err.Error(), tt.addr) {
				t.Errorf("the error repeats the address: %v", err)
			}
		})
	}
}

// Whatever is accepted can stand between < and > of an SMTP command and
// between < and > of a header without a second thought.
func TestAcceptedAddressHasOnlyItsOwnAlphabet(t *testing.T) {
	const odd = "<>()[]\\,;: \"`\r\n\t\x00\x7fé@.a-"
	rapid.Check(t, func(t *rapid.T) {
		addr := rapid.StringOfN(rapid.RuneFrom([]rune("ab.-@_+'"+odd)), 0, 20, -1).Draw(t, "addr")
		if CheckAddress(addr) != nil {
			return
		}
		if strings.ContainsAny(addr, specials) || strings.Count(addr, "@") != 1 {
			t.Fatalf("accepted %q", addr)
		}
		for i := range len(addr) {
			if addr[i] <= ' ' || addr[i] >= 0x7f {
				t.Fatalf("accepted %q", addr)
			}
		}
	})
}
