package mailbox

import (
	"bufio"
	"bytes"
	"crypto/tls"
	"fmt"
	"net"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
)

// tap sits between the network (or implicit TLS) and the server. It sees the
// commands, so it can answer those that the server offers no hook for, and it
// can close the connection behind a reply.
type tap struct {
	net.Conn          // raw, or TLS over it
	raw      net.Conn // closing it ends everything at once
	m        *Mailbox
	in       *bufio.Reader
	pending  []byte // of a line not yet read by the server
	greeted  bool
	opaque   bool // encrypted from here on
	body     bool // between 354 and the final dot

	closeAfterReply atomic.Bool
}

// tapListener puts a tap on every connection. It may be closed twice.
type tapListener struct {
	net.Listener
	m      *Mailbox
	once   sync.Once
	closed error
}

func (l *tapListener) Close() error {
	l.once.Do(func() { l.closed = l.Listener.Close() })
	return l.closed
}

func (l *tapListener) Accept() (net.Conn, error) {
	raw, err := l.Listener.Accept()
	if err != nil {
		return nil, err
	}
	t := &tap{Conn: raw, raw: raw, m: l.m}
	if l.m.opts.Security == ImplicitTLS {
		t.Conn = tls.Server(raw, l.m.tls())
	}
	t.in = bufio.NewReader(t.Conn)
	l.m.mu.Lock()
	defer l.m.mu.Unlock()
	l.m.taps[t] = struct{}{}
	if l.m.closed {
		raw.Close()
	}
	return t, nil
}

// tapOf finds the tap below whatever the server speaks over.
func (m *Mailbox) tapOf(c net.Conn) *tap {
	if over, ok := c.(*tls.Conn); ok {
		c = over.NetConn()
	}
	return c.(*tap)
}

func (t *tap) Close() error {
	t.m.mu.Lock()
	delete(t.m.taps, t)
	t.m.mu.Unlock()
	return t.Conn.Close()
}

// Read hands the server what the client sent, a line at a time while lines can
// be seen, and keeps back a command that the script has answered.
func (t *tap) Read(p []byte) (int, error) {
	for len(t.pending) == 0 {
		if t.opaque {
			return t.in.Read(p)
		}
		line, err := t.in.ReadSlice('\n')
		if err != nil && err != bufio.ErrBufferFull {
			return 0, err
		}
		if t.body || t.pass(line) {
			t.pending = bytes.Clone(line)
		}
		if t.body && string(line) == ".\r\n" {
			t.body = false
		}
	}
	n := copy(p, t.pending)
	t.pending = t.pending[n:]
	return n, nil
}

// pass notes the command and reports whether the server is to see it.
func (t *tap) pass(line []byte) bool {
	fields := strings.Fields(strings.ToUpper(string(line)))
	if len(fields) == 0 {
		return true
	}
	t.note(fields[0])
	switch fields[0] {
	case "DATA":
		return t.step(Data)
	case "STARTTLS":
		pass := t.step(AtStartTLS)
		t.opaque = pass && t.m.opts.Security == StartTLS
		return pass
	}
	return true
}

// note keeps the verb. Other lines, such as the answers within AUTH, are
// nobody's business.
func (t *tap) note(verb string) {
	if !slices.Contains(verbs, verb) {
		return
	}
	t.m.mu.Lock()
	defer t.m.mu.Unlock()
	t.m.verbs = append(t.m.verbs, verb)
}

var verbs = []string{"HELO", "EHLO", "STARTTLS", "AUTH", "MAIL", "RCPT", "DATA", "RSET", "NOOP", "QUIT"}

// step does what the script has for at and reports whether to go on as usual.
func (t *tap) step(at Step) bool {
	f := t.m.fault(at)
	if f == nil {
		return true
	}
	switch f.Do {
	case Refuse:
		fmt.Fprintf(t.Conn, "%s\r\n", f.Reply)
		return false
	case DropAfter:
		t.closeAfterReply.Store(true)
		return true
	case Hang:
		<-t.m.closing
	}
	t.raw.Close()
	return false
}

// Write passes the server's replies on. The first is the greeting.
func (t *tap) Write(p []byte) (int, error) {
	if !t.greeted {
		t.greeted = true
		if !t.step(Greeting) {
			t.raw.Close()
			return len(p), nil
		}
	}
	n, err := t.Conn.Write(p)
	continues := len(p) > 3 && p[3] == '-' && p[0] >= '2' && p[0] <= '5'
	if t.closeAfterReply.Load() && !continues {
		t.raw.Close()
	}
	if bytes.HasPrefix(p, []byte("354 ")) {
		t.body = true
	}
	return n, err
}
