package smtp

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/textproto"
	"strings"
	"time"

	"github.com/emersion/go-sasl"
	gosmtp "github.com/emersion/go-smtp"
)

// link is an open connection that is ready for MAIL.
type link struct {
	raw    net.Conn // closing it interrupts whatever goes on above
	wire   *wire
	client *gosmtp.Client
	mails  int  // transactions begun
	dirty  bool // a transaction is open, RSET first
}

// connect brings a connection to the point where MAIL may follow. Ending ctx
// closes it.
func (s *Sender) connect(ctx context.Context, a *attempt) (*link, error) {
	a.enter(PhaseConnect)
	dialCtx, cancel := context.WithTimeout(ctx, s.cfg.Timeouts.Connect)
	defer cancel()
	raw, err := s.dial(dialCtx, "tcp", s.cfg.address())
	if err != nil {
		return nil, err
	}
	if a.hooks.Connected != nil {
		a.hooks.Connected(raw.RemoteAddr())
	}
	stop := context.AfterFunc(ctx, func() { raw.Close() })
	l, err := s.negotiate(ctx, raw, a)
	if !stop() && err == nil {
		err = context.Cause(ctx)
	}
	if err != nil {
		raw.Close()
		return nil, err
	}
	return l, nil
}

func (s *Sender) negotiate(ctx context.Context, raw net.Conn, a *attempt) (*link, error) {
	if s.cfg.Security == Plaintext && !s.cfg.AllowPlaintext && !isLoopbackAddr(raw.RemoteAddr()) {
		return nil, &refusal{ConfigFault, "host name leads to another machine; plaintext is only allowed to this one"}
	}
	name := s.cfg.HelloName
	if name == "" {
		name = addressLiteral(raw.LocalAddr())
	}
	conn, err := s.secure(ctx, raw, name, a)
	if err != nil {
		return nil, err
	}
	w := newWire(conn, "220 greeting was read before\r\n")
	c := gosmtp.NewClient(w)
	c.CommandTimeout, c.SubmissionTimeout = s.cfg.Timeouts.Command, s.cfg.Timeouts.FinalReply
	a.enter(PhaseHello)
	if err := c.Hello(name); err != nil {
		return nil, err
	}
	if s.cfg.Username != "" {
		a.enter(PhaseAuth)
		if err := s.auth(c); err != nil {
			return nil, err
		}
	}
	return &link{raw: raw, wire: w, client: c}, nil
}

// secure reads the greeting and returns the connection that everything else
// runs over. STARTTLS is done here because go-smtp says "EHLO localhost" before
// it, which strict servers refuse, and shows a bad certificate only at the
// command after it.
func (s *Sender) secure(ctx context.Context, raw net.Conn, name string, a *attempt) (net.Conn, error) {
	conn := raw
	if s.cfg.Security == ImplicitTLS {
		var err error
		if conn, err = s.handshake(ctx, raw, a); err != nil {
			return nil, err
		}
	}
	a.enter(PhaseGreeting)
	p := &preamble{textproto.NewConn(newWire(conn, "")), conn, s.cfg.Timeouts.Command}
	if _, err := p.reply(220); err != nil {
		return nil, err
	}
	if s.cfg.Security == StartTLS {
		if err := p.startTLS(name, a.enter); err != nil {
			return nil, err
		}
	}
	// Whatever came with the reply came before the encryption, from anybody.
	if p.text.R.Buffered() > 0 {
		return nil, errMoreThanAsked
	}
	if s.cfg.Security == StartTLS {
		return s.handshake(ctx, raw, a)
	}
	return conn, nil
}

func (s *Sender) handshake(ctx context.Context, raw net.Conn, a *attempt) (net.Conn, error) {
	a.enter(PhaseTLS)
	ctx, cancel := context.WithTimeout(ctx, s.cfg.Timeouts.Command)
	defer cancel()
	c := tls.Client(raw, s.cfg.tls())
	if err := c.HandshakeContext(ctx); err != nil {
		return nil, err
	}
	if a.hooks.Secured != nil {
		a.hooks.Secured(c.ConnectionState())
	}
	return c, nil
}

func (s *Sender) auth(c *gosmtp.Client) error {
	var mechanism sasl.Client
	switch {
	case c.SupportsAuth(sasl.Plain):
		mechanism = sasl.NewPlainClient("", s.cfg.Username, string(s.cfg.Password))
	case c.SupportsAuth(sasl.Login): // all that some servers offer
		mechanism = sasl.NewLoginClient(s.cfg.Username, string(s.cfg.Password))
	default:
		return errNoAuth
	}
	err := c.Auth(mechanism)
	if errors.Is(err, sasl.ErrUnexpectedServerChallenge) {
		return errOtherChallenge
	}
	return err
}

// preamble is the dialogue before go-smtp takes over.
type preamble struct {
	text    *textproto.Conn
	conn    net.Conn
	timeout time.Duration
}

func (p *preamble) startTLS(name string, enter func(Phase)) error {
	enter(PhaseHello)
	offered, err := p.command(250, "EHLO "+name)
	if err != nil {
		return err
	}
	enter(PhaseStartTLS)
	if !offersStartTLS(offered) {
		return errNoStartTLS
	}
	_, err = p.command(220, "STARTTLS")
	return err
}

func offersStartTLS(hello string) bool {
	for i, line := range strings.Split(hello, "\n") {
		if i > 0 && line == "STARTTLS" {
			return true
		}
	}
	return false
}

func (p *preamble) command(expect int, line string) (string, error) {
	p.conn.SetDeadline(time.Now().Add(p.timeout))
	if err := p.text.PrintfLine("%s", line); err != nil {
		return "", err
	}
	return p.reply(expect)
}

func (p *preamble) reply(expect int) (string, error) {
	p.conn.SetDeadline(time.Now().Add(p.timeout))
	defer p.conn.SetDeadline(time.Time{})
	_, msg, err := p.text.ReadResponse(expect)
	if bad := new(textproto.Error); errors.As(err, &bad) {
		return "", asReply(bad.Code, bad.Msg)
	}
	return msg, err
}

// asReply takes the enhanced code (RFC 2034) off the front of a reply's text.
func asReply(code int, msg string) *gosmtp.SMTPError {
	r := &gosmtp.SMTPError{Code: code, Message: msg}
	first, rest, _ := strings.Cut(msg, " ")
	var e gosmtp.EnhancedCode
	if n, _ := fmt.Sscanf(first, "%d.%d.%d", &e[0], &e[1], &e[2]); n == 3 && e[0] == code/100 {
		r.EnhancedCode, r.Message = e, rest
	}
	return r
}

// addressLiteral is the EHLO argument of a host that has no name to give
// (RFC 5321 4.1.4). "localhost", the default of go-smtp, is refused by strict servers.
func addressLiteral(a net.Addr) string {
	tcp, ok := a.(*net.TCPAddr)
	switch {
	case !ok:
		return "localhost"
	case tcp.IP.To4() != nil:
		return "[" + tcp.IP.String() + "]"
	}
	return "[IPv6:" + tcp.IP.String() + "]"
}

func isLoopbackAddr(a net.Addr) bool {
	tcp, ok := a.(*net.TCPAddr)
	return ok && tcp.IP.IsLoopback()
}
