package faults

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"net"
	"slices"
	"sync"
)

// Proxy stands between clients and a server on the network, and cuts their
// connections where a test says.
//
// A text is looked for in what a client sends, as it is sent: over plain TCP,
// with PostgreSQL's simple query protocol, that is the SQL itself. With the
// extended protocol (a query with arguments for the driver) the text is in a
// message before the one that does the work. Each text cuts once.
type Proxy struct {
	// Answered says whether these bytes are the whole answer to what held the
	// text; nil: PostgreSQL's. Set it before the first connection.
	Answered func(answer []byte) bool
	// Reset cuts towards the client with a reset, not with an end of file.
	// Drivers tell these apart. Set it before the first connection.
	Reset bool

	target   string
	listener net.Listener
	ctx      context.Context // done when the proxy is closed
	stop     context.CancelFunc
	running  sync.WaitGroup

	mu    sync.Mutex
	links map[*link]struct{}
	cuts  []cut
	fired int
	moves chan struct{} // closed while things move
}

// cut is to be made once.
type cut struct {
	text   []byte
	before bool
}

// longestText bounds how many sent bytes a link remembers to find a text that
// is split.
const longestText = 1 << 10

// NewProxy listens on a free port of 127.0.0.1 for clients of the server at
// addr, a host and port. Nothing is dialled before the first client comes.
func NewProxy(addr string) (*Proxy, error) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, fmt.Errorf("listen for clients of %s: %w", addr, err)
	}
	p := &Proxy{target: addr, listener: listener, links: make(map[*link]struct{}), moves: make(chan struct{})}
	close(p.moves)
	p.ctx, p.stop = context.WithCancel(context.Background())
	p.running.Go(p.accept)
	return p, nil
}

// Addr gives the host and port for clients.
func (p *Proxy) Addr() string { return p.listener.Addr().String() }

// CutReplyTo waits for a client to send this text (case matters, at most 1024
// bytes), lets the server do the work and answer, keeps the answer, and closes
// both sides.
func (p *Proxy) CutReplyTo(text string) { p.arm(cut{text: []byte(text)}) }

// CutBefore waits for a client to send this text (as CutReplyTo does), and
// closes both sides before the server has the end of it.
func (p *Proxy) CutBefore(text string) { p.arm(cut{text: []byte(text), before: true}) }

func (p *Proxy) arm(c cut) {
	if len(c.text) == 0 || len(c.text) > longestText {
		panic(fmt.Sprintf("a text to cut at has 1 to %d bytes, not %d", longestText, len(c.text)))
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.cuts = append(p.cuts, c)
}

// Fired gives how many of the cuts at a text were made. Whoever sees the
// connection end finds its cut counted.
func (p *Proxy) Fired() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.fired
}

func (p *Proxy) fire() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.fired++
}

// CutAll closes both sides of all connections that are there now.
func (p *Proxy) CutAll() {
	p.mu.Lock()
	all := make([]*link, 0, len(p.links))
	for l := range p.links {
		all = append(all, l)
	}
	p.mu.Unlock()
	for _, l := range all {
		l.hangUp()
	}
}

// Pause stops all movement, as a partition does: what is sent from now on
// waits, and so do new connections, and ends of connections too.
func (p *Proxy) Pause() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if isClosed(p.moves) {
		p.moves = make(chan struct{})
	}
}

// Resume lets everything that waits go on.
func (p *Proxy) Resume() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !isClosed(p.moves) {
		close(p.moves)
	}
}

// Close ends the proxy and all its connections, and waits for them.
func (p *Proxy) Close() error {
	p.stop()
	err := p.listener.Close()
	p.CutAll()
	p.running.Wait()
	if errors.Is(err, net.ErrClosed) {
		return nil
	}
	return err
}

func (p *Proxy) accept() {
	defer p.listener.Close()
	for {
		client, err := p.listener.Accept()
		if err != nil {
			return
		}
		l := newLink(p, client.(*net.TCPConn))
		p.mu.Lock()
		p.links[l] = struct{}{}
		p.mu.Unlock()
		p.running.Go(func() {
			l.serve()
			p.mu.Lock()
			delete(p.links, l)
			p.mu.Unlock()
		})
	}
}

// moving waits until things move; not, if ctx is done.
func (p *Proxy) moving(ctx context.Context) bool {
	p.mu.Lock()
	moves := p.moves
	p.mu.Unlock()
	select {
	case <-moves:
		return ctx.Err() == nil
	case <-ctx.Done():
		return false
	}
}

// take gives the first cut whose text ends in this chunk, and disarms it.
func (p *Proxy) take(sent, chunk []byte) (cut, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for i, c := range p.cuts {
		overlap := sent[max(0, len(sent)-len(c.text)+1):]
		if bytes.Contains(slices.Concat(overlap, chunk), c.text) {
			p.cuts = slices.Delete(p.cuts, i, i+1)
			return c, true
		}
	}
	return cut{}, false
}

func (p *Proxy) answered(answer []byte) bool {
	if p.Answered != nil {
		return p.Answered(answer)
	}
	return postgresAnswered(answer)
}

// postgresAnswered says whether the server waits for the client again: it is
// ready for a query (Z) or for rows to copy (G). Each message is a letter and
// a length of four bytes that counts itself (PostgreSQL manual, "Message
// Formats", from memory).
func postgresAnswered(answer []byte) bool {
	for len(answer) >= 5 {
		size := 1 + int(binary.BigEndian.Uint32(answer[1:]))
		if len(answer) < size {
			return false
		}
		if answer[0] == 'Z' || answer[0] == 'G' {
			return true
		}
		answer = answer[size:]
	}
	return false
}

func isClosed(c chan struct{}) bool {
	select {
	case <-c:
		return true
	default:
		return false
	}
}
