package smtp

import (
	"bytes"
	"encoding/json"
	"fmt"
	"log/slog"
	"strings"
	"testing"
	"time"

	"antidotary/notify/mailbox"
)

func TestConfigCheck(t *testing.T) {
	tests := []struct {
		name  string
		spoil func(*Config)
		want  string // start of a line of the error, empty means accepted
	}{
		{"smallest", func(c *Config) {}, ""},
		{"with password", func(c *Config) { c.Username, c.Password = "u", "p" }, ""},
		{"plaintext to this machine", func(c *Config) { c.Host, c.Security = "localhost", Plaintext }, ""},
		{"plaintext to loopback address", func(c *Config) { c.Host, c.Security = "::1", Plaintext }, ""},
		{"plaintext elsewhere, allowed", func(c *Config) { c.Security, c.AllowPlaintext = Plaintext, true }, ""},
		{"hello literal", func(c *Config) { c.HelloName = "[IPv6:2001:db8::1]" }, ""},
		{"no host", func(c *Config) { c.Host = "" }, "host:"},
		{"scheme in host", func(c *Config) { c.Host = "smtp://mail.example" }, "host:"},
		{"port too large", func(c *Config) { c.Port = 70000 }, "port:"},
		{"port negative", func(c *Config) { c.Port = -1 }, "port:"},
		{"unknown security", func(c *Config) { c.Security = "ssl" }, "security:"},
		{"plaintext elsewhere", func(c *Config) { c.Security = Plaintext }, "security:"},
		{"password in the clear", func(c *Config) { c.Host, c.Security, c.Username, c.Password = "localhost", Plaintext, "u", "p" }, "username:"},
		{"password in the clear, plaintext allowed", func(c *Config) { c.Security, c.AllowPlaintext, c.Username, c.Password = Plaintext, true, "u", "p" }, "username:"},
		{"user without password", func(c *Config) { c.Username = "u" }, "password:"},
		{"password without user", func(c *Config) { c.Password = "p" }, "password:"},
		{"NUL in password", func(c *Config) { c.Username, c.Password = "u", "p\x00q" }, "password:"},
		{"hello with space", func(c *Config) { c.HelloName = "my host" }, "hello_name:"},
		{"hello with line end", func(c *Config) { c.HelloName = "a\r\nMAIL FROM:<x>" }, "hello_name:"},
		{"hello with open literal", func(c *Config) { c.HelloName = "[192.0.2.1" }, "hello_name:"},
		{"server name with port", func(c *Config) { c.ServerName = "mail.example:465" }, "server_name:"},
		{"before the dot too long", func(c *Config) { c.Timeouts.BeforeDot = 4 * time.Minute }, "timeouts.before_dot:"},
		{"final reply too long", func(c *Config) { c.Timeouts.FinalReply = 13 * time.Minute }, "timeouts.final_reply:"},
		{"negative command", func(c *Config) { c.Timeouts.Command = -1 }, "timeouts.command:"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := Config{Host: "mail.example"}
			tt.spoil(&c)
			err := c.Check()
			if tt.want == "" {
				if err != nil {
					t.Fatalf("refused: %v", err)
				}
				return
			}
			if err == nil || !strings.Contains("\n"+err.Error(), "\n"+tt.want) {
				t.Fatalf("got %v, want %q", err, tt.want)
			}
			if s, err := New(c); err == nil || s != nil {
				t.Error("New took it")
			}
		})
	}
}

func TestDefaults(t *testing.T) {
	for sec, port := range map[Security]int{"": 465, ImplicitTLS: 465, StartTLS: 587, Plaintext: 25} {
		c := Config{Host: "mail.example", Security: sec}.withDefaults()
		if c.Port != port || c.ServerName != "mail.example" || c.Timeouts.BeforeDot != DefaultBeforeDot {
			t.Errorf("security %q: %+v", sec, c)
		}
	}
}

// A name that is not this machine's may lead to it, and the other way round.
func TestPlaintextLooksWhereItArrived(t *testing.T) {
	s := mustSender(t, Config{Host: "localhost", Security: Plaintext})
	talk(t, s, "S 220 hi") // a pipe is not a loopback address
	mustBe(t, s.Send(t.Context(), envelope, letter, Hooks{}), ConfigFault, PhaseConnect)
}

