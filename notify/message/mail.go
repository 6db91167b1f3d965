package message

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	netmail "net/mail"
	"strings"
	"time"

	"github.com/emersion/go-message"
	"github.com/emersion/go-message/mail"
	"github.com/google/uuid"
)

// maxListID is the limit of RFC 2919 section 3 for a list identifier, in octets.
const maxListID = 255

// Mail is one mail for one person, before it is rendered.
type Mail struct {
	ID         string    // UUID in its 36-character lower-case form, given by the caller
	From, To   Address   // addresses checked by CheckAddress, names cleaned
	BounceTo   string    // envelope sender; empty means From.Addr. Not in the bytes
	Date       time.Time // instant of composing, written in UTC with whole seconds
	Subject    string    // cleaned
	Text       string    // plain text, cleaned, never empty
	HTML       string    // the same in HTML; empty gives a mail of one plain part
	ListID     string    // like a host name; empty means antidotary.<domain of From>
	InReplyTo  string    // a MessageID of an earlier mail, or empty
	References []string  // MessageIDs, oldest first
}

// MessageID is the identifier that other mails refer to, without angle
// brackets: <ID>@<domain of From>.
func (m Mail) MessageID() string {
	return m.ID + "@" + domainOf(m.From.Addr)
}

// Envelope gives the SMTP sender, to which bounces go, and the one recipient.
func (m Mail) Envelope() (from, to string) {
	if m.BounceTo != "" {
		return m.BounceTo, m.To.Addr
	}
	return m.From.Addr, m.To.Addr
}

// Check reports every field that Bytes would refuse, by its name.
func (m Mail) Check() error {
	var errs []error
	refuse := func(field string, err error) {
		if err != nil {
			errs = append(errs, fmt.Errorf("%s: %w", field, err))
		}
	}
	refuse("id", checkID(m.ID))
	refuse("from", CheckAddress(m.From.Addr))
	refuse("to", CheckAddress(m.To.Addr))
	if m.BounceTo != "" {
		refuse("bounce to", CheckAddress(m.BounceTo))
	}
	if y := m.Date.UTC().Year(); m.Date.IsZero() || y < 1900 || y > 9999 {
		refuse("date", errors.New("must be set, in the years 1900 to 9999"))
	}
	if strings.TrimSpace(bodyText(m.Text)) == "" {
		refuse("text", errors.New("must not be empty"))
	}
	if m.ListID != "" && (len(m.ListID) > maxListID || !isHostName(m.ListID)) {
		refuse("list id", fmt.Errorf("must look like a host name of at most %d octets", maxListID))
	}
	if m.InReplyTo != "" {
		refuse("in reply to", checkMessageID(m.InReplyTo))
	}
	for i, ref := range m.References {
		refuse(fmt.Sprintf("references[%d]", i), checkMessageID(ref))
	}
	return errors.Join(errs...)
}

func checkID(id string) error {
	if u, err := uuid.Parse(id); err != nil || u.String() != id {
		return errors.New("must be a UUID such as 6ba7b810-9dad-41d1-80b4-00c04fd430c8")
	}
	return nil
}

// checkMessageID takes only what MessageID gives.
func checkMessageID(id string) error {
	local, domain, _ := strings.Cut(id, "@")
	if checkID(local) != nil || len(domain) > MaxAddress || !isHostName(domain) {
		return errors.New("must be a message id as given by MessageID, without angle brackets")
	}
	return nil
}

// Bytes renders the mail: CRLF line ends, ASCII only, lines of at most 76
// octets in bodies and at most 998 anywhere. The same Mail gives the same
// bytes. The error names each refused field and holds no address.
func (m Mail) Bytes() ([]byte, error) {
	if err := m.Check(); err != nil {
		return nil, fmt.Errorf("build mail: %w", err)
	}
	var buf bytes.Buffer
	write := m.writeAlternative
	if m.HTML == "" {
		write = m.writePlain
	}
	if err := write(&buf); err != nil {
		return nil, fmt.Errorf("build mail: %w", err)
	}
	return buf.Bytes(), nil
}

func (m Mail) writePlain(w io.Writer) error {
	h := m.header()
	setText(&h.Header, "text/plain")
	body, err := message.CreateWriter(w, h.Header)
	if err != nil {
		return fmt.Errorf("write header: %w", err)
	}
	return writeBody(body, m.Text)
}

func (m Mail) writeAlternative(w io.Writer) error {
	h := m.header()
	// "=_" cannot occur in quoted-printable text, so no body can hold the boundary.
	h.SetContentType("multipart/alternative", map[string]string{"boundary": "=_" + m.ID})
	mw, err := message.CreateWriter(w, h.Header)
	if err != nil {
		return fmt.Errorf("write header: %w", err)
	}
	// Readers show the last part they can, so the plain one goes first (RFC 2046 5.1.4).
	for _, p := range []struct{ media, body string }{{"text/plain", m.Text}, {"text/html", m.HTML}} {
		var ph message.Header
		setText(&ph, p.media)
		pw, err := mw.CreatePart(ph)
		if err != nil {
			return fmt.Errorf("write %s part: %w", p.media, err)
		}
		if err := writeBody(pw, p.body); err != nil {
			return err
		}
	}
	return mw.Close()
}

func setText(h *message.Header, media string) {
	h.Set("Content-Transfer-Encoding", "quoted-printable")
	h.SetContentType(media, map[string]string{"charset": "utf-8"})
}

func writeBody(w io.WriteCloser, s string) error {
	if _, err := io.WriteString(w, bodyText(s)); err != nil {
		return fmt.Errorf("write body: %w", err)
	}
	return w.Close()
}

// header sets the fields last first: go-message puts each new one on top.
func (m Mail) header() mail.Header {
	var h mail.Header
	h.Set("MIME-Version", "1.0")
	h.Set("X-Auto-Response-Suppress", "All")   // the same wish as the next, for Exchange
	h.Set("Auto-Submitted", "auto-generated")  // RFC 3834 section 5
	h.Set("List-Id", "<"+m.listID()+">")       // RFC 2919
	h.SetMsgIDList("References", m.References) // RFC 5322 3.6.4
	h.SetMsgIDList("In-Reply-To", oneOrNone(m.InReplyTo))
	h.SetMessageID(m.MessageID())
	h.Set("Subject", encodeText(headerText(m.Subject)))
	h.Set("To", m.To.header())
	h.Set("From", m.From.header())
	h.SetDate(m.Date.UTC())
	return h
}

func (m Mail) listID() string {
	if m.ListID != "" {
		return m.ListID
	}
	return "antidotary." + domainOf(m.From.Addr)
}

func (a Address) header() string {
	name := displayName(a.Name)
	if isASCII(name) {
		return (&netmail.Address{Name: name, Address: a.Addr}).String()
	}
	return encodeWords(name) + " <" + a.Addr + ">"
}

func oneOrNone(id string) []string {
	if id == "" {
		return nil
	}
	return []string{id}
}
