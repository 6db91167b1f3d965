package smtp

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
	"net"
	"os"
	"strings"
	"syscall"
	"time"
)

// Trouble names what kept a mail from being taken, as finely as somebody must
// know it to mend it. Its words are in advice.go.
type Trouble string

// The troubles, in the order in which an attempt can meet them.
const (
	BadSettings        Trouble = "bad-settings"        // an address that no server takes
	NameNotFound       Trouble = "name-not-found"      // the name service knows no such host
	NameLookupFailed   Trouble = "name-lookup-failed"  // the name service does not answer
	PortClosed         Trouble = "port-closed"         // refused
	NoConnection       Trouble = "no-connection"       // nothing answered in time, or no way there
	TLSNotSpoken       Trouble = "tls-not-spoken"      // the server talks in clear where TLS was begun
	CertificateName    Trouble = "certificate-name"    // made out to another name
	CertificateExpired Trouble = "certificate-expired" // or not valid yet
	CertificateUnknown Trouble = "certificate-unknown" // self-made, or signed by nobody who is trusted here
	CertificateBad     Trouble = "certificate-bad"     // anything else about it
	TLSFailed          Trouble = "tls-failed"          // no common version or cipher
	NoGreeting         Trouble = "no-greeting"         // connected, and then silence, or the end of it
	Unwelcome          Trouble = "unwelcome"           // greeted with a refusal
	NoStartTLS         Trouble = "no-starttls"         // not offered
	TLSFirst           Trouble = "tls-first"           // the server wants TLS, the settings have none
	NoLogin            Trouble = "no-login"            // AUTH is not offered
	LoginRefused       Trouble = "login-refused"       // name or password
	LoginNotNow        Trouble = "login-not-now"       // for the time being
	LoginNeeded        Trouble = "login-needed"        // the settings have no name and password
	SenderRefused      Trouble = "sender-refused"      // not allowed for this account
	RelayDenied        Trouble = "relay-denied"        // mail for elsewhere is not taken
	RecipientRefused   Trouble = "recipient-refused"   // no such mailbox, or not willing
	MailboxFull        Trouble = "mailbox-full"        // the recipient's
	Greylisted         Trouble = "greylisted"          // come back later
	TooMany            Trouble = "too-many"            // mails, connections or recipients
	TooLarge           Trouble = "too-large"           // the mail
	ContentRefused     Trouble = "content-refused"     // the mail was read, and refused
	NotNow             Trouble = "not-now"             // another 4xx
	Refused            Trouble = "refused"             // another 5xx
	CutOff             Trouble = "cut-off"             // the connection ended early
	NobodyKnows        Trouble = "nobody-knows"        // written in full, and no reply
)

// The reasons of our own that a trouble is known by.
var (
	errMoreThanAsked  = &refusal{ConfigFault, "server sent more than it was asked for"}
	errNoStartTLS     = &refusal{ConfigFault, "server does not offer STARTTLS; nothing is sent without encryption"}
	errNoAuth         = &refusal{ConfigFault, "server offers neither AUTH PLAIN nor AUTH LOGIN"}
	errOtherChallenge = &refusal{ConfigFault, "server asks for something else than name and password"}
)

// TroubleOf names what kept the mail of r from being taken; empty when it was.
func TroubleOf(r Result) Trouble {
	switch {
	case r.Outcome == Sent:
		return ""
	case r.Phase == PhaseCheck:
		return BadSettings
	case r.Code != 0:
		return troubleOfReply(r)
	case errors.Is(r.Err, errNoStartTLS):
		return NoStartTLS
	case errors.Is(r.Err, errNoAuth), errors.Is(r.Err, errOtherChallenge):
		return NoLogin
	}
	var own *refusal
	if errors.As(r.Err, &own) && own.outcome == Dead {
		return TooLarge // the only one after the check: the server's own limit
	}
	switch r.Phase {
	case PhaseConnect:
		return troubleConnecting(r.Err)
	case PhaseTLS:
		return troubleOfTLS(r.Err)
	case PhaseGreeting:
		return NoGreeting
	case PhaseReply:
		return NobodyKnows
	}
	return CutOff
}

