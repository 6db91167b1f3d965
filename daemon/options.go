package daemon

import (
	"crypto/x509"
	"io"
	"log/slog"
	"time"

	"antidotary/daemon/config"
)

// Engine is the version of the judging that sweeps record, so that an old
// answer can be compared with a new one.
const Engine = "1"

// Options is what a daemon is made of.
type Options struct {
	Config config.Config
	Clock  func() time.Time // nil: the machine's clock
	Out    io.Writer        // what people read
	Err    io.Writer        // the log
	// RootCAs are trusted for the mail server beside the machine's; nil: the
	// machine's alone.
	RootCAs *x509.CertPool
	// LetFall records a correction even if grants of long ago no longer hold
	// by it.
	LetFall bool

	machineClock bool       // nobody chose another
	least        slog.Level // of what is logged
}

func (o *Options) settle() {
	if o.Clock == nil {
		o.Clock, o.machineClock = time.Now, true
	}
	if o.Out == nil {
		o.Out = io.Discard
	}
	if o.Err == nil {
		o.Err = io.Discard
	}
}
