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

// One test for each way in which the client underneath surprises: what go-smtp
// does by itself is in the comment, what we make of it in the test.

// go-smtp: no deadline while the body is written; Write blocks for ever.
func TestGoSMTPBodyHasNoDeadline(t *testing.T) {
	inBubble(t, mailbox.Script{{At: mailbox.Body, Do: mailbox.Hang}}, func(t *testing.T, m *mailbox.Mailbox, s *Sender) {
		start := time.Now()
		r := s.Send(t.Context(), envelope, append(letter, strings.Repeat("more\r\n", 100_000)...), Hooks{})
		mustBe(t, r, Retry, PhaseBody)
		if took := time.Since(start); took > DefaultBeforeDot {
			t.Errorf("took %v", took)
		}
	})
}

// go-smtp: closing the data writer flushes up to 4 KiB of body, dot included,
// before it sets the submission timeout. Here the whole mail waits in that
// buffer and nobody reads: the dot has not left, so it is no Ambiguous.
func TestGoSMTPCloseFlushesBeforeItsTimeout(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := plainSender(t)
		server, client := net.Pipe()
		defer server.Close()
		s.dial = func(context.Context, string, string) (net.Conn, error) { return client, nil }
		go func() {
			buf := make([]byte, 4096)
			for _, say := range []string{"220 hi", "250 hi", "250 ok", "250 ok"} {
				server.Write([]byte(say + "\r\n"))
				server.Read(buf)
			}
			server.Write([]byte("354 go\r\n"))
		}()
		start := time.Now()
		r := s.Send(t.Context(), envelope, []byte("Subject: x\r\n\r\nx\r\n"), Hooks{})
		mustBe(t, r, Retry, PhaseBody)
		if took := time.Since(start); took != DefaultBeforeDot {
			t.Errorf("took %v", took)
		}
	})
}

// go-smtp: the lost 250 is a bare io.EOF, the late one a net.Error; neither is
// an SMTPError. Covered by TestFaults and TestHangs; here that both are told
// from the same errors before the dot.
func TestGoSMTPLostReplyIsNoReply(t *testing.T) {
	m := mustMailbox(t, mailbox.Options{Script: mailbox.Script{
		{At: mailbox.Rcpt, Do: mailbox.Drop, Times: 1}, {At: mailbox.Dot, Do: mailbox.Lose, Times: 1},
	}})
	s := mustSender(t, configFor(m, mailbox.Options{}))
	mustBe(t, s.Send(t.Context(), envelope, letter, Hooks{}), Retry, PhaseRcpt)
	mustBe(t, s.Send(t.Context(), envelope, letter, Hooks{}), Ambiguous, PhaseReply)
}

// go-smtp: QUIT or RSET after a half-written body first writes the final dot,
// so that the half is delivered. The session must not say a word more.
func TestGoSMTPQuitEndsHalfAMail(t *testing.T) {
	s := plainSender(t)
	ctx, cancel := context.WithCancel(t.Context())
	server, client := net.Pipe()
	s.dial = func(context.Context, string, string) (net.Conn, error) { return client, nil }
	got := make(chan string)
	go func() {
		defer server.Close()
		var all strings.Builder
		buf := make([]byte, 4096)
		for _, say := range []string{"220 hi", "250 hi", "250 ok", "250 ok", "354 go"} {
			server.Write([]byte(say + "\r\n"))
			n, _ := server.Read(buf)
			all.Write(buf[:n])
		}
		cancel() // with most of the body still to come
		for {
			n, err := server.Read(buf)
			all.Write(buf[:n])
			if err != nil {
				got <- all.String()
				return
			}
		}
	}()
	session := s.Session()
	r := session.Send(ctx, envelope, append(letter, strings.Repeat("more\r\n", 100_000)...), Hooks{})
	mustBe(t, r, Retry, PhaseBody)
	session.Close()
	if wire := <-got; strings.Contains(wire, "\r\n.\r\n") || strings.Contains(wire, "QUIT") || strings.Contains(wire, "RSET") {
		t.Errorf("the half was ended: ...%q", wire[max(0, len(wire)-80):])
	}
}

// go-smtp: client-side refusals are plain errors. They are neither temporary
// nor ambiguous.
func TestGoSMTPClientSideRefusals(t *testing.T) {
	s := plainSender(t)
	s.dial = func(context.Context, string, string) (net.Conn, error) {
		t.Error("connected")
		return nil, errors.New("no")
	}
	tests := []struct {
		name    string
		env     Envelope
		body    []byte
		outcome Outcome
	}{
		{"line end in recipient", Envelope{From: envelope.From, To: "a@x.example\r\nDATA"}, letter, Dead},
		{"no recipient", Envelope{From: envelope.From}, letter, Dead},
		{"recipient that needs SMTPUTF8", Envelope{From: envelope.From, To: "zoë@x.example"}, letter, Dead},
		{"line end in sender", Envelope{From: "a@x.example\n", To: envelope.To}, letter, ConfigFault},
		{"no sender", Envelope{To: envelope.To}, letter, ConfigFault},
		{"empty mail", envelope, nil, Dead},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			mustBe(t, s.Send(t.Context(), tt.env, tt.body, Hooks{}), tt.outcome, PhaseCheck)
		})
	}
}