func troubleConnecting(err error) Trouble {
	var name *net.DNSError
	switch {
	case errors.As(err, &name) && name.IsNotFound:
		return NameNotFound
	case errors.As(err, &name):
		return NameLookupFailed
	case errors.Is(err, syscall.ECONNREFUSED):
		return PortClosed
	}
	return NoConnection
}

func troubleOfTLS(err error) Trouble {
	var (
		inClear tls.RecordHeaderError
		name    x509.HostnameError
		invalid x509.CertificateInvalidError
		unknown x509.UnknownAuthorityError
		bad     *tls.CertificateVerificationError
	)
	switch {
	case errors.As(err, &inClear):
		return TLSNotSpoken
	case errors.As(err, &name):
		return CertificateName
	case errors.As(err, &invalid) && invalid.Reason == x509.Expired:
		return CertificateExpired
	case errors.As(err, &unknown):
		return CertificateUnknown
	case errors.As(err, &bad):
		return CertificateBad
	case timedOut(err), hungUp(err):
		return NoGreeting
	}
	return TLSFailed
}

func timedOut(err error) bool {
	return errors.Is(err, context.DeadlineExceeded) || errors.Is(err, os.ErrDeadlineExceeded) || errors.Is(err, errBeforeDot)
}

func hungUp(err error) bool {
	return errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, syscall.ECONNRESET)
}

// troubleOfReply reads a refusal by where it came, its enhanced code (RFC 3463
// section 3, RFC 4954 section 6), and, where many servers give only a general
// code, by the words that they commonly use (common practice, no source).
func troubleOfReply(r Result) Trouble {
	text := strings.ToLower(r.Reply)
	says := func(words ...string) bool {
		for _, w := range words {
			if strings.Contains(text, w) {
				return true
			}
		}
		return false
	}
	detail := strings.TrimLeft(r.Enhanced, "245") // of 5.7.1 and 4.7.1 alike: .7.1
	temporary := r.Code/100 == 4
	switch {
	case r.Code == 530 && says("starttls", "tls"), r.Code == 538: // RFC 3207 section 4, RFC 4954 section 6
		return TLSFirst
	case r.Phase == PhaseAuth && (temporary || detail == ".7.12"):
		return LoginNotNow
	case r.Phase == PhaseAuth:
		return LoginRefused
	case r.Code == 530:
		return LoginNeeded
	case says("greylist", "graylist", "grey-list", "gray-list"):
		return Greylisted
	case detail == ".3.4", detail == ".2.3", r.Code == 552 && !says("quota", "full"):
		return TooLarge
	case detail == ".2.2", says("over quota", "mailbox full", "mailbox is full"):
		return MailboxFull
	case detail == ".5.3", says("too many", "rate limit", "limit exceeded", "quota exceeded", "try again later, you"):
		return TooMany
	}
	switch r.Phase {
	case PhaseGreeting, PhaseHello, PhaseStartTLS:
		if temporary {
			return NotNow
		}
		return Unwelcome
	case PhaseMail:
		if !temporary {
			return SenderRefused
		}
	case PhaseRcpt:
		return troubleOfRecipient(r, temporary, detail, says)
	case PhaseBody, PhaseReply:
		if !temporary {
			return ContentRefused
		}
	}
	if temporary {
		return NotNow
	}
	return Refused
}

func troubleOfRecipient(r Result, temporary bool, detail string, says func(...string) bool) Trouble {
	switch {
	case says("sender address", "sender rejected", "from address", "not owned by", "send as"), detail == ".1.7", detail == ".1.8":
		return SenderRefused // many servers say so only now
	case temporary && (detail == ".7.1" || r.Code == 450 && detail == ".2.0"):
		return Greylisted
	case temporary:
		return NotNow
	case says("relay"), detail == ".7.1" && !says("user", "mailbox", "recipient"), r.Code == 551:
		return RelayDenied
	}
	return RecipientRefused
}

// presented gives the certificate that the server showed and that was not
// taken; nil where it came to none.
func presented(err error) *x509.Certificate {
	var bad *tls.CertificateVerificationError
	if !errors.As(err, &bad) || len(bad.UnverifiedCertificates) == 0 {
		return nil
	}
	return bad.UnverifiedCertificates[0]
}

// notYet says that a certificate is refused because it begins later.
func notYet(c *x509.Certificate) bool { return c != nil && time.Now().Before(c.NotBefore) }
