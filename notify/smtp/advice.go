package smtp

import (
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"strings"
	"time"
)

// Advice says to whoever set the watch up what is wrong, and what to do about
// it. Said quotes the server, in one line without control characters, with
// addresses, names and passwords masked; it is empty where the server said
// nothing.
type Advice struct {
	Trouble Trouble
	What    string
	Said    string
	Do      string
}

// Advise explains an attempt of a sender with this configuration that was not
// Sent. The keys that it names are those of the watch's configuration. What
// providers do is common practice, no source.
func (c Config) Advise(r Result) Advice {
	c = c.withDefaults()
	a := Advice{Trouble: TroubleOf(r)}
	if r.Code != 0 {
		a.Said = strings.Join(strings.Fields(fmt.Sprint(r.Code, " ", r.Enhanced, " ", r.Reply)), " ")
	}
	for _, explain := range []func(Result, Trouble) (string, string){c.onTheWay, c.certificate, c.encryption, c.login, c.envelope, c.otherwise} {
		if a.What, a.Do = explain(r, a.Trouble); a.What != "" {
			break
		}
	}
	return a
}

func (c Config) onTheWay(r Result, t Trouble) (what, do string) {
	other := c.otherPort()
	switch t {
	case BadSettings:
		return "The mail cannot be sent by any server: " + bare(r.Err) + ".",
			"Correct mail.from, mail.bounce or the recipient's address."
	case NameNotFound:
		return fmt.Sprintf("There is no server of the name %q.", c.Host),
			"Look for a typing mistake in mail.host. The name is in your provider's help, under sending mail, submission or SMTP."
	case NameLookupFailed:
		return fmt.Sprintf("The name %q could not be looked up: the name service does not answer.", c.Host),
			"See whether this machine is on the network, and whether other names can be looked up from it."
	case PortClosed:
		return fmt.Sprintf("%s is there, and nothing listens on port %d.", c.Host, c.Port),
			"See whether mail.host is the server for sending (not the one for reading), and try " + other + "."
	case NoConnection:
		return fmt.Sprintf("No connection to %s came about: %s.", c.address(), c.whyNot(r.Err)),
			"A firewall here or at your network's provider may block the port (25 nearly always is). Try " + other + "."
	case NoGreeting:
		if c.Security == StartTLS {
			return fmt.Sprintf("%s was reached, and said nothing or hung up.", c.address()),
				"A server that waits for TLS from the first octet is silent like this, as on port 465. Set mail.security to tls, or try port 587."
		}
		return fmt.Sprintf("%s was reached, and said nothing or hung up.", c.address()),
			"See whether a mail server listens there, and try " + other + "."
	case Unwelcome:
		return fmt.Sprintf("%s does not talk to this machine.", c.address()),
			"The server's own words say why. Often it is the address of this machine: ask whoever runs the server, or use your provider's submission server (port 465 or 587)."
	case CutOff:
		return fmt.Sprintf("%s ended the connection before the mail was taken (%s).", c.address(), phaseDoing[r.Phase]),
			"Try again. If it stays so, something on the way cuts mail off (virus scanners do), or the server does not want this machine: its own log says which."
	case NobodyKnows:
		return "The mail was written in full, and no reply came. It may arrive, or not.",
			"Look into the mailbox (in the spam folder too), and try again."
	}
	return "", ""
}

// otherPort names the other usual way to submit mail: RFC 8314 section 3 has
// 465 with TLS at once and 587 with STARTTLS.
func (c Config) otherPort() string {
	if c.Security == StartTLS {
		return "port 465 with security: tls"
	}
	return "port 587 with security: starttls"
}

// whyNot is the network's own reason, without addresses.
func (c Config) whyNot(err error) string {
	var op *net.OpError
	switch {
	case timedOut(err), errors.As(err, &op) && op.Timeout():
		return fmt.Sprintf("nothing answered within %v", c.Timeouts.Connect)
	case errors.As(err, &op):
		return op.Err.Error()
	}
	return bare(err)
}

func (c Config) certificate(r Result, t Trouble) (what, do string) {
	cert := presented(r.Err)
	switch t {
	case CertificateName:
		return fmt.Sprintf("The server's certificate is made out to %s, not to %s.", named(cert), c.ServerName),
			"Write the name that the certificate has as mail.host, if that is the same server. If not, somebody else answered: send nothing there."
	case CertificateExpired:
		if notYet(cert) {
			return fmt.Sprintf("The certificate of %s is not valid before %s.", named(cert), onDay(cert.NotBefore)),
				"See whether the clock of this machine is right."
		}
		return fmt.Sprintf("The certificate of %s ended on %s.", named(cert), endOf(cert)),
			"Whoever runs the server must renew it. If that day is still to come, the clock of this machine is wrong."
	case CertificateUnknown:
		return fmt.Sprintf("The certificate of %s is signed by nobody whom this machine trusts (%s).", named(cert), signedBy(cert)),
			"If it is your own server, give it a certificate of a public authority, or have this machine trust the one that signed it. If it is a provider's, somebody on the way answered in its place: send nothing there."
	case CertificateBad:
		return "The server's certificate does not hold: " + bare(r.Err) + ".", "Whoever runs the server must replace it."
	}
	return "", ""
}

