package mailbox

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"github.com/emersion/go-message/mail"
)

// Message is one accepted mail.
type Message struct {
	From       string   // MAIL FROM
	To         []string // RCPT TO, in order
	EnvelopeID string   // ENVID, or empty
	User       string   // who authenticated, or empty
	Data       []byte   // as received, dots unstuffed

	Subject string // decoded
	Text    string // the text/plain part, LF line ends
	HTML    string // the text/html part, LF line ends
	// ParseErr says why Subject, Text and HTML may be incomplete, or is nil.
	ParseErr error
}

// parse fills the readable fields. A mail that cannot be read is kept all the same.
func (m *Message) parse() {
	r, err := mail.CreateReader(bytes.NewReader(m.Data))
	if err != nil {
		m.ParseErr = fmt.Errorf("read mail: %w", err)
		return
	}
	defer r.Close()
	if m.Subject, err = r.Header.Subject(); err != nil {
		m.ParseErr = fmt.Errorf("decode subject: %w", err)
	}
	for {
		part, err := r.NextPart()
		if err == io.EOF {
			return
		}
		if err == nil {
			err = m.addPart(part)
		}
		if err != nil {
			m.ParseErr = fmt.Errorf("read part: %w", err)
			return
		}
	}
}

func (m *Message) addPart(p *mail.Part) error {
	h, ok := p.Header.(*mail.InlineHeader)
	if !ok {
		return nil
	}
	media, _, err := h.ContentType()
	if err != nil {
		return err
	}
	body, err := io.ReadAll(p.Body)
	if err != nil {
		return err
	}
	text := strings.ReplaceAll(string(body), "\r\n", "\n")
	switch media {
	case "text/plain":
		m.Text += text
	case "text/html":
		m.HTML += text
	}
	return nil
}
