package smtp

import (
	"bytes"
	"fmt"
)

// maxLine is the longest line without its CRLF, in octets (RFC 5321 4.5.3.1.6).
const maxLine = 998

// CheckBody reports why body cannot be sent octet for octet, or nil.
//
// The client underneath turns LF into CRLF but passes a bare CR and lines of
// any length, and claims 8BITMIME wherever it is offered without being able to
// convert where it is not. So the stored bytes have to be plain already: ASCII
// without NUL, CRLF line ends only, the last line ended.
func CheckBody(body []byte) error {
	if len(body) == 0 {
		return &refusal{Dead, "mail is empty"}
	}
	number := 0
	for len(body) > 0 {
		number++
		line, rest, ok := bytes.Cut(body, []byte("\r\n"))
		switch {
		case !ok:
			return badLine(number, "does not end in CRLF")
		case len(line) > maxLine:
			return badLine(number, fmt.Sprintf("has %d octets, at most %d are allowed", len(line), maxLine))
		case bytes.ContainsAny(line, "\r\n"):
			return badLine(number, "has a bare CR or LF")
		case bytes.ContainsFunc(line, func(r rune) bool { return r == 0 || r > 0x7e }):
			return badLine(number, "has an octet that is not ASCII text")
		}
		body = rest
	}
	return nil
}

func badLine(number int, what string) error {
	return &refusal{Dead, fmt.Sprintf("line %d of the mail %s", number, what)}
}
