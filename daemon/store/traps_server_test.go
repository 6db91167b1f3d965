package store

import (
	"context"
	"crypto/rand"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"net"
	"testing"
	"time"

	"github.com/lib/pq"
	"github.com/lib/pq/pqerror"
	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// TestTrapSlowStatement: where the server gave up and the caller did not, it
// is no deadline of the caller, though the server says the same to both.
func TestTrapSlowStatement(t *testing.T) {
	database := fresh["postgres"](t)
	st := reopened(t, with(t, with(t, database, "statement_timeout", "150"), "lock_timeout", "5000"))
	c, err := besides(t, database).Conn(t.Context())
	ok(t, err)
	_, err = c.ExecContext(t.Context(), "BEGIN; "+st.dialect.alone)
	ok(t, err)
	species := compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"})
	if _, err := st.Commit(t.Context(), Actor{ID: "test"}, species); !errors.Is(err, ErrSlow) || errors.Is(err, context.DeadlineExceeded) || errors.Is(err, context.Canceled) {
		t.Errorf("%v, want ErrSlow alone", err)
	}
	_, err = c.ExecContext(t.Context(), "ROLLBACK")
	ok(t, err)
	committed(t, st, species)
}

// TestTrapIdleTransaction: the server ends one that does nothing for too long,
// as where a machine was suspended; nothing of it stays, and the store goes on.
func TestTrapIdleTransaction(t *testing.T) {
	database := fresh["postgres"](t)
	st := reopened(t, with(t, database, "idle_in_transaction_session_timeout", "100"))
	beside, lost := besides(t, database), compliance.Authority{ID: inventory.NewID(), Title: "a", Zone: "UTC"}
	err := st.write(t.Context(), func(ctx context.Context, tx bun.Tx, _ time.Time) error {
		ok(t, put(ctx, tx, lost))
		var pid int
		ok(t, tx.QueryRowContext(ctx, `SELECT pg_backend_pid()`).Scan(&pid))
		for n := 1; n > 0; { // until the server has ended it
			ok(t, beside.QueryRowContext(ctx, `SELECT count(*) FROM pg_stat_activity WHERE pid = $1`, pid).Scan(&n))
		}
		return put(ctx, tx, lost)
	}, func(context.Context, bun.Tx) (bool, error) { return false, nil })
	if !errors.Is(err, ErrUnreachable) {
		t.Errorf("%v, want ErrUnreachable", err)
	}
	committed(t, st, compliance.Record(lost))
}

// TestTrapWhoseClock: programs on one server whose clocks are years apart take
// the server's, so that a lease is as long for both.
func TestTrapWhoseClock(t *testing.T) {
	database := fresh["postgres"](t)
	var stores []*Store
	for _, off := range []int{-10, 10} {
		st, err := Open(t.Context(), database, Options{SharedClock: true, Clock: func() time.Time { return noon.AddDate(off, 0, 0) }})
		ok(t, err)
		defer st.Close()
		stores = append(stores, st)
	}
	queued(t, stores[0], mailTo("a@house.example"))
	held := claim(t, stores[0])
	if taken := claim(t, stores[1]); len(held) != 1 || len(taken) != 0 {
		t.Fatalf("%d were claimed, and %d by the other", len(held), len(taken))
	}
	ok(t, stores[0].DataStarted(t.Context(), held[0].ID, held[0].Token))
	ok(t, stores[0].Finish(t.Context(), held[0].ID, held[0].Token, Outcome{State: MailSent}))
	var apart float64
	ok(t, besides(t, database).QueryRowContext(t.Context(), `SELECT abs(extract(epoch FROM now()) - queued_at / 1e6) FROM outbox`).Scan(&apart))
	if apart > 300 {
		t.Errorf("it was queued %.0f seconds away from the server's time", apart)
	}
}

// TestTrapErrorCodes: an error is known by its code, whatever its text says in
// whatever language (PostgreSQL documentation, appendix A).
func TestTrapErrorCodes(t *testing.T) {
	kinds := []error{ErrConflict, ErrBusy, ErrFull, ErrUnreachable, ErrSlow}
	for code, want := range map[pqerror.Code]error{
		"23505": ErrConflict, "23503": ErrConflict, "23502": ErrConflict, "23514": ErrConflict, "23001": ErrConflict, "54000": ErrConflict,
		"55P03": ErrBusy, "40001": ErrBusy, "40P01": ErrBusy, "53300": ErrBusy, "53200": ErrBusy, "53100": ErrFull,
		"57014": ErrSlow, "57P01": ErrUnreachable, "57P02": ErrUnreachable, "57P03": ErrUnreachable, "08006": ErrUnreachable, "08P01": ErrUnreachable,
		"58030": ErrUnreachable, "25P03": ErrUnreachable, "42601": nil, "22021": nil, "25006": nil, "": nil,
	} {
		for _, err := range []error{&pq.Error{Code: code, Message: "nada"}, fmt.Errorf("save: %w", &pq.Error{Code: code, Message: "nada"})} {
			got := classified(err)
			for _, kind := range kinds {
				if errors.Is(got, kind) != (kind == want) {
					t.Errorf("%q is %v: %t", code, kind, errors.Is(got, kind))
				}
			}
			if !errors.Is(got, err) {
				t.Errorf("%q: the error itself was lost", code)
			}
		}
	}
	for name, err := range map[string]error{"a bad connection": driver.ErrBadConn, "the end": io.EOF, "the end in the middle": io.ErrUnexpectedEOF, "a network": &net.OpError{Op: "dial", Err: io.ErrClosedPipe}} {
		if !errors.Is(classified(err), ErrUnreachable) {
			t.Errorf("%s is not ErrUnreachable", name)
		}
	}
	if classified(nil) != nil || !errors.Is(classified(errOutcome), errOutcome) {
		t.Error("what is no error of a driver stays as it is")
	}
}

// TestTrapANameTooLongForItsIndex (2,704 bytes of a B-tree's page, once
// compressed; SQLite has no such limit) is refused with the record's name, one
// by one and in bulk, and nothing of it is there. Text that is no name may be
// as long as it likes.
func TestTrapANameTooLongForItsIndex(t *testing.T) {
	st := reopened(t, fresh["postgres"](t))
	var long string
	for range 300 {
		long += rand.Text()
	}
	named := inventory.Product{ID: inventory.NewID(), Type: long}
	var refusal *compliance.Refusal
	if _, err := st.Commit(t.Context(), Actor{ID: "test"}, compliance.Record(named)); !errors.As(err, &refusal) || refusal.Subject != named.Ref() {
		t.Errorf("%v, want a refusal that names it", err)
	}
	batch := compliance.Batch{compliance.Record(named)}
	for i := range manyAtOnce {
		batch = append(batch, compliance.Record(compliance.Authority{ID: inventory.NewID(), Title: fmt.Sprint("a", i), Zone: "UTC"}))
	}
	if _, err := st.Commit(t.Context(), Actor{ID: "test"}, batch...); !errors.Is(err, ErrConflict) {
		t.Errorf("in bulk: %v, want ErrConflict", err)
	}
	p := compliance.Person{ID: inventory.NewID(), Called: long}
	committed(t, st, compliance.Record(p))
	st.Forget()
	records, at, err := st.Snapshot(t.Context())
	if err != nil || at.Position != 1 || len(recordsIn(records)) != 1 || records.Lookup(p.Ref()).Name() != long {
		t.Errorf("%d records at %s, %v", len(recordsIn(records)), at, err)
	}
}
