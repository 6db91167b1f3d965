package smtp

import (
	"net"
	"slices"
	"strings"
	"testing"

	"antidotary/notify/mailbox"
)

// Every fault point against the real server: one outcome each, and the
// server's own ledger as the witness of what was delivered.
func TestFaults(t *testing.T) {
	const plain, start, implicit = mailbox.Plaintext, mailbox.StartTLS, mailbox.ImplicitTLS
	refuse := func(at mailbox.Step, reply string) mailbox.Fault { return mailbox.Fault{At: at, Reply: reply} }
	do := func(at mailbox.Step, a mailbox.Action) mailbox.Fault { return mailbox.Fault{At: at, Do: a} }
	tests := []struct {
		name    string
		sec     mailbox.Security
		fault   mailbox.Fault
		outcome Outcome
		phase   Phase
		code    int
		enh     string
		kept    int // messages in the ledger
	}{
		{"greeting 421", plain, refuse(mailbox.Greeting, "421 4.3.2 busy"), Retry, PhaseGreeting, 421, "4.3.2", 0},
		{"greeting 421 under TLS", implicit, refuse(mailbox.Greeting, "421 4.3.2 busy"), Retry, PhaseGreeting, 421, "4.3.2", 0},
		{"greeting 554", plain, refuse(mailbox.Greeting, "554 5.3.2 no mail here"), ConfigFault, PhaseGreeting, 554, "5.3.2", 0},
		{"dropped before greeting", plain, do(mailbox.Greeting, mailbox.Drop), Retry, PhaseGreeting, 0, "", 0},
		{"dropped after greeting", plain, do(mailbox.Greeting, mailbox.DropAfter), Retry, PhaseHello, 0, "", 0},
		{"EHLO 451", plain, refuse(mailbox.Hello, "451 4.3.0 later"), Retry, PhaseHello, 451, "4.3.0", 0},
		{"EHLO 504", plain, refuse(mailbox.Hello, "504 5.5.2 bad name"), ConfigFault, PhaseHello, 504, "5.5.2", 0},
		{"EHLO 550 before STARTTLS", start, refuse(mailbox.Hello, "550 5.7.1 go away"), ConfigFault, PhaseHello, 550, "5.7.1", 0},
		{"EHLO and HELO 502", plain, refuse(mailbox.Hello, "502 5.5.1 what"), ConfigFault, PhaseHello, 502, "5.5.1", 0},
		{"dropped at EHLO", plain, do(mailbox.Hello, mailbox.Drop), Retry, PhaseHello, 0, "", 0},
		{"dropped after EHLO", plain, do(mailbox.Hello, mailbox.DropAfter), Retry, PhaseMail, 0, "", 0},
		{"STARTTLS 454", start, refuse(mailbox.AtStartTLS, "454 4.7.0 no TLS now"), Retry, PhaseStartTLS, 454, "4.7.0", 0},
		{"STARTTLS 502", start, refuse(mailbox.AtStartTLS, "502 5.5.1 no"), ConfigFault, PhaseStartTLS, 502, "5.5.1", 0},
		{"dropped at STARTTLS", start, do(mailbox.AtStartTLS, mailbox.Drop), Retry, PhaseStartTLS, 0, "", 0},
		{"dropped in the handshake", start, do(mailbox.AtStartTLS, mailbox.DropAfter), Retry, PhaseTLS, 0, "", 0},
		{"AUTH 535", start, refuse(mailbox.Auth, "535 5.7.8 no"), ConfigFault, PhaseAuth, 535, "5.7.8", 0},
		{"AUTH 534", implicit, refuse(mailbox.Auth, "534 5.7.9 stronger please"), ConfigFault, PhaseAuth, 534, "5.7.9", 0},
		{"AUTH 454", implicit, refuse(mailbox.Auth, "454 4.7.0 later"), Retry, PhaseAuth, 454, "4.7.0", 0},
		{"AUTH 421", start, refuse(mailbox.Auth, "421 4.7.0 too many"), Retry, PhaseAuth, 421, "4.7.0", 0},
		{"dropped at AUTH", start, do(mailbox.Auth, mailbox.Drop), Retry, PhaseAuth, 0, "", 0},
		{"dropped after AUTH", implicit, do(mailbox.Auth, mailbox.DropAfter), Retry, PhaseMail, 0, "", 0},
		{"MAIL 451", plain, refuse(mailbox.Mail, "451 4.3.0 later"), Retry, PhaseMail, 451, "4.3.0", 0},
		{"MAIL 452", start, refuse(mailbox.Mail, "452 4.3.1 full"), Retry, PhaseMail, 452, "4.3.1", 0},
		{"MAIL 530", plain, refuse(mailbox.Mail, "530 5.7.0 authenticate"), ConfigFault, PhaseMail, 530, "5.7.0", 0},
		{"MAIL 553", start, refuse(mailbox.Mail, "553 5.7.1 not yours"), ConfigFault, PhaseMail, 553, "5.7.1", 0},
		{"dropped at MAIL", implicit, do(mailbox.Mail, mailbox.Drop), Retry, PhaseMail, 0, "", 0},
		{"dropped after MAIL", plain, do(mailbox.Mail, mailbox.DropAfter), Retry, PhaseRcpt, 0, "", 0},
		{"RCPT 450 greylisting", plain, refuse(mailbox.Rcpt, "450 4.2.0 greylisted"), Retry, PhaseRcpt, 450, "4.2.0", 0},
		{"RCPT 421", plain, refuse(mailbox.Rcpt, "421 4.7.0 slow down"), Retry, PhaseRcpt, 421, "4.7.0", 0},
		{"RCPT 550", start, refuse(mailbox.Rcpt, "550 5.1.1 no such user"), Dead, PhaseRcpt, 550, "5.1.1", 0},
		{"RCPT 550 without enhanced code", plain, refuse(mailbox.Rcpt, "550 no such user"), Dead, PhaseRcpt, 550, "", 0},
		{"dropped at RCPT", plain, do(mailbox.Rcpt, mailbox.Drop), Retry, PhaseRcpt, 0, "", 0},
		{"dropped after RCPT", plain, do(mailbox.Rcpt, mailbox.DropAfter), Retry, PhaseData, 0, "", 0},
		{"DATA 451", implicit, refuse(mailbox.Data, "451 4.3.0 later"), Retry, PhaseData, 451, "4.3.0", 0},
		{"DATA 554", plain, refuse(mailbox.Data, "554 5.5.1 no valid recipients"), Dead, PhaseData, 554, "5.5.1", 0},
		{"DATA 250 instead of 354", plain, refuse(mailbox.Data, "250 2.0.0 fine"), Retry, PhaseData, 250, "2.0.0", 0},
		{"dropped at DATA", plain, do(mailbox.Data, mailbox.Drop), Retry, PhaseData, 0, "", 0},
		{"452 after dot", plain, refuse(mailbox.Dot, "452 4.3.1 disk full"), Retry, PhaseReply, 452, "4.3.1", 0},
		{"451 after dot", start, refuse(mailbox.Dot, "451 4.7.1 scanning"), Retry, PhaseReply, 451, "4.7.1", 0},
		{"421 after dot", start, refuse(mailbox.Dot, "421 4.3.0 stopping"), Retry, PhaseReply, 421, "4.3.0", 0},
		{"552 after dot", implicit, refuse(mailbox.Dot, "552 5.2.2 mailbox full"), Dead, PhaseReply, 552, "5.2.2", 0},
		{"554 after dot", plain, refuse(mailbox.Dot, "554 5.6.0 looks like spam"), Dead, PhaseReply, 554, "5.6.0", 0},
		{"251 after dot", plain, refuse(mailbox.Dot, "251 2.1.5 will forward"), Sent, PhaseReply, 251, "2.1.5", 1},
		{"354 after dot", plain, refuse(mailbox.Dot, "354 go on"), Ambiguous, PhaseReply, 354, "", 0},
		{"dropped after dot, mail lost", plain, do(mailbox.Dot, mailbox.Drop), Ambiguous, PhaseReply, 0, "", 0},
		{"dropped after dot, mail taken", plain, do(mailbox.Dot, mailbox.Lose), Ambiguous, PhaseReply, 0, "", 1},
		{"dropped after dot under STARTTLS", start, do(mailbox.Dot, mailbox.Lose), Ambiguous, PhaseReply, 0, "", 1},
		{"dropped after the last reply", plain, do(mailbox.Dot, mailbox.DropAfter), Sent, PhaseReply, 250, "2.0.0", 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			opts := mailbox.Options{Security: tt.sec, Script: mailbox.Script{tt.fault}}
			if tt.sec != plain {
				opts.Username, opts.Password = "watch", "open sesame"
			}
			m := mustMailbox(t, opts)
			var p phases
			r := mustSender(t, configFor(m, opts)).Send(t.Context(), envelope, letter, p.hooks())
			mustBe(t, r, tt.outcome, tt.phase)
			if r.Code != tt.code || r.Enhanced != tt.enh {
				t.Errorf("reply %d %q, want %d %q", r.Code, r.Enhanced, tt.code, tt.enh)
			}
			if n := len(m.Messages()); n != tt.kept {
				t.Errorf("%d messages in the ledger, want %d", n, tt.kept)
			}
			if started := p.beforeData == 1; started != slices.Contains(p.seen, PhaseData) {
				t.Errorf("data started: %v, phases %v", started, p.seen)
			}
		})
	}
}

