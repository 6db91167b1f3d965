package smtp

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"strings"
	"sync"
	"testing"

	"antidotary/notify/mailbox"
)

var letter = []byte("From: watch@reptiles.example\r\nTo: keeper@keepers.example\r\nSubject: permit\r\n\r\n" +
	".begins with a dot\r\n" + strings.Repeat("The permit ends in thirty days.\r\n", 40))

var envelope = Envelope{From: "bounce@reptiles.example", To: "keeper@keepers.example", ID: "outbox-17"}

func mustMailbox(t testing.TB, opts mailbox.Options) *mailbox.Mailbox {
	t.Helper()
	m, err := mailbox.Start(opts)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := m.Close(); err != nil {
			t.Error(err)
		}
	})
	return m
}

// configFor is what an operator would write for m.
func configFor(m *mailbox.Mailbox, opts mailbox.Options) Config {
	cfg := Config{
		Host: m.Host(), Port: m.Port(), RootCAs: m.CertPool(), HelloName: "watch.reptiles.example",
		Username: opts.Username, Password: Secret(opts.Password),
	}
	switch opts.Security {
	case mailbox.StartTLS:
		cfg.Security = StartTLS
	case mailbox.Plaintext:
		cfg.Security = Plaintext
	}
	return cfg
}

func mustSender(t testing.TB, cfg Config) *Sender {
	t.Helper()
	s, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// phases records what the hooks saw.
type phases struct {
	seen       []Phase
	beforeData int
}

func (p *phases) hooks() Hooks {
	return Hooks{
		BeforeData: func(context.Context) error { p.beforeData++; return nil },
		Phase:      func(ph Phase) { p.seen = append(p.seen, ph) },
	}
}

// dialogue is a server that says exactly what the test says, octet for octet.
type dialogue struct {
	mu    sync.Mutex
	lines []string // what the client wrote
	done  chan struct{}
}

// talk starts a dialogue on a sender without TLS. Each line is "S " and what
// the server writes (CRLF is added unless it ends in \n), "C " and how the
// client's next line must begin, "C." for everything up to the final dot, or
// "close". After the last, the server reads on without answering until the
// client closes.
func talk(t *testing.T, s *Sender, script ...string) *dialogue {
	t.Helper()
	server, client := net.Pipe()
	d := &dialogue{done: make(chan struct{})}
	s.dial = func(context.Context, string, string) (net.Conn, error) { return client, nil }
	go func() {
		defer close(d.done)
		defer server.Close()
		in := bufio.NewReader(server)
		for _, step := range script {
			if err := d.step(server, in, step); err != nil {
				if err != io.EOF && err != io.ErrClosedPipe {
					t.Errorf("%s: %v", step, err)
				}
				return
			}
		}
		for {
			if _, err := d.read(in); err != nil {
				return
			}
		}
	}()
	t.Cleanup(func() { client.Close(); <-d.done })
	return d
}

func (d *dialogue) step(w net.Conn, in *bufio.Reader, step string) error {
	switch {
	case step == "close":
		return io.EOF
	case step == "C.":
		for {
			line, err := d.read(in)
			if err != nil || line == ".\r\n" {
				return err
			}
		}
	case strings.HasPrefix(step, "C "):
		line, err := d.read(in)
		if err == nil && !strings.HasPrefix(line, step[2:]) {
			return fmt.Errorf("client wrote %q", line)
		}
		return err
	}
	say := step[2:]
	if !strings.HasSuffix(say, "\n") {
		say += "\r\n"
	}
	_, err := io.WriteString(w, say)
	return err
}

func (d *dialogue) read(in *bufio.Reader) (string, error) {
	line, err := in.ReadString('\n')
	d.mu.Lock()
	defer d.mu.Unlock()
	if line != "" {
		d.lines = append(d.lines, line)
	}
	return line, err
}

// wrote waits for the end of the dialogue and returns what the client wrote.
func (d *dialogue) wrote() string {
	<-d.done
	d.mu.Lock()
	defer d.mu.Unlock()
	return strings.Join(d.lines, "")
}

// plainSender speaks to a dialogue.
func plainSender(t testing.TB) *Sender {
	return mustSender(t, Config{Host: "mail.example", Security: Plaintext, AllowPlaintext: true, HelloName: "watch.reptiles.example"})
}

func mustBe(t *testing.T, r Result, outcome Outcome, phase Phase) {
	t.Helper()
	if r.Outcome != outcome || r.Phase != phase {
		t.Errorf("%s in %s (code %d, %v), want %s in %s", r.Outcome, r.Phase, r.Code, r.Err, outcome, phase)
	}
	if (r.Err == nil) != (r.Outcome == Sent) {
		t.Errorf("outcome %s with error %v", r.Outcome, r.Err)
	}
}