func TestSecretPrintsAsMask(t *testing.T) {
	const password = "correct horse"
	c := Config{Host: "mail.example", Username: "watch", Password: password}
	out := []string{c.Password.String()}
	for _, verb := range []string{"%v", "%+v", "%#v", "%s", "%q", "%x", "%X", "%d"} {
		out = append(out, fmt.Sprintf(verb, c), fmt.Sprintf(verb, &c), fmt.Sprintf(verb, c.Password))
	}
	j, err := json.Marshal(map[string]any{"password": c.Password})
	if err != nil {
		t.Fatal(err)
	}
	var logged bytes.Buffer
	slog.New(slog.NewJSONHandler(&logged, nil)).Info("x", "password", c.Password)
	slog.New(slog.NewTextHandler(&logged, nil)).Info("x", "config", c, "password", c.Password)
	for _, s := range append(out, string(j), logged.String()) {
		if strings.Contains(s, password) || strings.Contains(s, fmt.Sprintf("%x", password)) || strings.Contains(s, fmt.Sprintf("%X", password)) {
			t.Errorf("shows: %s", s)
		}
	}
	if string(c.Password) != password {
		t.Error("the value is gone")
	}
}

// Servers quote what they refuse. Nothing of it may reach a log, and the stored
// reply keeps the server's reason without the person and the password.
func TestReplyIsMasked(t *testing.T) {
	opts := mailbox.Options{Security: mailbox.StartTLS, Username: "watch-user", Password: "open sesame"}
	const encoded = "AHdhdGNoLXVzZXIAb3BlbiBzZXNhbWU=" // base64 of NUL user NUL password
	tests := []struct {
		name        string
		fault       mailbox.Fault
		want        string
		mustNotHold []string
	}{
		{"recipient", mailbox.Fault{At: mailbox.Rcpt, Reply: "550 5.1.1 <Keeper@Keepers.Example> unknown"}, "<******> unknown", []string{"eeper@"}},
		{"sender", mailbox.Fault{At: mailbox.Mail, Reply: "553 5.7.1 bounce@reptiles.example is not yours"}, "****** is not yours", []string{"bounce@"}},
		{"refused command", mailbox.Fault{At: mailbox.Auth, Reply: "535 5.7.8 bad: AUTH PLAIN " + encoded}, "bad: AUTH PLAIN ******", []string{encoded}},
		{"user", mailbox.Fault{At: mailbox.Auth, Reply: "535 5.7.8 watch-user / open sesame"}, "****** / ******", []string{"watch-user", "sesame"}},
		{"control characters", mailbox.Fault{At: mailbox.Rcpt, Reply: "550 5.1.1 a\x1b[31mb\x00c\td"}, "a [31mb c d", []string{"\x1b"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			opts := opts
			opts.Script = mailbox.Script{tt.fault}
			m := mustMailbox(t, opts)
			r := mustSender(t, configFor(m, opts)).Send(t.Context(), envelope, letter, Hooks{})
			if r.Reply != tt.want {
				t.Errorf("reply %q, want %q", r.Reply, tt.want)
			}
			var logged bytes.Buffer
			slog.New(slog.NewTextHandler(&logged, nil)).Info("attempt", "result", r)
			for _, s := range []string{r.Err.Error(), r.Reply, logged.String()} {
				for _, bad := range append(tt.mustNotHold, envelope.To, envelope.From, opts.Password) {
					if strings.Contains(s, bad) {
						t.Errorf("%q holds %q", s, bad)
					}
				}
			}
			if strings.Contains(logged.String(), tt.want) || !strings.Contains(logged.String(), "code=") {
				t.Errorf("logged %s", logged.String())
			}
		})
	}
}

func TestReplyIsCut(t *testing.T) {
	if got := cleanReply(strings.Repeat("ü", 5000), nil); len([]rune(got)) != maxReply {
		t.Errorf("%d characters", len([]rune(got)))
	}
}

func TestEnvelopeID(t *testing.T) {
	for id, want := range map[string]string{
		"outbox-17": "outbox-17", "": "", "zwölf": "", "a\r\nb": "", strings.Repeat("x", 101): "", strings.Repeat("x", 100): strings.Repeat("x", 100),
	} {
		if got := (Envelope{ID: id}).options().EnvelopeID; got != want {
			t.Errorf("%q gives %q", id, got)
		}
	}
}
