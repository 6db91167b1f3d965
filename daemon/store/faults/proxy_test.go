package faults

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"sync"
	"syscall"
	"testing"
	"time"
)

func TestProxyHandsOn(t *testing.T) {
	s, p := lineProxy(t)
	var clients sync.WaitGroup
	for i := range 20 {
		c := dialled(t, p)
		clients.Go(func() {
			r := bufio.NewReader(c)
			for j := range 20 {
				fmt.Fprintf(c, "client %d line %d\n", i, j)
				want := fmt.Sprintf("did client %d line %d\n", i, j)
				if got, err := r.ReadString('\n'); got != want {
					t.Errorf("heard %q, %v; want %q", got, err, want)
				}
			}
		})
	}
	clients.Wait()
	c := dialled(t, p)
	say(t, c, "last\n")
	if err := c.CloseWrite(); err != nil {
		t.Fatal(err)
	}
	if got, err := io.ReadAll(c); string(got) != "did last\n" || err != nil {
		t.Errorf("after the client's end: %q, %v", got, err)
	}
	if s.did("client 7 line 19") != 1 || p.Fired() != 0 {
		t.Errorf("not all was done, or %d cuts were made", p.Fired())
	}
}

func TestProxyCutsAtAText(t *testing.T) {
	cases := []struct {
		name   string
		arm    func(*Proxy)
		pieces []string
		done   int // times that COMMIT was done at the cut
	}{
		{"the reply", func(p *Proxy) { p.CutReplyTo("COMMIT") }, []string{"COMMIT\n"}, 1},
		{"the reply to a split text", func(p *Proxy) { p.CutReplyTo("COMMIT") }, []string{"C", "OMM", "IT", "\n"}, 1},
		{"before", func(p *Proxy) { p.CutBefore("COMMIT") }, []string{"COMMIT\n"}, 0},
		{"before the end of a split text", func(p *Proxy) { p.CutBefore("COMMIT") }, []string{"COM", "MIT\n"}, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s, p := lineProxy(t)
			c.arm(p)
			client, other := dialled(t, p), dialled(t, p)
			say(t, client, "commit\n") // another case, and so another text
			hear(t, client, "did commit\n")
			<-s.came
			for i, piece := range c.pieces {
				say(t, client, piece)
				if i < len(c.pieces)-1 {
					if got := <-s.came; got != piece {
						t.Fatalf("the server got %q, want %q", got, piece)
					}
				}
			}
			hearEnd(t, client)
			if p.Fired() != 1 || s.did("COMMIT") != c.done {
				t.Errorf("%d cuts, want 1; done %d times, want %d", p.Fired(), s.did("COMMIT"), c.done)
			}
			say(t, other, "COMMIT\n") // it was armed once
			hear(t, other, "did COMMIT\n")
		})
	}
}

// TestProxyCutsOneAfterAnother: each cut has its own text and its own turn.
func TestProxyCutsOneAfterAnother(t *testing.T) {
	s, p := lineProxy(t)
	p.CutReplyTo("COMMIT")
	p.CutBefore("SELECT")
	for i, line := range []string{"COMMIT\n", "SELECT\n"} {
		c := dialled(t, p)
		say(t, c, line)
		hearEnd(t, c)
		if p.Fired() != i+1 {
			t.Errorf("after %q: %d cuts", line, p.Fired())
		}
	}
	if s.did("COMMIT") != 1 || s.did("SELECT") != 0 {
		t.Errorf("done: %q", s.done)
	}
}

func TestProxyResets(t *testing.T) {
	_, p := lineProxy(t)
	p.Reset = true
	p.CutReplyTo("COMMIT")
	c := dialled(t, p)
	say(t, c, "COMMIT\n")
	if _, err := io.ReadAll(c); !errors.Is(err, syscall.ECONNRESET) {
		t.Errorf("heard %v, want a reset", err)
	}
}

func TestProxyPauses(t *testing.T) {
	s, p := lineProxy(t)
	c := dialled(t, p)
	say(t, c, "before\n")
	hear(t, c, "did before\n")
	p.Pause()
	p.Pause()
	late := dialled(t, p)
	say(t, c, "meanwhile\n")
	say(t, late, "late\n")
	for _, waits := range []net.Conn{c, late} { // a bound on how long nothing happens
		if err := waits.SetReadDeadline(time.Now().Add(50 * time.Millisecond)); err != nil {
			t.Fatal(err)
		}
		if n, err := waits.Read(make([]byte, 1)); !errors.Is(err, os.ErrDeadlineExceeded) {
			t.Fatalf("in the pause: %d bytes, %v", n, err)
		}
		if err := waits.SetReadDeadline(time.Now().Add(patience)); err != nil {
			t.Fatal(err)
		}
	}
	if s.did("meanwhile")+s.did("late") > 0 {
		t.Error("something moved in the pause")
	}
	p.Resume()
	p.Resume()
	hear(t, c, "did meanwhile\n")
	hear(t, late, "did late\n")
}

func TestProxyCutsAll(t *testing.T) {
	for _, paused := range []bool{false, true} {
		_, p := lineProxy(t)
		var all []*net.TCPConn
		for range 5 {
			c := dialled(t, p)
			say(t, c, "here\n")
			hear(t, c, "did here\n")
			all = append(all, c)
		}
		if paused {
			p.Pause()
		}
		p.CutAll()
		for _, c := range all {
			hearEnd(t, c)
		}
		p.Resume()
		c := dialled(t, p)
		say(t, c, "again\n")
		hear(t, c, "did again\n")
	}
}

// TestProxyCloses at any moment, more than once, and leaves nothing running
// (TestMain looks).
func TestProxyCloses(t *testing.T) {
	_, p := lineProxy(t)
	c := dialled(t, p)
	say(t, c, "here\n")
	hear(t, c, "did here\n")
	p.Pause()
	say(t, c, "waits\n")
	dialled(t, p)
	for range 2 {
		if err := p.Close(); err != nil {
			t.Error(err)
		}
	}
	if _, err := net.Dial("tcp", p.Addr()); err == nil {
		t.Error("a closed proxy takes clients")
	}
	nobody, err := NewProxy("127.0.0.1:1")
	if err != nil {
		t.Fatal(err)
	}
	defer nobody.Close()
	hearEnd(t, dialled(t, nobody)) // no server: the client is let go
}

func TestPostgresAnswers(t *testing.T) {
	message := func(kind byte, body string) string {
		return string([]byte{kind, 0, 0, 0, byte(4 + len(body))}) + body
	}
	done, ready := message('C', "INSERT 0 1\x00"), message('Z', "I")
	cases := []struct {
		name, answer string
		want         bool
	}{
		{"nothing", "", false},
		{"done, not ready", done, false},
		{"ready", done + ready, true},
		{"a message cut off", done + ready[:5], false},
		{"an error", message('E', "SERROR\x00\x00") + ready, true},
		{"waits for rows", message('G', "\x00\x00\x01\x00\x00"), true},
		{"a Z in a row", message('D', "Z\x00\x00\x00\x05I"), false},
	}
	for _, c := range cases {
		if got := postgresAnswered([]byte(c.answer)); got != c.want {
			t.Errorf("%s: %t, want %t", c.name, got, c.want)
		}
	}
}