// go-smtp: checks addresses for CR and LF only and sends the rest as given.
func TestGoSMTPParameterInjection(t *testing.T) {
	m := mustMailbox(t, mailbox.Options{})
	s := mustSender(t, configFor(m, mailbox.Options{}))
	r := s.Send(t.Context(), Envelope{From: envelope.From, To: "b@x.example> NOTIFY=NEVER <"}, letter, Hooks{})
	mustBe(t, r, Dead, PhaseCheck)
	r = s.Send(t.Context(), Envelope{From: "a@x.example> SIZE=1 BODY=<", To: envelope.To}, letter, Hooks{})
	mustBe(t, r, ConfigFault, PhaseCheck)
	if seen := m.Commands(); len(seen) != 0 {
		t.Errorf("on the wire: %v", seen)
	}
}

// go-smtp: EHLO keywords are compared as written; "250-starttls" is not seen.
func TestGoSMTPLowerCaseKeywords(t *testing.T) {
	s := plainSender(t)
	d := talk(t, s, "S 220 hi", "C EHLO", "S 250-hi there\r\n250-size 10000000\r\n250 dsn",
		"C MAIL FROM:<bounce@reptiles.example> RET=HDRS ENVID=outbox-17\r\n", "S 250 ok", "C RCPT", "S 250 ok",
		"C DATA", "S 354 go", "C.", "S 250 ok", "C QUIT", "S 221 bye")
	mustBe(t, s.Send(t.Context(), envelope, letter, Hooks{}), Sent, PhaseReply)
	if wire := d.wrote(); !strings.Contains(wire, "\r\n..begins with a dot\r\n") {
		t.Errorf("dot not stuffed: %q", wire)
	}
}

func TestGoSMTPLowerCaseStartTLS(t *testing.T) {
	s := plainSender(t)
	s.cfg.Security = StartTLS
	talk(t, s, "S 220 hi", "C EHLO", "S 250-hi\r\n250-starttls\r\n250 size", "C STARTTLS", "S 454 4.7.0 not now")
	mustBe(t, s.Send(t.Context(), envelope, letter, Hooks{}), Retry, PhaseStartTLS)
}

// go-smtp: "EHLO localhost" unless told otherwise, and before STARTTLS always.
func TestGoSMTPHelloNameBeforeStartTLS(t *testing.T) {
	s := plainSender(t)
	s.cfg.Security = StartTLS
	d := talk(t, s, "S 220 hi", "C EHLO watch.reptiles.example\r\n", "S 504 5.5.2 who are you")
	mustBe(t, s.Send(t.Context(), envelope, letter, Hooks{}), ConfigFault, PhaseHello)
	if wire := d.wrote(); strings.Contains(wire, "localhost") {
		t.Errorf("client wrote %q", wire)
	}
}

func TestHelloNameDefaultsToTheAddress(t *testing.T) {
	for want, addr := range map[string]net.Addr{
		"[192.0.2.7]":         &net.TCPAddr{IP: net.IPv4(192, 0, 2, 7)},
		"[IPv6:2001:db8::25]": &net.TCPAddr{IP: net.ParseIP("2001:db8::25")},
	} {
		if got := addressLiteral(addr); got != want || !isHelloName(got) {
			t.Errorf("%v gives %q, want %q", addr, got, want)
		}
	}
}

// go-smtp: a bare CR passes and lines are not limited.
func TestGoSMTPPassesBareCRAndLongLines(t *testing.T) {
	m := mustMailbox(t, mailbox.Options{})
	s := mustSender(t, configFor(m, mailbox.Options{}))
	for name, body := range map[string]string{
		"bare CR":             "Subject: x\r\n\r\na\rb\r\n",
		"bare LF":             "Subject: x\r\n\r\na\nb\r\n",
		"smuggled end":        "Subject: x\r\n\r\na\n.\nMAIL FROM:<c@x.example>\r\n",
		"no end of last line": "Subject: x\r\n\r\na",
		"line of 999 octets":  "Subject: x\r\n\r\n" + strings.Repeat("x", 999) + "\r\n",
		"8-bit text":          "Subject: x\r\n\r\nGrüße\r\n",
		"NUL":                 "Subject: x\r\n\r\na\x00b\r\n",
	} {
		t.Run(name, func(t *testing.T) {
			mustBe(t, s.Send(t.Context(), envelope, []byte(body), Hooks{}), Dead, PhaseCheck)
		})
	}
	ok := "Subject: x\r\n\r\n" + strings.Repeat("x", 998) + "\r\n"
	mustBe(t, s.Send(t.Context(), envelope, []byte(ok), Hooks{}), Sent, PhaseReply)
	if got := m.Messages(); len(got) != 1 || string(got[0].Data) != ok {
		t.Errorf("ledger %v", got)
	}
}

