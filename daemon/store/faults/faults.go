// Package faults makes a database fail in tests, at an operation of the
// driver (Register, Plan) or on the network (Proxy). A test runs a whole
// scenario once to count its operations, and then once for each of them, with
// that one gone wrong: never performed, or performed and its answer lost.
//
// The order in which a plan's rules apply:
//
//  1. Nothing gets over a broken connection: its operations fail with
//     driver.ErrBadConn, database/sql throws it away, and closing it rolls
//     back what was not committed.
//  2. After a death nothing works on any connection, commits and rollbacks
//     neither, so that whatever was not committed is lost.
//  3. NextCommit decides about the next commit alone, which is not counted.
//  4. Operations that Count lets through are counted over all connections in
//     the order in which they begin. The one with the number At goes wrong as
//     Mode says; all others are the driver's own.
//
// What goes wrong breaks its connection wherever the answer did not come
// (LoseOnce, HangOnce) or the error is driver.ErrBadConn: whoever misses an
// answer cannot tell it from the next one. Fetching rows, pinging and closing
// are not operations.
//
// A proxy looks only at what a client sends, and cuts at a text in it, before
// the server has it or when the whole answer is back and nobody has heard it.
package faults

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"slices"
	"sync"
)

var (
	// ErrDead is what a killed process would not live to see.
	ErrDead = errors.New("the process was killed here")
	// ErrFault is what the caller of an operation that goes wrong once hears.
	ErrFault = errors.New("the operation's answer did not come")
	// ErrCommit is what the caller of a commit that is lost or failed hears.
	ErrCommit = errors.New("the commit's answer did not come")
)

// Mode is how the planned operation goes wrong.
type Mode int

// The modes.
const (
	Die      Mode = iota // this operation and all later ones fail; After says whether this one is done
	FailOnce             // only this one fails, not done; a commit is rolled back
	LoseOnce             // only this one fails, done
	HangOnce             // only this one fails, once its context is done or Release was called; After says whether it is done
)

// Fate is what happens to one commit while everything else works.
type Fate int

// The fates. Lost: it is done, and its answer is an error. Failed: it is not
// done, and the driver has rolled back.
const (
	Fine Fate = iota
	Lost
	Failed
)

// Plan says which operation goes wrong, and how. Its exported fields are set
// before the database is opened.
type Plan struct {
	At    int64 // 1 for the first operation that counts; 0: never
	Mode  Mode
	After bool // the operation is done before it goes wrong; for Die and HangOnce
	// Err is what the caller hears; nil: ErrDead or ErrFault. With
	// driver.ErrBadConn database/sql does an operation outside a transaction
	// again. HangOnce gives no context's error unless it is asked for here:
	// drivers differ in that.
	Err error
	// Count says which operations are counted; nil: all but Open, as how
	// many connections a pool opens is not the scenario's doing. It must be
	// safe to call from several goroutines.
	Count func(Op) bool

	mu                sync.Mutex
	log               []Op
	dead              bool
	struck            Op
	commit            Fate
	hanging, released chan struct{}
}

// NextCommit decides about the next commit, and only that.
func (p *Plan) NextCommit(f Fate) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.commit = f
}

// Operations gives how many operations that count have begun.
func (p *Plan) Operations() int64 {
	p.mu.Lock()
	defer p.mu.Unlock()
	return int64(len(p.log))
}

// Log gives the operations that were counted: number n is at n-1.
func (p *Plan) Log() []Op {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.log)
}

// Dead says whether the death came.
func (p *Plan) Dead() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.dead
}

// Struck gives the operation that went wrong, if one did.
func (p *Plan) Struck() (Op, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.struck, p.struck != Op{}
}

// Hanging is closed when the operation of HangOnce hangs.
func (p *Plan) Hanging() <-chan struct{} { return p.signal(&p.hanging) }

// Release ends the hanging. It may come before it, and more than once.
func (p *Plan) Release() { p.raise(&p.released) }

// signal makes a channel on its first use: the zero plan is a plan.
func (p *Plan) signal(c *chan struct{}) chan struct{} {
	p.mu.Lock()
	defer p.mu.Unlock()
	if *c == nil {
		*c = make(chan struct{})
	}
	return *c
}

func (p *Plan) raise(c *chan struct{}) {
	raised := p.signal(c)
	p.mu.Lock()
	defer p.mu.Unlock()
	select {
	case <-raised:
	default:
		close(raised)
	}
}

func (p *Plan) hang(ctx context.Context) {
	p.raise(&p.hanging)
	select {
	case <-ctx.Done():
	case <-p.signal(&p.released):
	}
}

func (p *Plan) err() error {
	switch {
	case p.Err != nil:
		return p.Err
	case p.Mode == Die:
		return ErrDead
	}
	return ErrFault
}

// breaks says whether what goes wrong leaves the connection of no use.
func (p *Plan) breaks() bool {
	return p.Mode == LoseOnce || p.Mode == HangOnce || errors.Is(p.err(), driver.ErrBadConn)
}

// performs says whether the operation that goes wrong is done.
func (p *Plan) performs() bool {
	switch p.Mode {
	case Die, HangOnce:
		return p.After
	case FailOnce:
		return false
	case LoseOnce:
		return true
	}
	panic(fmt.Sprintf("a plan of no mode: %d", p.Mode))
}
