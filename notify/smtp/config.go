package smtp

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"strconv"
	"strings"
	"time"
)

// Security says how a connection is protected.
type Security string

const (
	// ImplicitTLS speaks TLS from the first octet (RFC 8314). It is the default.
	ImplicitTLS Security = "tls"
	// StartTLS upgrades a plaintext connection and refuses to go on without.
	StartTLS Security = "starttls"
	// Plaintext is for a mail server on the same machine, or elsewhere with
	// Config.AllowPlaintext.
	Plaintext Security = "none"
)

// Deadlines. The first three are our own figures, common practice, no source;
// RFC 5321 4.5.3.2 allows up to five minutes per command, which BeforeDot cuts
// short so that a lease of 20 minutes outlasts every attempt. FinalReply is
// RFC 5321 4.5.3.2.6.
const (
	DefaultConnect    = 30 * time.Second
	DefaultCommand    = time.Minute
	DefaultBeforeDot  = 3 * time.Minute
	DefaultFinalReply = 10 * time.Minute

	maxBeforeDot  = 3 * time.Minute
	maxFinalReply = 12 * time.Minute
	quitTimeout   = 5 * time.Second
)

// Timeouts bound one attempt. A zero field takes its default.
type Timeouts struct {
	Connect    time.Duration // name lookup and TCP
	Command    time.Duration // TLS handshake, and each command up to its reply
	BeforeDot  time.Duration // everything up to the final dot, at most 3 minutes
	FinalReply time.Duration // from the final dot to its reply, at most 12 minutes
}

// Config describes the one smarthost.
type Config struct {
	Host           string   // name or IP address
	Port           int      // 0 takes 465, 587 or 25 by Security
	Security       Security // empty means ImplicitTLS
	AllowPlaintext bool     // permits Plaintext to a host that is not loopback
	ServerName     string   // name in the certificate; empty means Host
	Username       string   // empty means no AUTH
	Password       Secret
	HelloName      string // EHLO argument; empty takes the connection's own address literal
	RootCAs        *x509.CertPool
	Timeouts       Timeouts
}

// Check reports every setting that cannot work, each error starting with the
// setting's name.
func (c Config) Check() error {
	var errs []error
	refuse := func(bad bool, format string, args ...any) {
		if bad {
			errs = append(errs, fmt.Errorf(format, args...))
		}
	}
	refuse(c.Host == "", "host: must name the mail server")
	refuse(strings.ContainsAny(c.Host, " /@\t\r\n"), "host: write only a host name or an IP address, without port or scheme")
	refuse(c.Port < 0 || c.Port > 65535, "port: %d is outside 1 to 65535", c.Port)
	switch c.Security {
	case "", ImplicitTLS, StartTLS:
	case Plaintext:
		refuse(!c.AllowPlaintext && !isLoopback(c.Host),
			"security: none is only allowed to this machine itself; use tls or starttls, or set allow_plaintext")
		refuse(c.Username != "" || c.Password != "", "username: a password is never sent without TLS; set security to tls or starttls")
	default:
		refuse(true, "security: %q is not one of tls, starttls, none", string(c.Security))
	}
	refuse(c.ServerName != "" && strings.ContainsAny(c.ServerName, " :/@\r\n"), "server_name: write only the name in the certificate")
	refuse((c.Username == "") != (c.Password == ""), "password: username and password must be set together")
	refuse(strings.ContainsRune(c.Username+string(c.Password), 0), "password: must not contain a NUL character")
	refuse(c.HelloName != "" && !isHelloName(c.HelloName), "hello_name: must be a host name or an address literal such as [192.0.2.1]")
	return errors.Join(append(errs, c.Timeouts.check()...)...)
}

func (t Timeouts) check() (errs []error) {
	for _, f := range []struct {
		name   string
		d, max time.Duration
	}{
		{"connect", t.Connect, maxBeforeDot},
		{"command", t.Command, maxBeforeDot},
		{"before_dot", t.BeforeDot, maxBeforeDot},
		{"final_reply", t.FinalReply, maxFinalReply},
	} {
		if f.d < 0 || f.d > f.max {
			errs = append(errs, fmt.Errorf("timeouts.%s: %v is outside 0 to %v", f.name, f.d, f.max))
		}
	}
	return errs
}

// LongestAttempt is how long one Send can take at most, not counting what the
// BeforeData hook does after its context ended. A lease must outlast it.
func (c Config) LongestAttempt() time.Duration {
	t := c.withDefaults().Timeouts
	return t.BeforeDot + t.FinalReply + quitTimeout
}

func (c Config) withDefaults() Config {
	if c.Security == "" {
		c.Security = ImplicitTLS
	}
	if c.Port == 0 {
		c.Port = map[Security]int{ImplicitTLS: 465, StartTLS: 587, Plaintext: 25}[c.Security]
	}
	if c.ServerName == "" {
		c.ServerName = c.Host
	}
	t := &c.Timeouts
	for _, f := range []struct {
		d   *time.Duration
		def time.Duration
	}{
		{&t.Connect, DefaultConnect}, {&t.Command, DefaultCommand},
		{&t.BeforeDot, DefaultBeforeDot}, {&t.FinalReply, DefaultFinalReply},
	} {
		if *f.d == 0 {
			*f.d = f.def
		}
	}
	return c
}

func (c Config) address() string { return net.JoinHostPort(c.Host, strconv.Itoa(c.Port)) }

func (c Config) tls() *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, ServerName: c.ServerName, RootCAs: c.RootCAs}
}

func isLoopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// isHelloName takes what RFC 5321 4.1.3 allows after EHLO, by alphabet.
func isHelloName(s string) bool {
	name, literal := strings.CutPrefix(s, "[")
	if literal {
		inner, ok := strings.CutSuffix(name, "]")
		return ok && net.ParseIP(strings.TrimPrefix(inner, "IPv6:")) != nil
	}
	return !strings.ContainsFunc(s, func(r rune) bool {
		return !(r == '.' || r == '-' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z')
	})
}