func (c Config) encryption(r Result, t Trouble) (what, do string) {
	switch t {
	case TLSNotSpoken:
		return fmt.Sprintf("%s talks in clear where TLS was begun.", c.address()),
			"That is how a port for STARTTLS answers, such as 587. Set mail.security to starttls, or mail.port to 465."
	case TLSFailed:
		return "Server and watch could not agree on TLS: " + bare(r.Err) + ".",
			"TLS 1.2 or newer is needed; nothing is sent over older ones. Whoever runs the server must update it. Or try " + c.otherPort() + "."
	case NoStartTLS:
		return fmt.Sprintf("%s does not offer STARTTLS, and nothing is sent without encryption.", c.address()),
			"Try port 465 with security: tls. If this is a mail server on this same machine, security: none without a password is allowed."
	case TLSFirst:
		return "The server takes no login and no mail before TLS.", "Set mail.security to tls (port 465) or starttls (port 587)."
	case NoLogin:
		return fmt.Sprintf("%s does not let anybody log in with name and password here.", c.address()),
			"Port 25 is for mail between servers: use 465 or 587. If it is one of these, the account may have to be allowed to send by SMTP, in the provider's settings."
	}
	return "", ""
}

func (c Config) login(_ Result, t Trouble) (what, do string) {
	switch t {
	case LoginRefused:
		return "The server refused name or password.",
			"Many providers want an app password, made for this one program in the account's security settings, where two-step login is on; the usual password is refused then. Write it into the file that mail.password_file names, alone on one line. mail.username is often the whole mail address."
	case LoginNotNow:
		return "The server cannot check name and password now, or wants another password.", "Its own words say which. Try again in some minutes: servers lock an account for a while after wrong passwords."
	case LoginNeeded:
		return "The server takes mail only from who logs in.", "Set mail.username and mail.password_file."
	}
	return "", ""
}

func (c Config) envelope(_ Result, t Trouble) (what, do string) {
	switch t {
	case SenderRefused:
		return "The server does not take mail from the sender's address.",
			"mail.from (and mail.bounce, if it is set) must be an address that this account may send as: most providers allow only its own, and those entered as its aliases."
	case RelayDenied:
		return "The server does not pass mail on to the recipient's domain for this sender.",
			"It takes such mail only from who logs in: set mail.username and mail.password_file, and use port 465 or 587, not 25."
	case RecipientRefused:
		return "The server refused the recipient.", "Look for a typing mistake in the address. If it is right, the server's own words say why."
	case MailboxFull:
		return "The recipient's mailbox is full.", "Whoever owns it must make room. Nobody is told by it until then."
	case Greylisted:
		return "The server asks to come back later, as it does with senders that it does not know (greylisting).",
			"The watch itself does come back by itself, within minutes. Try this again in a quarter of an hour."
	case TooMany:
		return "The server has had too many mails or connections of this account or machine.",
			"Wait, and look up the limit of the account. The watch tries again by itself, with growing pauses."
	case TooLarge:
		return "The server finds the mail too large.", "This mail is small: the limit or the quota of the account is wrong. Ask whoever runs the server."
	case ContentRefused:
		return "The server read the mail, and refused it.", "Its own words say why; often it takes the mail for spam. Ask whoever runs the server, or send through the provider that the address belongs to."
	}
	return "", ""
}

func (c Config) otherwise(r Result, t Trouble) (what, do string) {
	switch t {
	case NotNow:
		return "The server does not take the mail now (" + phaseDoing[r.Phase] + ").", "Try again in a quarter of an hour; the watch itself tries again by itself. If it stays so, ask whoever runs the server."
	}
	return "The server refused (" + phaseDoing[r.Phase] + ").", "Its own words say why. Ask whoever runs the server."
}

// Whose says to whom a certificate is made out, by whom, and until when.
func Whose(c *x509.Certificate) string {
	return fmt.Sprintf("made out to %s, %s, until %s", named(c), signedBy(c), endOf(c))
}

// named gives the names in a certificate, at most three.
func named(c *x509.Certificate) string {
	if c == nil {
		return "another name"
	}
	names := append([]string{}, c.DNSNames...)
	for _, ip := range c.IPAddresses {
		names = append(names, ip.String())
	}
	if len(names) == 0 && c.Subject.CommonName != "" {
		names = append(names, c.Subject.CommonName)
	}
	const few = 3
	switch {
	case len(names) == 0:
		return "no name"
	case len(names) > few:
		names = append(names[:few], fmt.Sprintf("%d more", len(names)-few))
	}
	return cleanReply(strings.Join(names, ", "), nil)
}

func signedBy(c *x509.Certificate) string {
	switch {
	case c == nil:
		return "by whom is not known"
	case c.Issuer.String() == c.Subject.String():
		return "signed by itself"
	case c.Issuer.CommonName != "":
		return "signed by " + cleanReply(c.Issuer.CommonName, nil)
	}
	return "signed by " + cleanReply(c.Issuer.String(), nil)
}

func endOf(c *x509.Certificate) string {
	if c == nil {
		return "a day that is over"
	}
	return onDay(c.NotAfter)
}

func onDay(t time.Time) string { return t.UTC().Format("Mon 2 Jan 2006") }

// bare is the cause of an error, without what was being done.
func bare(err error) string {
	for {
		inner := errors.Unwrap(err)
		if inner == nil {
			break
		}
		err = inner
	}
	if err == nil {
		return "unknown"
	}
	return cleanReply(err.Error(), nil)
}
