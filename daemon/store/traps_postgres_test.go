package store

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// TestTrapTheServersZone: sessions are in UTC on every connection of both
// pools, whatever the zone of the database, of the environment and of the
// program.
func TestTrapTheServersZone(t *testing.T) {
	database := fresh["postgres"](t)
	u, err := url.Parse(database)
	ok(t, err)
	administrator(t, database, "ALTER DATABASE "+strings.TrimPrefix(u.Path, "/")+" SET timezone = 'Pacific/Apia'")
	t.Setenv("PGTZ", "Asia/Kolkata")
	st := reopened(t, database)
	for name, pool := range map[string]*bun.DB{"writer": st.writer, "reader": st.reader} {
		for range 4 {
			c, err := pool.Conn(t.Context())
			ok(t, err)
			defer c.Close()
			var zone string
			if err := c.QueryRowContext(t.Context(), `SHOW timezone`).Scan(&zone); err != nil || zone != "UTC" {
				t.Errorf("the %s is in %s, %v", name, zone, err)
			}
		}
	}
	var others string
	if err := besides(t, database).QueryRowContext(t.Context(), `SHOW timezone`).Scan(&others); err != nil || others == "UTC" {
		t.Errorf("others are in %s too: this proves nothing (%v)", others, err)
	}
}

// TestTrapAddress: what is not said is safe. The driver's own default encrypts
// and does not ask whom it speaks with.
func TestTrapAddress(t *testing.T) {
	for name, c := range map[string]struct {
		address  string
		readOnly bool
		want     map[string]string
	}{
		"nothing said": {"postgres://u@h/d", false, map[string]string{"sslmode": "verify-full", "timezone": "UTC", "connect_timeout": "10", "lock_timeout": "5000",
			"statement_timeout": "30000", "idle_in_transaction_session_timeout": "60000", "application_name": "antidotary", "default_transaction_read_only": ""}},
		"said":        {"postgresql://u@h/d?sslmode=disable&lock_timeout=1", false, map[string]string{"sslmode": "disable", "lock_timeout": "1", "timezone": "UTC"}},
		"to be asked": {"postgres://u@h/d?default_transaction_read_only=off", true, map[string]string{"default_transaction_read_only": "on", "sslmode": "verify-full"}},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := address(c.address, "s3cret/@:?", c.readOnly)
			ok(t, err)
			u, err := url.Parse(got)
			ok(t, err)
			for key, want := range c.want {
				if have := u.Query().Get(key); have != want {
					t.Errorf("%s is %q, want %q", key, have, want)
				}
			}
			if password, _ := u.User.Password(); password != "s3cret/@:?" || u.User.Username() != "u" || u.Host != "h" || u.Path != "/d" {
				t.Errorf("%s", u)
			}
		})
	}
	for _, wrong := range []string{"postgres://u:s3cret@h/d", "postgres://u:s3cret@h:port/d", "postgres://u:s3c%zzret@h/d"} {
		if _, err := address(wrong, "", false); err == nil || strings.Contains(err.Error(), "s3c") {
			t.Errorf("%s: %v, want an error without the password", wrong, err)
		}
	}
}

// TestTrapPasswordInAnError: whatever goes wrong, nobody reads it in a log.
func TestTrapPasswordInAnError(t *testing.T) {
	const password = "s3cret-of-the-house"
	server := fresh["postgres"](t)
	u, err := url.Parse(server)
	ok(t, err)
	nobody := *u
	nobody.User = url.User("nobody_of_that_name")
	for name, database := range map[string]string{
		"nobody there":      "postgres://u@127.0.0.1:1/d?connect_timeout=1&sslmode=disable",
		"no such host":      "postgres://u@host.invalid/d?connect_timeout=1",
		"no such mode":      "postgres://u@127.0.0.1:1/d?sslmode=" + password,
		"no such database":  strings.Replace(server, u.Path, "/none_"+password, 1),
		"no such user":      nobody.String(),
		"no encryption":     with(t, server, "sslmode", "verify-full"),
		"no such setting":   with(t, server, "no_such_setting", password),
		"no such value":     with(t, server, "lock_timeout", password),
		"no such address":   "postgres://u@[" + password,
		"in the address":    "postgres://u:" + password + "@h/d",
		"with wrong escape": "postgres://u:" + password + "%zz@h/d",
	} {
		t.Run(name, func(t *testing.T) {
			for opened, open := range map[string]func(context.Context, string, Options) (*Store, error){"to write": Open, "to be asked": OpenReadOnly} {
				st, err := open(t.Context(), database, Options{Clock: func() time.Time { return noon }, Password: password})
				if err == nil {
					st.Close()
					t.Errorf("%s: it was opened", opened)
				} else if strings.Contains(err.Error(), password) {
					t.Errorf("%s: the error quotes the password: %v", opened, err)
				}
			}
		})
	}
}

