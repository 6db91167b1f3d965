package smtp

import (
	"context"
	"errors"
	"net"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"antidotary/notify/mailbox"
)

// pipes is a listener without a network, so that the time of a test is the
// bubble's and minutes pass at once. A pipe has no buffer: a peer that stops
// reading is a closed window from the first octet.
type pipes struct {
	conns chan net.Conn
	done  chan struct{}
}

func newPipes() *pipes { return &pipes{make(chan net.Conn), make(chan struct{})} }

func (p *pipes) dial(ctx context.Context, _, _ string) (net.Conn, error) {
	server, client := net.Pipe()
	select {
	case p.conns <- server:
		return client, nil
	case <-p.done:
		return nil, net.ErrClosed
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

func (p *pipes) Accept() (net.Conn, error) {
	select {
	case c := <-p.conns:
		return c, nil
	case <-p.done:
		return nil, net.ErrClosed
	}
}

func (p *pipes) Close() error   { close(p.done); return nil }
func (p *pipes) Addr() net.Addr { return &net.UnixAddr{Name: "pipe"} }

// inBubble runs f with a mailbox and a sender joined by pipes, on a clock of their own.
func inBubble(t *testing.T, script mailbox.Script, f func(t *testing.T, m *mailbox.Mailbox, s *Sender)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		l := newPipes()
		m := mustMailbox(t, mailbox.Options{Listener: l, Script: script})
		s := plainSender(t)
		s.dial = l.dial
		f(t, m, s)
	})
}

func TestHangs(t *testing.T) {
	tests := []struct {
		at      mailbox.Step
		outcome Outcome
		phase   Phase
		after   time.Duration
		kept    int
	}{
		{mailbox.Greeting, Retry, PhaseGreeting, DefaultCommand, 0},
		{mailbox.Hello, Retry, PhaseHello, DefaultCommand, 0},
		{mailbox.Mail, Retry, PhaseMail, DefaultCommand, 0},
		{mailbox.Rcpt, Retry, PhaseRcpt, DefaultCommand, 0},
		{mailbox.Data, Retry, PhaseData, DefaultCommand, 0},
		{mailbox.Body, Retry, PhaseBody, DefaultBeforeDot, 0},
		{mailbox.Dot, Ambiguous, PhaseReply, DefaultFinalReply, 1},
	}
	for _, tt := range tests {
		t.Run("at "+string(tt.at), func(t *testing.T) {
			inBubble(t, mailbox.Script{{At: tt.at, Do: mailbox.Hang}}, func(t *testing.T, m *mailbox.Mailbox, s *Sender) {
				long := append(letter, strings.Repeat("more\r\n", 10_000)...)
				start := time.Now()
				session := s.Session()
				r := session.Send(t.Context(), envelope, long, Hooks{})
				if took := time.Since(start); took != tt.after {
					t.Errorf("gave up after %v, want %v", took, tt.after)
				}
				mustBe(t, r, tt.outcome, tt.phase)
				session.Close()
				if took := time.Since(start); took != tt.after {
					t.Errorf("Close waited until %v", took)
				}
				if n := len(m.Messages()); n != tt.kept {
					t.Errorf("%d messages in the ledger", n)
				}
			})
		})
	}
}

// Silence of a minute at each command adds up to more than is allowed.
func TestSlowServerMeetsTheSumBeforeTheDot(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		l := newPipes()
		s := plainSender(t)
		s.dial = l.dial
		done := make(chan struct{})
		go func() { // 59 seconds for every answer
			defer close(done)
			c, err := l.Accept()
			if err != nil {
				return
			}
			defer c.Close()
			buf := make([]byte, 4096)
			for _, say := range []string{"220 hi", "250 hi", "250 ok", "250 ok", "354 go"} {
				time.Sleep(59 * time.Second)
				if _, err := c.Write([]byte(say + "\r\n")); err != nil {
					return
				}
				if _, err := c.Read(buf); err != nil {
					return
				}
			}
		}()
		start := time.Now()
		r := s.Send(t.Context(), envelope, letter, Hooks{})
		mustBe(t, r, Retry, PhaseRcpt)
		if took := time.Since(start); took != DefaultBeforeDot {
			t.Errorf("gave up after %v", took)
		}
		if !errors.Is(r.Err, errBeforeDot) {
			t.Errorf("error does not say why: %v", r.Err)
		}
		<-done
	})
}