// go-smtp: a bad certificate shows at the command after STARTTLS, as its error.
func TestGoSMTPBadCertificateShowsLate(t *testing.T) {
	opts := mailbox.Options{Security: mailbox.StartTLS}
	m := mustMailbox(t, opts)
	cfg := configFor(m, opts)
	cfg.RootCAs = nil
	r := mustSender(t, cfg).Send(t.Context(), envelope, letter, Hooks{})
	mustBe(t, r, ConfigFault, PhaseTLS)
	if !strings.Contains(r.Err.Error(), "certificate") {
		t.Errorf("error does not say why: %v", r.Err)
	}
}

// go-smtp: whatever the server (or somebody between) sent behind the 220 of
// STARTTLS is dropped in silence. It is a sign of meddling.
func TestGoSMTPDropsOctetsBeforeTLS(t *testing.T) {
	s := plainSender(t)
	s.cfg.Security = StartTLS
	talk(t, s, "S 220 hi", "C EHLO", "S 250-hi\r\n250 STARTTLS", "C STARTTLS", "S 220 go\r\n250 injected")
	mustBe(t, s.Send(t.Context(), envelope, letter, Hooks{}), ConfigFault, PhaseStartTLS)
}

// go-smtp: collects a reply without end until its timeout.
func TestGoSMTPEndlessReply(t *testing.T) {
	s := plainSender(t)
	talk(t, s, "S 220 hi", "C EHLO", "S "+strings.Repeat("250-x\r\n", 20_000))
	r := s.Send(t.Context(), envelope, letter, Hooks{})
	mustBe(t, r, Retry, PhaseHello)
	if !errors.Is(r.Err, errReplyTooLong) {
		t.Errorf("error %v", r.Err)
	}
}

// go-smtp: expects exactly 250 and 354.
func TestGoSMTPOddReplies(t *testing.T) {
	opening := []string{"S 220 hi", "C EHLO", "S 250 hi", "C MAIL", "S 250 ok", "C RCPT"}
	afterDot := append(opening[:len(opening):len(opening)], "S 250 ok", "C DATA", "S 354 go", "C.")
	tests := []struct {
		name    string
		script  []string
		outcome Outcome
		phase   Phase
		reply   string
	}{
		{"not SMTP at all", []string{"S HTTP/1.1 400 Bad Request"}, Retry, PhaseGreeting, ""},
		{"bare LF in replies", []string{"S 220 hi\n", "C EHLO", "S 250 hi\n", "C MAIL", "S 550 no\n"}, ConfigFault, PhaseMail, "no"},
		{"garbage at RCPT", append(opening[:6:6], "S what?"), Retry, PhaseRcpt, ""},
		{"251 at RCPT is acceptance", append(opening[:6:6], "S 251 will forward", "C DATA", "S 451 later"), Retry, PhaseData, "later"},
		{"garbage after dot", append(afterDot[:10:10], "S thanks"), Ambiguous, PhaseReply, ""},
		{"250 after dot in lines", append(afterDot[:10:10], "S 250-2.0.0 taken\r\n250 2.0.0 as 4711", "C QUIT"), Sent, PhaseReply, "taken 2.0.0 as 4711"},
		{"line of 3000 octets after dot", append(afterDot[:10:10], "S 250 "+strings.Repeat("x", 3000)), Ambiguous, PhaseReply, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := plainSender(t)
			talk(t, s, append(tt.script, "close")...)
			r := s.Send(t.Context(), envelope, letter, Hooks{})
			mustBe(t, r, tt.outcome, tt.phase)
			if r.Reply != tt.reply {
				t.Errorf("reply %q, want %q", r.Reply, tt.reply)
			}
		})
	}
}

// go-smtp: SIZE in MAIL would bring the 552 for one fat mail at a command where
// 5xx means that no mail can be sent. It is not declared, and looked at here.
func TestGoSMTPSizeLimit(t *testing.T) {
	m := mustMailbox(t, mailbox.Options{MaxBytes: 1000})
	s := mustSender(t, configFor(m, mailbox.Options{}))
	r := s.Send(t.Context(), envelope, letter, Hooks{})
	mustBe(t, r, Dead, PhaseMail)
	if !strings.Contains(r.Err.Error(), "at most 1000") {
		t.Errorf("error %v", r.Err)
	}
}