// sound is what a server says that can be trusted.
func sound() map[string]string {
	return map[string]string{"fsync": "on", "full_page_writes": "on", "synchronous_commit": "on", "standard_conforming_strings": "on",
		"server_encoding": "UTF8", "server_version_num": "150018", "server_version": "15.18"}
}

// TestTrapUnsafeSettings: each that would lose what was acknowledged, or
// misread text, is named.
func TestTrapUnsafeSettings(t *testing.T) {
	if err := untrusted(sound()); err != nil {
		t.Fatal(err)
	}
	for setting, values := range map[string]map[string]bool{
		"fsync":                       {"on": true, "off": false, "": false},
		"full_page_writes":            {"on": true, "off": false, "": false},
		"synchronous_commit":          {"on": true, "remote_apply": true, "off": false, "local": false, "remote_write": false, "": false},
		"standard_conforming_strings": {"on": true, "off": false, "": false},
		"server_encoding":             {"UTF8": true, "SQL_ASCII": false, "LATIN1": false, "": false},
		"server_version_num":          {"140000": true, "180001": true, "139999": false, "90624": false, "": false, "fifteen": false},
	} {
		for value, trusted := range values {
			t.Run(fmt.Sprintf("%s=%s", setting, value), func(t *testing.T) {
				have := sound()
				have[setting] = value
				err := untrusted(have)
				if (err == nil) != trusted || err != nil && (!errors.Is(err, ErrUnsafe) || !strings.Contains(err.Error(), map[bool]string{true: "version", false: setting}[setting == "server_version_num"])) {
					t.Errorf("%v, want trusted %t", err, trusted)
				}
			})
		}
	}
	for _, name := range slices.Sorted(maps.Keys(demanded)) {
		if sound()[name] == "" {
			t.Errorf("%s is demanded, and not tested", name)
		}
	}
}

// TestTrapUnsafeServer: a real one that says so itself is refused, to write and
// to be asked.
func TestTrapUnsafeServer(t *testing.T) {
	database := fresh["postgres"](t)
	reopened(t, database)
	for setting, value := range map[string]string{"synchronous_commit": "off", "standard_conforming_strings": "off"} {
		for name, open := range map[string]func(context.Context, string, Options) (*Store, error){"to write": Open, "to be asked": OpenReadOnly} {
			st, err := open(t.Context(), with(t, database, setting, value), Options{Clock: func() time.Time { return noon }})
			if err == nil {
				st.Close()
			}
			if !errors.Is(err, ErrUnsafe) || !strings.Contains(err.Error(), setting) {
				t.Errorf("%s %s, %s: %v, want ErrUnsafe with its name", setting, value, name, err)
			}
		}
	}
}

