package faults

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// patience bounds waits for what must come; nothing waits as long when all is
// well.
const patience = 10 * time.Second

// lines is a server that does what each line says, and answers it.
type lines struct {
	net.Listener
	running sync.WaitGroup
	came    chan string // what was read, piece by piece, if somebody looks

	mu   sync.Mutex
	done []string
}

func serveLines(t *testing.T) *lines {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := &lines{Listener: listener, came: make(chan string, 1000)}
	s.running.Go(func() {
		for {
			c, err := s.Accept()
			if err != nil {
				return
			}
			s.running.Go(func() { s.serve(c) })
		}
	})
	t.Cleanup(func() {
		_ = s.Close()
		s.running.Wait()
	})
	return s
}

func (s *lines) serve(c net.Conn) {
	defer c.Close()
	var line strings.Builder
	buffer := make([]byte, 1024)
	for {
		n, err := c.Read(buffer)
		if err != nil {
			return
		}
		s.came <- string(buffer[:n])
		for _, b := range buffer[:n] {
			if b != '\n' {
				line.WriteByte(b)
				continue
			}
			s.mu.Lock()
			s.done = append(s.done, line.String())
			s.mu.Unlock()
			fmt.Fprintf(c, "did %s\n", line.String())
			line.Reset()
		}
	}
}

func (s *lines) did(line string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(slices.DeleteFunc(slices.Clone(s.done), func(l string) bool { return l != line }))
}

func proxyTo(t *testing.T, addr string) *Proxy {
	t.Helper()
	p, err := NewProxy(addr)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := p.Close(); err != nil {
			t.Error(err)
		}
	})
	return p
}

// lineProxy is a proxy before a line server.
func lineProxy(t *testing.T) (*lines, *Proxy) {
	t.Helper()
	s := serveLines(t)
	p := proxyTo(t, s.Addr().String())
	p.Answered = func(answer []byte) bool { return slices.Contains(answer, '\n') }
	return s, p
}

func dialled(t *testing.T, p *Proxy) *net.TCPConn {
	t.Helper()
	c, err := net.Dial("tcp", p.Addr())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Close() })
	if err := c.SetDeadline(time.Now().Add(patience)); err != nil {
		t.Fatal(err)
	}
	return c.(*net.TCPConn)
}

func say(t *testing.T, c net.Conn, text string) {
	t.Helper()
	if _, err := io.WriteString(c, text); err != nil {
		t.Fatal(err)
	}
}

func hear(t *testing.T, c net.Conn, want string) {
	t.Helper()
	got, err := bufio.NewReader(c).ReadString('\n')
	if err != nil || got != want {
		t.Fatalf("heard %q, %v; want %q", got, err, want)
	}
}

func hearEnd(t *testing.T, c net.Conn) {
	t.Helper()
	if got, err := io.ReadAll(c); err != nil || len(got) > 0 {
		t.Fatalf("heard %q, %v; want an end", got, err)
	}
}
