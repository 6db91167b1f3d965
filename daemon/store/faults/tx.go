package faults

import (
	"context"
	"database/sql/driver"
	"errors"
)

// tx counts the end of one transaction.
type tx struct {
	inner driver.Tx
	conn  *conn
	ctx   context.Context // that it was begun with: Commit and Rollback are given none, and it holds until they are done
}

func (t *tx) Commit() error {
	if t.usable() {
		switch t.conn.plan.nextFate() {
		case Lost:
			return errors.Join(ErrCommit, t.inner.Commit())
		case Failed:
			return errors.Join(ErrCommit, t.inner.Rollback())
		}
	}
	tried, err := t.end(Commit, t.inner.Commit)
	if !tried && t.usable() {
		_ = t.inner.Rollback() // a driver whose commit failed leaves no transaction behind
	}
	return err
}

func (t *tx) Rollback() error {
	tried, err := t.end(Rollback, t.inner.Rollback)
	if !tried && t.usable() {
		t.conn.broken.Store(true) // nobody else may get a connection in a transaction
	}
	return err
}

// end says whether the driver was asked at all.
func (t *tx) end(kind Kind, by func() error) (tried bool, err error) {
	_, err = over(t.ctx, t.conn, Op{Kind: kind}, func() (struct{}, error) {
		tried = true
		return struct{}{}, by()
	})
	return tried, err
}

// usable says whether the connection would be given to somebody else. A dead
// process does nothing more, and rolls nothing back.
func (t *tx) usable() bool { return !t.conn.broken.Load() && !t.conn.plan.Dead() }

func (p *Plan) nextFate() Fate {
	p.mu.Lock()
	defer p.mu.Unlock()
	f := p.commit
	p.commit = Fine
	return f
}