// The mail written so far is larger than any buffer, so the client is still
// writing when the connection goes.
func TestDroppedMidBody(t *testing.T) {
	m := mustMailbox(t, mailbox.Options{Script: mailbox.Script{{At: mailbox.Body, Do: mailbox.Drop}}})
	long := slices.Concat(letter, []byte(strings.Repeat(strings.Repeat("x", 76)+"\r\n", 100_000)))
	r := mustSender(t, configFor(m, mailbox.Options{})).Send(t.Context(), envelope, long, Hooks{})
	mustBe(t, r, Retry, PhaseBody)
	if len(m.Messages()) != 0 {
		t.Error("half a mail was taken")
	}
}

func TestConnectRefused(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	port := l.Addr().(*net.TCPAddr).Port
	l.Close()
	r := mustSender(t, Config{Host: "127.0.0.1", Port: port}).Send(t.Context(), envelope, letter, Hooks{})
	mustBe(t, r, Retry, PhaseConnect)
}

// What must never happen: a password or a mail on an unencrypted or unproven
// connection. Each of these is a fault of configuration, not a reason to retry.
func TestTLSIsRequired(t *testing.T) {
	auth := mailbox.Options{Username: "watch", Password: "open sesame"}
	with := func(s mailbox.Security) mailbox.Options { o := auth; o.Security = s; return o }
	tests := []struct {
		name   string
		server mailbox.Options
		spoil  func(*Config)
		phase  Phase
	}{
		{"STARTTLS missing or stripped", mailbox.Options{}, func(c *Config) { c.Security = StartTLS }, PhaseStartTLS},
		{"STARTTLS with an unknown certificate", with(mailbox.StartTLS), func(c *Config) { c.RootCAs = nil }, PhaseTLS},
		{"implicit TLS with an unknown certificate", with(mailbox.ImplicitTLS), func(c *Config) { c.RootCAs = nil }, PhaseTLS},
		{"STARTTLS with a certificate for another name", with(mailbox.StartTLS), func(c *Config) { c.ServerName = "mail.example" }, PhaseTLS},
		{"implicit TLS with a certificate for another name", with(mailbox.ImplicitTLS), func(c *Config) { c.ServerName = "mail.example" }, PhaseTLS},
		{"implicit TLS to a plaintext port", mailbox.Options{}, func(c *Config) { c.Security = ImplicitTLS }, PhaseTLS},
		{"AUTH not offered", mailbox.Options{Security: mailbox.StartTLS}, nil, PhaseAuth},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := mustMailbox(t, tt.server)
			cfg := configFor(m, auth)
			cfg.Security = ImplicitTLS
			if tt.server.Security == mailbox.StartTLS {
				cfg.Security = StartTLS
			}
			if tt.spoil != nil {
				tt.spoil(&cfg)
			}
			r := mustSender(t, cfg).Send(t.Context(), envelope, letter, Hooks{})
			mustBe(t, r, ConfigFault, tt.phase)
			if seen := m.Commands(); slices.Contains(seen, "AUTH") || slices.Contains(seen, "MAIL") {
				t.Errorf("on the wire: %v", seen)
			}
			if len(m.Messages()) != 0 {
				t.Error("a mail was taken")
			}
		})
	}
}
