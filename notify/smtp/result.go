package smtp

import (
	"encoding/base64"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"unicode"

	gosmtp "github.com/emersion/go-smtp"
)

// Phase is how far an attempt came, named after what it was doing last.
type Phase string

// The phases in their order. After PhaseReply began, the mail may be delivered.
const (
	PhaseCheck      Phase = "check"       // before any connection
	PhaseConnect    Phase = "connect"     // name lookup and TCP
	PhaseTLS        Phase = "tls"         // handshake
	PhaseGreeting   Phase = "greeting"    // the server's first line
	PhaseHello      Phase = "hello"       // EHLO
	PhaseStartTLS   Phase = "starttls"    // the STARTTLS command
	PhaseAuth       Phase = "auth"        // AUTH
	PhaseMail       Phase = "mail"        // MAIL FROM
	PhaseRcpt       Phase = "rcpt"        // RCPT TO
	PhaseBeforeData Phase = "before_data" // Hooks.BeforeData
	PhaseData       Phase = "data"        // DATA up to its 354
	PhaseBody       Phase = "body"        // the mail up to and with the final dot
	PhaseReply      Phase = "reply"       // waiting for the reply to the final dot
)

// Result is what became of one attempt.
type Result struct {
	Outcome  Outcome
	Phase    Phase  // the last phase begun
	Code     int    // SMTP reply code, 0 when no reply decided
	Enhanced string // RFC 3463 code such as 5.1.1, or empty
	// Reply is the server's text, one line, cut, with addresses and secrets
	// masked. It may still say things about a person: store it, do not log it.
	Reply string
	// Err says what went wrong, nil when Sent. It holds no address, no secret
	// and no reply text, and wraps the cause.
	Err error
}

// LogValue logs everything but the reply text.
func (r Result) LogValue() slog.Value {
	attrs := []slog.Attr{slog.String("outcome", string(r.Outcome)), slog.String("phase", string(r.Phase))}
	if r.Code != 0 {
		attrs = append(attrs, slog.Int("code", r.Code), slog.String("enhanced", r.Enhanced))
	}
	if r.Err != nil {
		attrs = append(attrs, slog.String("error", r.Err.Error()))
	}
	return slog.GroupValue(attrs...)
}

// newResult classifies err, which ended an attempt in phase.
func newResult(phase Phase, err error, masked []string) Result {
	r := Result{Outcome: classify(phase, err), Phase: phase}
	var reply *gosmtp.SMTPError
	if !errors.As(err, &reply) {
		r.Err = fmt.Errorf("%s: %w", phaseDoing[phase], err)
		return r
	}
	r.Code, r.Enhanced = reply.Code, enhanced(reply.EnhancedCode)
	r.Reply = cleanReply(reply.Message, masked)
	if r.Outcome != Sent {
		r.Err = fmt.Errorf("%s: server answered %s", phaseDoing[phase], strings.TrimSpace(fmt.Sprint(r.Code, " ", r.Enhanced)))
	}
	return r
}

var phaseDoing = map[Phase]string{
	PhaseCheck: "check mail", PhaseConnect: "connect to mail server", PhaseTLS: "negotiate TLS",
	PhaseGreeting: "await greeting", PhaseHello: "say EHLO", PhaseStartTLS: "start TLS", PhaseAuth: "authenticate",
	PhaseMail: "give sender", PhaseRcpt: "give recipient", PhaseBeforeData: "record start of data",
	PhaseData: "start data", PhaseBody: "write mail", PhaseReply: "await final reply",
}

func enhanced(c gosmtp.EnhancedCode) string {
	if c == gosmtp.EnhancedCodeNotSet || c == gosmtp.NoEnhancedCode {
		return ""
	}
	return fmt.Sprintf("%d.%d.%d", c[0], c[1], c[2])
}

// maxReply is where a reply is cut, in characters: two lines of RFC 5321 4.5.3.1.5.
const maxReply = 1000

// cleanReply makes a server's text one printable line without the masked
// strings: some servers quote the recipient, some the whole refused command.
func cleanReply(s string, masked []string) string {
	for _, m := range masked {
		s = replaceFold(s, m, mask)
	}
	s = strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
	s = strings.Join(strings.Fields(s), " ")
	if runes := []rune(s); len(runes) > maxReply {
		s = string(runes[:maxReply])
	}
	return s
}

// replaceFold is strings.ReplaceAll without regard to ASCII case.
func replaceFold(s, old, repl string) string {
	if old == "" {
		return s
	}
	var out strings.Builder
	for len(s) >= len(old) {
		if strings.EqualFold(s[:len(old)], old) {
			out.WriteString(repl)
			s = s[len(old):]
			continue
		}
		out.WriteByte(s[0])
		s = s[1:]
	}
	return out.String() + s
}

// secrets are the strings that no reply may carry out of here.
func (c Config) secrets() []string {
	if c.Username == "" {
		return nil
	}
	b64 := base64.StdEncoding.EncodeToString
	return []string{
		b64([]byte("\x00" + c.Username + "\x00" + string(c.Password))),
		b64([]byte(c.Password)), b64([]byte(c.Username)), string(c.Password), c.Username,
	}
}
