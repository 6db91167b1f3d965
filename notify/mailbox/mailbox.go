package mailbox

import (
	"cmp"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"slices"
	"strconv"
	"sync"
	"time"

	gosmtp "github.com/emersion/go-smtp"
)

// Security says how the mailbox is spoken to.
type Security string

// The ways to speak to a mailbox.
const (
	Plaintext   Security = ""
	StartTLS    Security = "starttls"
	ImplicitTLS Security = "tls"
)

// Limits of our own: enough for any demonstration, small enough to forget about.
const (
	defaultKeep = 1000     // messages
	maxBytes    = 10 << 20 // octets of one message
	idleTimeout = 5 * time.Minute
	stopTimeout = 10 * time.Second
)

// Options shape a mailbox. The zero value is a plaintext server on a free
// loopback port.
type Options struct {
	Security Security
	Username string // AUTH PLAIN is required when set; needs TLS
	Password string
	Keep     int          // messages kept, the oldest go first; 0 means 1000
	MaxBytes int64        // largest message taken, in octets; 0 means 10 MiB
	Address  string       // host:port to listen on; empty means 127.0.0.1:0
	Listener net.Listener // instead of Address
	Script   Script
}

// Mailbox is a running server. All methods are safe for concurrent use.
type Mailbox struct {
	opts     Options
	cert     tls.Certificate
	pool     *x509.CertPool
	listener net.Listener
	server   *gosmtp.Server
	served   chan struct{} // closed when Serve returned
	closing  chan struct{} // closed by Close; releases every hang

	mu       sync.Mutex
	closed   bool
	taps     map[*tap]struct{}
	script   Script
	messages []Message
	accepted int           // messages ever accepted
	verbs    []string      // commands seen in clear or under implicit TLS
	changed  chan struct{} // closed and replaced at every arrival and fault
}

// Start begins to listen. The caller must Close the mailbox.
func Start(opts Options) (*Mailbox, error) {
	if err := opts.check(); err != nil {
		return nil, fmt.Errorf("start mailbox: %w", err)
	}
	m := &Mailbox{
		opts: opts, script: slices.Clone(opts.Script), taps: map[*tap]struct{}{},
		served: make(chan struct{}), closing: make(chan struct{}), changed: make(chan struct{}),
	}
	var err error
	if m.cert, m.pool, err = newCertificate(); err != nil {
		return nil, fmt.Errorf("start mailbox: %w", err)
	}
	l := opts.Listener
	if l == nil {
		if l, err = net.Listen("tcp", opts.address()); err != nil {
			return nil, fmt.Errorf("start mailbox: %w", err)
		}
	}
	m.listener = &tapListener{Listener: l, m: m}
	m.server = m.newServer()
	go func() {
		defer close(m.served)
		m.server.Serve(m.listener)
	}()
	return m, nil
}

func (o Options) check() error {
	if !slices.Contains([]Security{Plaintext, StartTLS, ImplicitTLS}, o.Security) {
		return fmt.Errorf("security %q is not one of starttls, tls, or empty for none", string(o.Security))
	}
	if o.Username != "" && o.Security == Plaintext {
		return errors.New("a password needs TLS: set security to starttls or tls")
	}
	return o.Script.check(o.Security)
}

func (o Options) address() string {
	if o.Address != "" {
		return o.Address
	}
	return "127.0.0.1:0"
}

func (m *Mailbox) newServer() *gosmtp.Server {
	s := gosmtp.NewServer(gosmtp.BackendFunc(m.newSession))
	s.Domain = "mailbox.example"
	s.ErrorLog = log.New(io.Discard, "", 0) // a dropped connection is no news here
	s.ReadTimeout, s.WriteTimeout = idleTimeout, idleTimeout
	s.EnableDSN = true
	if s.MaxMessageBytes = m.opts.MaxBytes; s.MaxMessageBytes == 0 {
		s.MaxMessageBytes = maxBytes
	}
	switch m.opts.Security {
	case StartTLS:
		s.TLSConfig = m.tls()
	case ImplicitTLS:
		s.AllowInsecureAuth = true // the TLS is below the tap, where the server does not see it
	}
	return s
}

func (m *Mailbox) tls() *tls.Config {
	return &tls.Config{
		MinVersion:   tls.VersionTLS12,
		Certificates: []tls.Certificate{m.cert},
		// Tickets are written before the client's next command is read, which
		// is a deadlock on a connection without a buffer such as net.Pipe.
		SessionTicketsDisabled: true,
	}
}

// Addr is where the mailbox listens, as host:port.
func (m *Mailbox) Addr() string { return m.listener.Addr().String() }

// Host is the address to connect to; it is in the certificate.
func (m *Mailbox) Host() string {
	host, _, _ := net.SplitHostPort(m.Addr())
	return host
}

// Port is the port to connect to, 0 if the listener has none.
func (m *Mailbox) Port() int {
	_, port, _ := net.SplitHostPort(m.Addr())
	n, _ := strconv.Atoi(port)
	return n
}

// CertPool holds the certificate that this mailbox made for itself.
func (m *Mailbox) CertPool() *x509.CertPool { return m.pool }

// Messages returns what was accepted and is still kept, oldest first.
func (m *Mailbox) Messages() []Message {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.Clone(m.messages)
}

// Commands returns the command verbs that were readable on the wire, in order:
// all of them, except after STARTTLS.
func (m *Mailbox) Commands() []string {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.Clone(m.verbs)
}

// SetScript replaces the faults for what comes from now on.
func (m *Mailbox) SetScript(s Script) error {
	if err := s.check(m.opts.Security); err != nil {
		return fmt.Errorf("set mailbox script: %w", err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.script = slices.Clone(s)
	return nil
}

// Wait returns the kept messages as soon as n have been accepted since Start,
// or an error when ctx ends or the mailbox is closed first.
func (m *Mailbox) Wait(ctx context.Context, n int) ([]Message, error) {
	for {
		m.mu.Lock()
		accepted, changed, kept := m.accepted, m.changed, slices.Clone(m.messages)
		m.mu.Unlock()
		if accepted >= n {
			return kept, nil
		}
		select {
		case <-changed:
		case <-m.closing:
			return kept, fmt.Errorf("wait for mail: mailbox closed with %d of %d messages", accepted, n)
		case <-ctx.Done():
			return kept, fmt.Errorf("wait for mail: %d of %d messages came: %w", accepted, n, ctx.Err())
		}
	}
}

func (m *Mailbox) keep(msg Message) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.accepted++
	m.messages = append(m.messages, msg)
	limit := m.opts.Keep
	if limit <= 0 {
		limit = defaultKeep
	}
	if extra := len(m.messages) - limit; extra > 0 {
		m.messages = slices.Delete(m.messages, 0, extra)
	}
	m.announce()
}

// announce wakes everyone who waits; the caller holds the lock.
func (m *Mailbox) announce() {
	close(m.changed)
	m.changed = make(chan struct{})
}

// Close ends every connection, hung ones included, and waits for them.
func (m *Mailbox) Close() error {
	m.mu.Lock()
	if m.closed {
		m.mu.Unlock()
		return nil
	}
	m.closed = true
	close(m.closing)
	for t := range m.taps {
		t.raw.Close()
	}
	m.mu.Unlock()
	ctx, cancel := context.WithTimeout(context.Background(), stopTimeout)
	defer cancel()
	// The server knows its listener only once Serve runs, so it is closed here.
	if err := cmp.Or(m.listener.Close(), m.server.Shutdown(ctx)); err != nil {
		return fmt.Errorf("close mailbox: %w", err)
	}
	<-m.served
	return nil
}
