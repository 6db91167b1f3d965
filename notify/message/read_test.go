package message

import (
	"bytes"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	netmail "net/mail"
	"strings"
	"testing"
)

// read is what a stranger's mail program gets out of our bytes. It uses the
// standard library only, so that a fault of the writing library shows.
type read struct {
	header     netmail.Header
	subject    string
	from, to   []*netmail.Address
	text, html string
}

func mustRead(t testing.TB, raw []byte) read {
	t.Helper()
	msg, err := netmail.ReadMessage(bytes.NewReader(raw))
	if err != nil {
		t.Fatalf("read mail: %v\n%s", err, raw)
	}
	r := read{header: msg.Header}
	if r.subject, err = new(mime.WordDecoder).DecodeHeader(msg.Header.Get("Subject")); err != nil {
		t.Fatalf("decode subject: %v", err)
	}
	if r.from, err = msg.Header.AddressList("From"); err != nil {
		t.Fatalf("read From: %v", err)
	}
	if r.to, err = msg.Header.AddressList("To"); err != nil {
		t.Fatalf("read To: %v", err)
	}
	media, params, err := mime.ParseMediaType(msg.Header.Get("Content-Type"))
	if err != nil {
		t.Fatalf("read content type: %v", err)
	}
	if media == "text/plain" {
		r.text = mustDecode(t, msg.Body)
		return r
	}
	parts := multipart.NewReader(msg.Body, params["boundary"])
	for n := 0; ; n++ {
		p, err := parts.NextRawPart()
		if err == io.EOF && n == 2 {
			return r
		}
		if err != nil {
			t.Fatalf("read part %d: %v\n%s", n, err, raw)
		}
		body := mustDecode(t, p)
		switch got := p.Header.Get("Content-Type"); {
		case n == 0 && got == "text/plain; charset=utf-8":
			r.text = body
		case n == 1 && got == "text/html; charset=utf-8":
			r.html = body
		default:
			t.Fatalf("part %d is %q", n, got)
		}
	}
}

func mustDecode(t testing.TB, r io.Reader) string {
	t.Helper()
	b, err := io.ReadAll(quotedprintable.NewReader(r))
	if err != nil {
		t.Fatalf("decode quoted-printable: %v", err)
	}
	return strings.ReplaceAll(string(b), "\r\n", "\n")
}

// mustBeSafe fails unless raw can be handed to any SMTP server as it is.
func mustBeSafe(t testing.TB, raw []byte) {
	t.Helper()
	if !bytes.HasSuffix(raw, []byte("\r\n")) {
		t.Fatalf("the last line does not end: %q", raw)
	}
	inBody := false
	for line := range bytes.SplitSeq(bytes.TrimSuffix(raw, []byte("\r\n")), []byte("\r\n")) {
		if bytes.ContainsAny(line, "\r\n\x00") {
			t.Fatalf("bare CR or LF, or NUL, in %q", line)
		}
		if bytes.Contains(line, []byte("=?utf-8?q?")) && len(line) > 76 && !inBody && !bytes.Contains(line, []byte("@")) {
			t.Fatalf("line with an encoded word has %d octets: %q", len(line), line)
		}
		if len(line) > 998 || inBody && len(line) > 76 {
			t.Fatalf("line of %d octets: %q", len(line), line)
		}
		if i := bytes.IndexFunc(line, func(r rune) bool { return r > 0x7e || r < ' ' && r != '\t' }); i >= 0 {
			t.Fatalf("not printable ASCII: %q", line)
		}
		inBody = inBody || len(line) == 0
	}
}
