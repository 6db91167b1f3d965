package faults

import (
	"context"
	"errors"
	"io"
	"net"
	"sync"
	"sync/atomic"
)

// link is one client's connection through a proxy.
type link struct {
	proxy  *Proxy
	ctx    context.Context // done when it is hung up
	stop   context.CancelFunc
	client *net.TCPConn
	losing atomic.Bool // the answer that comes is to be kept

	mu     sync.Mutex
	server *net.TCPConn // nil until it is dialled
}

func newLink(p *Proxy, client *net.TCPConn) *link {
	l := &link{proxy: p, client: client}
	l.ctx, l.stop = context.WithCancel(p.ctx)
	return l
}

// serve dials, and moves bytes both ways until both have ended.
func (l *link) serve() {
	defer l.hangUp()
	if !l.proxy.moving(l.ctx) || !l.dial() {
		return
	}
	var both sync.WaitGroup
	both.Go(l.toServer)
	both.Go(l.toClient)
	both.Wait()
}

func (l *link) dial() bool {
	var dialer net.Dialer
	c, err := dialer.DialContext(l.ctx, "tcp", l.proxy.target)
	if err != nil {
		return false
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.server = c.(*net.TCPConn)
	if l.ctx.Err() != nil { // hung up meanwhile, when there was nothing to close here
		_ = l.server.Close()
		return false
	}
	return true
}

// hangUp closes both sides, the client's first: nobody may hear of the cut
// from the server.
func (l *link) hangUp() {
	l.stop()
	l.mu.Lock()
	defer l.mu.Unlock()
	_ = l.client.Close()
	if l.server != nil {
		_ = l.server.Close()
	}
}

// cut hangs up because a text said so.
func (l *link) cut() {
	l.proxy.fire()
	if l.proxy.Reset {
		_ = l.client.SetLinger(0)
	}
	l.hangUp()
}

func (l *link) toServer() {
	var sent []byte // the end of it
	l.move(l.client, l.server, func(chunk []byte) (goesOn bool) {
		if !l.losing.Load() {
			c, found := l.proxy.take(sent, chunk)
			if found && c.before {
				l.cut()
				return false
			}
			l.losing.Store(found) // before the server can answer
		}
		sent = append(sent, chunk...)
		sent = sent[max(0, len(sent)-longestText):]
		_, err := l.server.Write(chunk)
		return err == nil
	}, func() {})
}

func (l *link) toClient() {
	var answer []byte
	l.move(l.server, l.client, func(chunk []byte) (goesOn bool) {
		if !l.losing.Load() {
			_, err := l.client.Write(chunk)
			return err == nil
		}
		if answer = append(answer, chunk...); l.proxy.answered(answer) {
			l.cut()
			return false
		}
		return true
	}, func() {
		if l.losing.Load() { // this server ends its answer by closing
			l.cut()
		}
	})
}

// move hands on what comes from one side until it ends, and then the end.
func (l *link) move(from, to *net.TCPConn, chunk func([]byte) bool, end func()) {
	buffer := make([]byte, 32<<10)
	for {
		n, err := from.Read(buffer)
		if !l.proxy.moving(l.ctx) {
			return
		}
		if n > 0 && !chunk(buffer[:n]) {
			l.hangUp()
			return
		}
		if errors.Is(err, io.EOF) {
			end()
			_ = to.CloseWrite()
			return
		}
		if err != nil {
			l.hangUp()
			return
		}
	}
}