// TestTrapTerminatedBackend: what was under way is reported as unreachable and
// leaves nothing, and the next call works on another connection.
func TestTrapTerminatedBackend(t *testing.T) {
	st := reopened(t, fresh["postgres"](t))
	committed(t, st, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
	end := func(ctx context.Context, tx bun.Tx) error {
		var pid int
		ok(t, tx.QueryRowContext(ctx, `SELECT pg_backend_pid()`).Scan(&pid))
		_, err := besides(t, placeOf(t, st)).ExecContext(ctx, `SELECT pg_terminate_backend($1, 5000)`, pid)
		return err
	}
	lost := compliance.Authority{ID: inventory.NewID(), Title: "a", Zone: "UTC"}
	written := func(context.Context, bun.Tx) (bool, error) { return false, nil }
	for name, err := range map[string]error{
		"within": st.write(t.Context(), func(ctx context.Context, tx bun.Tx, _ time.Time) error {
			ok(t, put(ctx, tx, lost))
			ok(t, end(ctx, tx))
			return put(ctx, tx, lost)
		}, written),
		"at the commit": st.write(t.Context(), func(ctx context.Context, tx bun.Tx, _ time.Time) error {
			ok(t, put(ctx, tx, lost))
			return end(ctx, tx)
		}, written),
		"while reading": st.read(t.Context(), func(ctx context.Context, tx bun.Tx) error {
			ok(t, end(ctx, tx))
			_, err := head(ctx, tx)
			return err
		}),
	} {
		if !errors.Is(err, ErrUnreachable) {
			t.Errorf("%s: %v, want ErrUnreachable", name, err)
		}
	}
	committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"}))
	st.Forget()
	view, err := st.Read(t.Context())
	if err != nil || view.Snapshot.Authorities.Len() != 0 || view.Head.Position != 2 {
		t.Errorf("%d authorities at %s, %v", view.Snapshot.Authorities.Len(), view.Head, err)
	}
}

// TestTrapIdleConnectionsThatDied: those that wait in the pools are replaced
// without anybody noticing, or at the second attempt.
func TestTrapIdleConnectionsThatDied(t *testing.T) {
	st := reopened(t, fresh["postgres"](t))
	committed(t, st, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
	_, err := besides(t, placeOf(t, st)).ExecContext(t.Context(), `SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()`)
	ok(t, err)
	species := compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"})
	if _, err := st.Commit(t.Context(), Actor{ID: "test"}, species); err != nil {
		if !errors.Is(err, ErrUnreachable) {
			t.Errorf("%v, want ErrUnreachable", err)
		}
		committed(t, st, species)
	}
	if r := verified(t, st); r.Problem != "" || r.Entries != 2 {
		t.Errorf("%+v", r)
	}
}

// TestTrapTwoStoresOnOneServer: each commits what it decides from what the
// other did; nobody works from what was known before.
func TestTrapTwoStoresOnOneServer(t *testing.T) {
	database := fresh["postgres"](t)
	stores := []*Store{reopened(t, database), reopened(t, database)}
	const rounds = 10
	for i := range rounds { // each in turn takes the name from the other's record
		st := stores[i%2]
		before, _, err := st.Snapshot(t.Context())
		ok(t, err)
		if before.Species.Len() != i {
			t.Fatalf("round %d: %d species are known", i, before.Species.Len())
		}
		committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: fmt.Sprintf("Naja n%c", 'a'+i)}))
		twin := compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: fmt.Sprintf("Naja n%c", 'a'+i)})
		var refusal *compliance.Refusal
		if _, err := stores[(i+1)%2].Commit(t.Context(), Actor{ID: "test"}, twin); !errors.As(err, &refusal) || errors.Is(err, ErrConflict) {
			t.Errorf("round %d: %v, want a refusal by what is known, not by a table", i, err)
		}
	}
	done := make(chan error)
	for _, st := range stores {
		go func() {
			var all error
			for range rounds {
				_, err := st.Commit(context.Background(), Actor{ID: "test"}, compliance.Record(compliance.Authority{ID: inventory.NewID(), Title: inventory.NewID().String(), Zone: "UTC"}))
				all = errors.Join(all, err)
			}
			done <- all
		}()
	}
	ok(t, errors.Join(<-done, <-done))
	for _, st := range stores {
		if r := verified(t, st); r.Problem != "" || r.Entries != 3*rounds {
			t.Errorf("%+v, want %d entries", r, 3*rounds)
		}
		sameRecords(t, st, stores[0])
	}
}
