package mailbox

import (
	"context"
	"crypto/tls"
	"errors"
	"io"
	"net"
	"net/smtp"
	"net/textproto"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The client here is the standard library's, not the one the mailbox is the
// oracle for.

const letter = "From: a@x.example\r\nTo: b@y.example\r\nSubject: =?utf-8?q?Gr=C3=BC=C3=9Fe?=\r\n" +
	"Mime-Version: 1.0\r\nContent-Type: multipart/alternative; boundary=b\r\n\r\n" +
	"--b\r\nContent-Type: text/plain; charset=utf-8\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n.dot =C3=BC\r\n" +
	"--b\r\nContent-Type: text/html; charset=utf-8\r\n\r\n<p>hi</p>\r\n--b--\r\n"

func mustStart(t *testing.T, opts Options) *Mailbox {
	t.Helper()
	m, err := Start(opts)
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

// send is one mail in full; it returns at the first error.
func send(m *Mailbox, auth smtp.Auth) error {
	conf := &tls.Config{RootCAs: m.CertPool(), ServerName: m.Host()}
	conn, err := net.Dial("tcp", m.Addr())
	if err != nil {
		return err
	}
	defer conn.Close()
	if m.opts.Security == ImplicitTLS {
		conn = tls.Client(conn, conf)
	}
	c, err := smtp.NewClient(conn, m.Host())
	if err != nil {
		return err
	}
	defer c.Close()
	if m.opts.Security == StartTLS {
		if err := c.StartTLS(conf); err != nil {
			return err
		}
	}
	if auth != nil {
		if err := c.Auth(auth); err != nil {
			return err
		}
	}
	if err := c.Mail("a@x.example"); err != nil {
		return err
	}
	if err := c.Rcpt("b@y.example"); err != nil {
		return err
	}
	w, err := c.Data()
	if err != nil {
		return err
	}
	if _, err := io.WriteString(w, letter); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	return c.Quit()
}

func TestMailArrives(t *testing.T) {
	for _, sec := range []Security{Plaintext, StartTLS, ImplicitTLS} {
		t.Run("security "+string(sec), func(t *testing.T) {
			opts := Options{Security: sec}
			var auth smtp.Auth
			if sec != Plaintext {
				opts.Username, opts.Password = "watch", "open sesame"
			}
			m := mustStart(t, opts)
			if opts.Username != "" {
				auth = smtp.PlainAuth("", opts.Username, opts.Password, m.Host())
			}
			if err := send(m, auth); err != nil {
				t.Fatal(err)
			}
			got, err := m.Wait(t.Context(), 1)
			if err != nil {
				t.Fatal(err)
			}
			want := []Message{{
				From: "a@x.example", To: []string{"b@y.example"}, User: opts.Username, Data: []byte(letter),
				Subject: "Grüße", Text: ".dot ü", HTML: "<p>hi</p>",
			}}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("-want +got\n%s", diff)
			}
			if seen := m.Commands(); (sec == StartTLS) == slices.Contains(seen, "MAIL") {
				t.Errorf("commands in the clear: %v", seen)
			}
		})
	}
}

func TestAuthIsRequired(t *testing.T) {
	m := mustStart(t, Options{Security: StartTLS, Username: "watch", Password: "open sesame"})
	for name, tt := range map[string]struct {
		auth smtp.Auth
		code int
	}{
		"none":           {nil, 530},
		"wrong password": {smtp.PlainAuth("", "watch", "guess", m.Host()), 535},
		"wrong user":     {smtp.PlainAuth("", "root", "open sesame", m.Host()), 535},
	} {
		t.Run(name, func(t *testing.T) {
			var reply *textproto.Error
			if err := send(m, tt.auth); !errors.As(err, &reply) || reply.Code != tt.code {
				t.Errorf("got %v, want %d", err, tt.code)
			}
		})
	}
	if n := len(m.Messages()); n != 0 {
		t.Errorf("%d messages kept", n)
	}
}

func TestScript(t *testing.T) {
	tests := []struct {
		name  string
		sec   Security
		fault Fault
		code  int // of the reply, 0 for a lost connection, 250 for success
		kept  int
	}{
		{"greeting refused", Plaintext, Fault{At: Greeting, Reply: "554 5.3.2 no"}, 554, 0},
		{"greeting dropped", ImplicitTLS, Fault{At: Greeting, Do: Drop}, 0, 0},
		{"STARTTLS refused", StartTLS, Fault{At: AtStartTLS, Reply: "454 4.7.0 later"}, 454, 0},
		{"mail refused behind STARTTLS", StartTLS, Fault{At: Mail, Reply: "451 4.3.0 later"}, 451, 0},
		{"rcpt refused", Plaintext, Fault{At: Rcpt, Reply: "550 5.1.1 who"}, 550, 0},
		{"rcpt dropped behind STARTTLS", StartTLS, Fault{At: Rcpt, Do: Drop}, 0, 0},
		{"drop after rcpt", Plaintext, Fault{At: Rcpt, Do: DropAfter}, 0, 0},
		{"DATA refused", ImplicitTLS, Fault{At: Data, Reply: "554 5.0.0 no"}, 554, 0},
		{"body dropped", Plaintext, Fault{At: Body, Do: Drop}, 0, 0},
		{"refused after dot", Plaintext, Fault{At: Dot, Reply: "552 5.2.2 full"}, 552, 0},
		{"dropped after dot", Plaintext, Fault{At: Dot, Do: Drop}, 0, 0},
		{"reply lost", Plaintext, Fault{At: Dot, Do: Lose}, 0, 1},
		{"reply lost behind STARTTLS", StartTLS, Fault{At: Dot, Do: Lose}, 0, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.fault.Times = 1
			m := mustStart(t, Options{Security: tt.sec, Script: Script{tt.fault}})
			err := send(m, nil)
			var reply *textproto.Error
			if errors.As(err, &reply); err == nil || (reply == nil) != (tt.code == 0) || reply != nil && reply.Code != tt.code {
				t.Errorf("got %v, want %d", err, tt.code)
			}
			if n := len(m.Messages()); n != tt.kept {
				t.Errorf("%d messages kept, want %d", n, tt.kept)
			}
			// The fault is used up.
			if err := send(m, nil); err != nil {
				t.Errorf("second mail: %v", err)
			}
		})
	}
}

