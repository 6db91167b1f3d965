package message

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxName is where a display name is cut, in characters. Our own figure: long
// enough for a name with title and institution, short enough for one line.
const maxName = 120

// headerText makes s fit for a header that a person reads: one line, single
// spaces, valid UTF-8, nothing that hides or reorders text.
func headerText(s string) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	s = strings.Map(func(r rune) rune {
		if isHidden(r) {
			return ' '
		}
		return r
	}, s)
	return strings.Join(strings.Fields(s), " ")
}

func displayName(s string) string {
	s = headerText(s)
	if utf8.RuneCountInString(s) <= maxName {
		return s
	}
	return strings.TrimSpace(string([]rune(s)[:maxName-1])) + "…"
}

// bodyText makes s fit for a text part: LF line ends, one at the end, valid
// UTF-8, no control characters but tab.
func bodyText(s string) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	s = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\u2028", "\n", "\u2029", "\n").Replace(s)
	s = strings.Map(func(r rune) rune {
		if r != '\n' && r != '\t' && isHidden(r) {
			return -1
		}
		return r
	}, s)
	if !strings.HasSuffix(s, "\n") {
		s += "\n"
	}
	return s
}

// isHidden reports controls, line and paragraph separators, and the characters
// that change the direction of the text after them.
func isHidden(r rune) bool {
	return unicode.In(r, unicode.Cc, unicode.Zl, unicode.Zp) ||
		r >= 0x202A && r <= 0x202E || r >= 0x2066 && r <= 0x2069
}

// encodeText writes cleaned header text as RFC 2047 asks. Plain ASCII stays
// readable unless a reader would decode or refold it into something else: a
// literal "=?" and a word too long to fold are encoded too.
func encodeText(s string) string {
	if isASCII(s) && !strings.Contains(s, "=?") && !hasLongWord(s) {
		return s
	}
	return encodeWords(s)
}

// maxWord keeps an encoded word and the longest field name before it within
// the 76 octets that RFC 2047 section 2 allows such a line; its own limit for
// a word, 75, would leave no place to fold before the first one.
const maxWord = 64

// encodeWords writes s as Q-encoded words with the alphabet that is safe in a
// phrase (RFC 2047 section 5 rule 3), never splitting a character.
func encodeWords(s string) string {
	const open, end = "=?utf-8?q?", "?="
	var out strings.Builder
	length := 0 // of the word being written
	for _, r := range s {
		q := encodeRune(r)
		if length == 0 {
			out.WriteString(open)
		} else if length+len(q)+len(end) > maxWord {
			out.WriteString(end + " " + open)
			length = 0
		}
		if length == 0 {
			length = len(open)
		}
		out.WriteString(q)
		length += len(q)
	}
	return out.String() + end
}

func encodeRune(r rune) string {
	switch {
	case r == ' ':
		return "_"
	case isAlnum(r) || strings.ContainsRune("!*+-/", r):
		return string(r)
	}
	var q strings.Builder
	for _, b := range []byte(string(r)) {
		fmt.Fprintf(&q, "=%02X", b)
	}
	return q.String()
}

func isASCII(s string) bool {
	return !strings.ContainsFunc(s, func(r rune) bool { return r > unicode.MaxASCII })
}

func hasLongWord(s string) bool {
	for w := range strings.FieldsSeq(s) {
		if len(w) > maxWord {
			return true
		}
	}
	return false
}
