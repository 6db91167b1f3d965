package smtp

import (
	"bytes"
	"errors"
	"net"
)

// maxUnasked is how many octets a server may send for one command. Our own
// figure, far above any real EHLO reply; go-smtp itself would collect a reply
// without end until its timeout.
const maxUnasked = 64 << 10

var errReplyTooLong = errors.New("server's reply does not end")

// wire is the connection as go-smtp sees it. It mends, below that client, what
// the client cannot be told: EHLO keywords are compared in upper case only, a
// reply may be endless, the greeting was read before, and the moment the final
// dot has left is visible only as the first read after it.
type wire struct {
	net.Conn
	replay []byte // read before anything from the network
	onRead func() // called once, before the next read
	quota  int    // octets the server may still send before we write again

	hello bool // the reply to EHLO is being read
	col   int  // position in its line
	word  bool // still within the line's first word
}

func newWire(c net.Conn, replay string) *wire {
	return &wire{Conn: c, replay: []byte(replay), quota: maxUnasked}
}

func (w *wire) Write(p []byte) (int, error) {
	w.quota = maxUnasked
	w.hello = bytes.HasPrefix(p, []byte("EHLO "))
	w.col, w.word = 0, true
	return w.Conn.Write(p)
}

func (w *wire) Read(p []byte) (int, error) {
	if f := w.onRead; f != nil {
		w.onRead = nil
		f()
	}
	if len(w.replay) > 0 {
		n := copy(p, w.replay)
		w.replay = w.replay[n:]
		return n, nil
	}
	if w.quota <= 0 {
		return 0, errReplyTooLong
	}
	n, err := w.Conn.Read(p[:min(len(p), w.quota)])
	w.quota -= n
	if w.hello {
		w.upperKeywords(p[:n])
	}
	return n, err
}

// upperKeywords turns "250-starttls" into "250-STARTTLS", in place. Keywords
// are not case-sensitive (RFC 5321 4.1.1.1).
func (w *wire) upperKeywords(p []byte) {
	const afterCode = len("250-")
	for i, c := range p {
		switch {
		case c == '\n':
			w.col, w.word = 0, true
			continue
		case w.col >= afterCode && c == ' ':
			w.word = false
		case w.col >= afterCode && w.word && c >= 'a' && c <= 'z':
			p[i] = c - 'a' + 'A'
		}
		w.col++
	}
}
