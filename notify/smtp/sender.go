package smtp

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"

	"antidotary/notify/message"
)

// Envelope is who a mail comes from and the one person it goes to.
type Envelope struct {
	From string // address that gets the bounces
	To   string // the only recipient
	// ID comes back in delivery reports (ENVID, RFC 3461) where the server
	// offers DSN: the outbox id. Left out when empty, over 100 octets or not
	// printable ASCII, because a report is not worth a mail.
	ID string
}

func (e Envelope) check() error {
	if err := message.CheckAddress(e.To); err != nil {
		return &refusal{Dead, "recipient: " + err.Error()}
	}
	if err := message.CheckAddress(e.From); err != nil {
		return &refusal{ConfigFault, "sender: " + err.Error()}
	}
	return nil
}

// Hooks are called by Send in its own goroutine; any may be nil.
type Hooks struct {
	// BeforeData is called once the recipient is accepted, before DATA. An
	// error from it ends the attempt as Retry with nothing sent. Its context
	// ends with the time allowed before the final dot.
	BeforeData func(ctx context.Context) error
	// Phase is called as each phase begins.
	Phase func(Phase)
	// Connected is called with the server's address once the connection is made.
	Connected func(net.Addr)
	// Secured is called once the handshake is over and the certificate holds.
	Secured func(tls.ConnectionState)
}

// Sender sends through one smarthost. It is safe for concurrent use.
type Sender struct {
	cfg  Config
	dial func(ctx context.Context, network, address string) (net.Conn, error)
}

// New checks the configuration and fills in its defaults. It connects nowhere.
func New(cfg Config) (*Sender, error) {
	if err := cfg.Check(); err != nil {
		return nil, fmt.Errorf("check mail server settings: %w", err)
	}
	return &Sender{cfg: cfg.withDefaults(), dial: new(net.Dialer).DialContext}, nil
}

// Send makes one attempt over a connection of its own. Ending ctx closes the
// connection at once: before the final dot that is a Retry, after it Ambiguous,
// so a service that stops should let a running Send finish if it can wait
// Config.LongestAttempt.
func (s *Sender) Send(ctx context.Context, env Envelope, body []byte, hooks Hooks) Result {
	session := s.Session()
	defer session.Close()
	return session.Send(ctx, env, body, hooks)
}

// Session returns a sender for several mails over one connection, which is
// opened by the first Send. The caller must Close it.
func (s *Sender) Session() *Session { return &Session{sender: s} }

var errBeforeDot = errors.New("took longer than allowed before the final dot")