// A reply that drips never lets the deadline start again.
func TestDrippingFinalReply(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := plainSender(t)
		server, client := net.Pipe()
		s.dial = func(context.Context, string, string) (net.Conn, error) { return client, nil }
		done := make(chan struct{})
		go func() {
			defer close(done)
			buf := make([]byte, 64<<10)
			for _, say := range []string{"220 hi", "250 hi", "250 ok", "250 ok", "354 go"} {
				server.Write([]byte(say + "\r\n"))
				server.Read(buf)
			}
			for { // one octet a minute
				if _, err := server.Write([]byte("2")); err != nil {
					return
				}
				time.Sleep(time.Minute)
			}
		}()
		start := time.Now()
		r := s.Send(t.Context(), envelope, []byte("Subject: x\r\n\r\nx\r\n"), Hooks{})
		mustBe(t, r, Ambiguous, PhaseReply)
		if took := time.Since(start); took != DefaultFinalReply {
			t.Errorf("gave up after %v", took)
		}
		<-done
	})
}

func TestCancelClosesAtOnce(t *testing.T) {
	tests := []struct {
		at      mailbox.Step
		outcome Outcome
		phase   Phase
	}{
		{mailbox.Greeting, Retry, PhaseGreeting},
		{mailbox.Rcpt, Retry, PhaseRcpt},
		{mailbox.Body, Retry, PhaseBody},
		{mailbox.Dot, Ambiguous, PhaseReply},
	}
	for _, tt := range tests {
		t.Run("at "+string(tt.at), func(t *testing.T) {
			inBubble(t, mailbox.Script{{At: tt.at, Do: mailbox.Hang}}, func(t *testing.T, m *mailbox.Mailbox, s *Sender) {
				ctx, cancel := context.WithCancelCause(t.Context())
				stopping := errors.New("service stops")
				time.AfterFunc(7*time.Second, func() { cancel(stopping) })
				start := time.Now()
				r := s.Send(ctx, envelope, append(letter, strings.Repeat("more\r\n", 10_000)...), Hooks{})
				mustBe(t, r, tt.outcome, tt.phase)
				if took := time.Since(start); took != 7*time.Second {
					t.Errorf("came back after %v", took)
				}
				if !errors.Is(r.Err, stopping) {
					t.Errorf("error does not say why: %v", r.Err)
				}
			})
		})
	}
}

func TestCancelledBeforeItBegan(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, m *mailbox.Mailbox, s *Sender) {
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		r := s.Send(ctx, envelope, letter, Hooks{})
		if r.Outcome != Retry || len(m.Messages()) != 0 {
			t.Errorf("%+v", r)
		}
	})
}

// A hook that waits for a database longer than the attempt may last finds its
// context ended, and nothing is sent.
func TestBeforeDataHasTheSameDeadline(t *testing.T) {
	inBubble(t, nil, func(t *testing.T, m *mailbox.Mailbox, s *Sender) {
		start := time.Now()
		r := s.Send(t.Context(), envelope, letter, Hooks{BeforeData: func(ctx context.Context) error {
			<-ctx.Done()
			return ctx.Err()
		}})
		mustBe(t, r, Retry, PhaseBeforeData)
		if took := time.Since(start); took != DefaultBeforeDot {
			t.Errorf("came back after %v", took)
		}
		if len(m.Messages()) != 0 {
			t.Error("sent all the same")
		}
	})
}

func TestLongestAttempt(t *testing.T) {
	const lease = 20 * time.Minute
	slowest := Config{Timeouts: Timeouts{BeforeDot: maxBeforeDot, FinalReply: maxFinalReply}}
	if got := slowest.LongestAttempt(); got != 15*time.Minute+quitTimeout || got >= lease {
		t.Errorf("longest attempt %v", got)
	}
}
