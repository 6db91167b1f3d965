package faults

import (
	"context"
	"database/sql"
	"errors"
	"net"
	"strconv"
	"testing"

	"github.com/uptrace/bun"
	"github.com/uptrace/bun/dialect/pgdialect"
)

// TestCopyingIsCounted row by row, and a lost answer to it leaves nothing.
func TestCopyingIsCounted(t *testing.T) {
	d, _ := postgresDatabase(t)
	plan := &Plan{}
	if err := copyIn(t.Context(), d.by(t, plan)); err != nil {
		t.Fatal(err)
	}
	if got := d.rows(t); got != 3 {
		t.Fatalf("%d entries, want 3", got)
	}
	for n, op := range plan.Log() {
		for _, mode := range []Mode{FailOnce, LoseOnce} {
			was, wrong := d.rows(t), &Plan{At: int64(n + 1), Mode: mode}
			if err := copyIn(t.Context(), d.by(t, wrong)); !errors.Is(err, ErrFault) {
				t.Errorf("mode %d, operation %d (%s): the caller hears %v", mode, n+1, op, err)
			}
			want := 0
			if op.Kind == Commit && mode == LoseOnce {
				want = 3
			}
			if got := d.rows(t) - was; got != want {
				t.Errorf("mode %d, operation %d (%s): %d entries, want %d", mode, n+1, op, got, want)
			}
		}
	}
	if got := plan.Operations(); got != 7 { // begin, prepare, three rows, the end, commit
		t.Errorf("%d operations, want 7: %v", got, plan.Log())
	}
}

func copyIn(ctx context.Context, db *sql.DB) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	rows, err := tx.PrepareContext(ctx, `COPY entry (name) FROM STDIN`)
	if err != nil {
		return err
	}
	for _, name := range []string{"one", "two", "three"} {
		if _, err := rows.ExecContext(ctx, name); err != nil {
			return err
		}
	}
	if _, err := rows.ExecContext(ctx); err != nil {
		return err
	}
	if err := rows.Close(); err != nil {
		return err
	}
	return tx.Commit()
}

// entry is what the trap is made with.
type entry struct {
	bun.BaseModel `bun:"table:entry"`
	Name          string `bun:"name"`
}

// TestTrapAutocommitRunsTwice shows why every write is in a transaction. The
// driver gives driver.ErrBadConn for an answer that was lost after the server
// did the work, and database/sql does the work again (lib/pq issue 939,
// golang/go issue 11978). If the first case no longer holds, the libraries
// have been mended, and this test is to say so; the others must always hold.
func TestTrapAutocommitRunsTwice(t *testing.T) {
	insert := func(ctx context.Context, db bun.IDB) error {
		_, err := db.NewInsert().Model(&entry{Name: "once"}).Exec(ctx)
		return err
	}
	inTransaction := func(ctx context.Context, db bun.IDB) error {
		return db.RunInTx(ctx, nil, func(ctx context.Context, tx bun.Tx) error { return insert(ctx, tx) })
	}
	cases := []struct {
		name, cut string
		reset     bool
		write     func(context.Context, bun.IDB) error
		fails     bool
		rows      int
	}{
		{"autocommit, answer lost", "INSERT", false, insert, false, 2},
		{"autocommit, answer lost by a reset", "INSERT", true, insert, true, 1},
		{"in a transaction, answer to the insert lost", "INSERT", false, inTransaction, true, 0},
		{"in a transaction, answer to the insert lost by a reset", "INSERT", true, inTransaction, true, 0},
		{"in a transaction, answer to the commit lost", "COMMIT", false, inTransaction, true, 1},
		{"in a transaction, answer to the commit lost by a reset", "COMMIT", true, inTransaction, true, 1},
	}
	d, cfg := postgresDatabase(t)
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p := proxyTo(t, net.JoinHostPort(cfg.Host, strconv.Itoa(int(cfg.Port))))
			p.Reset = c.reset
			db := bun.NewDB(opened(t, "postgres", through(t, p, cfg)), pgdialect.New())
			was := d.rows(t)
			p.CutReplyTo(c.cut)
			if err := c.write(t.Context(), db); (err != nil) != c.fails {
				t.Errorf("the caller hears %v; fails: want %t", err, c.fails)
			}
			if p.Fired() != 1 {
				t.Fatalf("%d cuts, want 1", p.Fired())
			}
			if got := d.rows(t) - was; got != c.rows {
				t.Errorf("%d rows, want %d", got, c.rows)
			}
		})
	}
}
