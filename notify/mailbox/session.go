package mailbox

import (
	"io"
	"net"

	"github.com/emersion/go-sasl"
	gosmtp "github.com/emersion/go-smtp"
)

// session is one client's side of the ledger.
type session struct {
	m    *Mailbox
	tap  *tap
	user string
	msg  Message
}

func (m *Mailbox) newSession(c *gosmtp.Conn) (gosmtp.Session, error) {
	s := &session{m: m, tap: m.tapOf(c.Conn())}
	if err := s.step(Hello); err != nil {
		return nil, err
	}
	return s, nil
}

// step does what the script has for at and returns the reply of a refusal. A
// connection that was dropped gets an error nobody will read.
func (s *session) step(at Step) error {
	f := s.m.fault(at)
	if f == nil {
		return nil
	}
	switch f.Do {
	case Refuse:
		return f.reply()
	case DropAfter:
		s.tap.closeAfterReply.Store(true)
		return nil
	case Hang:
		<-s.m.closing
	}
	s.tap.raw.Close()
	return net.ErrClosed
}

func (s *session) AuthMechanisms() []string {
	if s.m.opts.Username == "" {
		return nil
	}
	return []string{sasl.Plain}
}

func (s *session) Auth(string) (sasl.Server, error) {
	if err := s.step(Auth); err != nil {
		return nil, err
	}
	return sasl.NewPlainServer(func(_, user, password string) error {
		if user != s.m.opts.Username || password != s.m.opts.Password {
			return gosmtp.ErrAuthFailed
		}
		s.user = user
		return nil
	}), nil
}

func (s *session) Mail(from string, opts *gosmtp.MailOptions) error {
	if err := s.step(Mail); err != nil {
		return err
	}
	if s.m.opts.Username != "" && s.user == "" {
		return &gosmtp.SMTPError{Code: 530, EnhancedCode: gosmtp.EnhancedCode{5, 7, 0}, Message: "Authentication required"}
	}
	s.msg = Message{From: from, EnvelopeID: opts.EnvelopeID, User: s.user}
	return nil
}

func (s *session) Rcpt(to string, _ *gosmtp.RcptOptions) error {
	if err := s.step(Rcpt); err != nil {
		return err
	}
	s.msg.To = append(s.msg.To, to)
	return nil
}

func (s *session) Data(r io.Reader) error {
	var start [64]byte
	n, err := io.ReadFull(r, start[:])
	if err != nil && err != io.ErrUnexpectedEOF && err != io.EOF {
		return err
	}
	if err := s.step(Body); err != nil {
		return err
	}
	rest, err := io.ReadAll(r)
	if err != nil {
		return err // cut off before the final dot, or too large: not accepted
	}
	s.msg.Data = append(start[:n:n], rest...)
	return s.finish()
}

// finish is the reply to the final dot.
func (s *session) finish() error {
	f := s.m.fault(Dot)
	switch {
	case f == nil:
		s.accept()
		return nil
	case f.Do == Refuse:
		reply := f.reply()
		if reply.Code/100 == 2 {
			s.accept()
		}
		return reply
	case f.Do == DropAfter:
		s.accept()
		s.tap.closeAfterReply.Store(true)
		return nil
	case f.Do == Hang:
		s.accept()
		<-s.m.closing
	case f.Do == Lose:
		s.accept()
	}
	s.tap.raw.Close()
	return net.ErrClosed
}

func (s *session) accept() {
	msg := s.msg
	msg.parse()
	s.m.keep(msg)
}

func (s *session) Reset()        { s.msg = Message{} }
func (s *session) Logout() error { return nil }