func TestRefusedOptions(t *testing.T) {
	for name, tt := range map[string]struct {
		opts Options
		want string
	}{
		"unknown security":        {Options{Security: "ssl"}, "security"},
		"password in the clear":   {Options{Username: "u", Password: "p"}, "needs TLS"},
		"reply without code":      {Options{Script: Script{{At: Mail, Reply: "no"}}}, "does not start with a code"},
		"step unknown":            {Options{Script: Script{{At: "quit", Do: Drop}}}, "no such step"},
		"action unknown":          {Options{Script: Script{{At: Mail, Do: "explode"}}}, "no such action"},
		"DATA behind STARTTLS":    {Options{Security: StartTLS, Script: Script{{At: Data, Do: Drop}}}, "behind STARTTLS"},
		"STARTTLS on plain":       {Options{Script: Script{{At: AtStartTLS, Do: Drop}}}, "needs security starttls"},
		"lose at MAIL":            {Options{Script: Script{{At: Mail, Do: Lose}}}, "final dot"},
		"drop after part of body": {Options{Script: Script{{At: Body, Do: DropAfter}}}, "no answer"},
	} {
		t.Run(name, func(t *testing.T) {
			m, err := Start(tt.opts)
			if err == nil {
				m.Close()
			}
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v, want %q", err, tt.want)
			}
		})
	}
}

func TestKeepDropsTheOldest(t *testing.T) {
	m := mustStart(t, Options{Keep: 2})
	for range 3 {
		if err := send(m, nil); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := m.Wait(t.Context(), 3); err != nil || len(got) != 2 {
		t.Errorf("%d kept, %v", len(got), err)
	}
}

func TestWaitEnds(t *testing.T) {
	m := mustStart(t, Options{})
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := m.Wait(ctx, 1); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	done := make(chan error)
	go func() {
		_, err := m.Wait(context.Background(), 1)
		done <- err
	}()
	m.Close()
	if err := <-done; err == nil || !strings.Contains(err.Error(), "closed") {
		t.Errorf("closed: %v", err)
	}
}

// Close must not wait for a client, nor for a hang of its own making.
func TestCloseReleasesEveryHang(t *testing.T) {
	for _, at := range []Step{Greeting, Hello, Mail, Rcpt, Data, Body, Dot} {
		t.Run(string(at), func(t *testing.T) {
			m := mustStart(t, Options{Script: Script{{At: at, Do: Hang, Times: 1}}})
			result := make(chan error)
			go func() { result <- send(m, nil) }()
			m.mustUse(t)
			if err := m.Close(); err != nil {
				t.Fatal(err)
			}
			if err := <-result; err == nil {
				t.Error("the client was told that all went well")
			}
		})
	}
}

// mustUse waits until the first fault is used up.
func (m *Mailbox) mustUse(t *testing.T) {
	t.Helper()
	for {
		m.mu.Lock()
		used, changed := m.script[0].Times < 0, m.changed
		m.mu.Unlock()
		if used {
			return
		}
		select {
		case <-changed:
		case <-t.Context().Done():
			t.Fatal("the fault was never reached")
		}
	}
}

func TestUnreadableMailIsKept(t *testing.T) {
	m := Message{Data: []byte("Content-Type: multipart/alternative\r\n\r\nno boundary")}
	m.parse()
	if m.ParseErr == nil {
		t.Error("no error")
	}
}
