package faults

import (
	"context"
	"database/sql/driver"
	"fmt"
)

// Kind is what a driver is asked to do.
type Kind string

// The kinds. A statement that was prepared is executed by StmtExec or
// StmtQuery.
const (
	Open      Kind = "open"
	Begin     Kind = "begin"
	Exec      Kind = "exec"
	Query     Kind = "query"
	Prepare   Kind = "prepare"
	StmtExec  Kind = "execute prepared"
	StmtQuery Kind = "query prepared"
	Commit    Kind = "commit"
	Rollback  Kind = "rollback"
)

// Op is one operation. Query is empty where the kind has none.
type Op struct {
	Kind  Kind
	Query string
}

// String gives the operation for a message, its text cut to a hundred runes.
func (o Op) String() string {
	if o.Query == "" {
		return string(o.Kind)
	}
	return fmt.Sprintf("%s %.100q", o.Kind, o.Query)
}

// verdict is what a plan says about one operation.
type verdict int

const (
	passes verdict = iota
	refused
	goesWrong
)

// judge counts an operation and says what becomes of it.
func (p *Plan) judge(op Op) verdict {
	counts := op.Kind != Open
	if p.Count != nil {
		counts = p.Count(op)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if counts {
		p.log = append(p.log, op)
	}
	switch {
	case p.dead:
		return refused
	case !counts || p.At == 0 || int64(len(p.log)) != p.At:
		return passes
	}
	p.struck, p.dead = op, p.Mode == Die
	return goesWrong
}

// run does one operation by the plan. broke: its connection is of no use any
// more.
func run[T any](ctx context.Context, p *Plan, op Op, perform func() (T, error)) (answer T, broke bool, err error) {
	switch p.judge(op) {
	case passes:
		answer, err = perform()
		return answer, false, err
	case refused:
		return answer, p.breaks(), p.err()
	}
	if p.performs() {
		unheard(perform)
	}
	if p.Mode == HangOnce {
		p.hang(ctx)
	}
	return answer, p.breaks(), p.err()
}

// unheard does an operation whose answer nobody gets. What it opened is
// closed: a killed process holds no cursor, nor does a lost connection. A
// transaction is not: some drivers' transaction is their connection, which
// database/sql closes.
func unheard[T any](perform func() (T, error)) {
	answer, err := perform()
	if err != nil {
		return
	}
	switch opened := any(&answer).(type) {
	case *driver.Conn:
		_ = (*opened).Close()
	case *driver.Stmt:
		_ = (*opened).Close()
	case *driver.Rows:
		_ = (*opened).Close()
	}
}
