package store

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory"
)

// restoredInto brings a backup into a database and gives what is there.
func restoredInto(t *testing.T, b Backup, database string) Restored {
	t.Helper()
	r, err := Restore(t.Context(), b.File, database, atNoon(), false)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestARestore into either database brings everything back, and holds mail.
func TestARestore(t *testing.T) {
	from := fresh["sqlite"](t)
	b := backedUp(t, inEveryTable(t, from))
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) {
			to := place(t)
			r := restoredInto(t, b, to)
			if !IsServer(to) {
				namesIn(t, filepath.Dir(to)) // nobody else may read them
			}
			if r.Head != b.Head || r.Made != "2026-11-25T12:00:00Z" || r.Why != "restored from house.backup, made 2026-11-25T12:00:00Z" {
				t.Errorf("%+v", r)
			}
			want, got := everything(t, from), everything(t, to)
			if len(got["mail_hold"]) != len(want["mail_hold"])+1 {
				t.Errorf("holds: %q", got["mail_hold"])
			}
			delete(want, "mail_hold")
			delete(got, "mail_hold")
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("(-backed up +restored):\n%s", diff)
			}
			st := reopened(t, to)
			if h, in, err := st.Hold(t.Context()); err != nil || !in || h.Why != r.Why || h.Since != noon {
				t.Errorf("%+v, %t, %v", h, in, err)
			}
			if claimed := claim(t, st); len(claimed) != 0 {
				t.Errorf("%d mails went out", len(claimed))
			}
			if _, err := Restore(t.Context(), b.File, to, atNoon(), false); !errors.Is(err, ErrNotEmpty) && !errors.Is(err, ErrBusy) {
				t.Errorf("again: %v", err)
			}
		})
	}
}

// TestARestoredHoldIsReplaced: a backup of a database on hold.
func TestARestoredHoldIsReplaced(t *testing.T) {
	st := reopened(t, fresh["sqlite"](t))
	held(t, st, "an older one")
	to := fresh["sqlite"](t)
	restoredInto(t, backedUp(t, st), to)
	if h, in, err := reopened(t, to).Hold(t.Context()); err != nil || !in || !strings.HasPrefix(h.Why, "restored from") {
		t.Errorf("%+v, %t, %v", h, in, err)
	}
}

// TestAnAlteredBackupIsRefused: any bit of it, and nothing is made.
func TestAnAlteredBackupIsRefused(t *testing.T) {
	b := backedUp(t, inEveryTable(t, fresh["sqlite"](t)))
	data, err := os.ReadFile(b.File)
	if err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "new.db")
	for i := range 64 {
		at := i * (len(data) - 1) / 63
		data[at] ^= 1 << (i % 8)
		rewritten(t, b.File, data)
		data[at] ^= 1 << (i % 8)
		if _, err := Restore(t.Context(), b.File, to, atNoon(), false); !errors.Is(err, ErrAltered) {
			t.Errorf("byte %d: %v, want ErrAltered", at, err)
		}
	}
	rewritten(t, b.File, data[:len(data)-1])
	if _, err := Restore(t.Context(), b.File, to, atNoon(), false); !errors.Is(err, ErrAltered) {
		t.Errorf("cut off: %v, want ErrAltered", err)
	}
	if got := namesIn(t, filepath.Dir(to)); len(got) != 0 {
		t.Errorf("made: %q", got)
	}
}

func rewritten(t *testing.T, file string, data []byte) {
	t.Helper()
	if err := os.WriteFile(file, data, 0o600); err != nil {
		t.Fatal(err)
	}
}

// TestWhatARestoreRefuses, and says what to do.
func TestWhatARestoreRefuses(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(t *testing.T, b Backup, to string)
		want  string
	}{
		{"no backup", func(t *testing.T, b Backup, _ string) { os.Remove(b.File) }, "name the file that antidotary backup made"},
		{"no manifest", func(t *testing.T, b Backup, _ string) { os.Remove(b.File + manifestEnding) }, "say --without-manifest"},
		{"a manifest of nothing", func(t *testing.T, b Backup, _ string) { rewritten(t, b.File+manifestEnding, []byte("# made\n")) }, "holds 0 sums"},
		{"a manifest of two", func(t *testing.T, b Backup, _ string) {
			rewritten(t, b.File+manifestEnding, fmt.Appendf(nil, "%x  a\n%x  b\n", b.Sum, b.Sum))
		}, "holds 2 sums"},
		{"a manifest in another form", func(t *testing.T, b Backup, _ string) {
			rewritten(t, b.File+manifestEnding, []byte("SHA256 (b) = 00\n"))
		}, "no line of a SHA-256 manifest"},
		{"a log of a file that is gone", func(t *testing.T, _ Backup, to string) { rewritten(t, to+"-wal", []byte("x")) }, "move it elsewhere first"},
		{"a log beside an empty file", func(t *testing.T, _ Backup, to string) {
			rewritten(t, to, nil)
			rewritten(t, to+"-shm", nil)
		}, "move it elsewhere first"},
		{"records that are there", func(t *testing.T, _ Backup, to string) {
			st := reopened(t, to)
			committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"}))
			st.Close()
		}, "name a new, empty database"},
		{"a database that waits for migrations", func(t *testing.T, _ Backup, to string) { older(t, to, 3) }, "is older than this program"},
		{"a daemon that runs", func(t *testing.T, _ Backup, to string) { reopened(t, to) }, "stop it first"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, to := backedUp(t, inEveryTable(t, fresh["sqlite"](t))), fresh["sqlite"](t)
			c.spoil(t, b, to)
			before := bytesIn(t, filepath.Dir(to))
			if _, err := Restore(t.Context(), b.File, to, atNoon(), false); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v, want %q", err, c.want)
			}
			if diff := cmp.Diff(before, bytesIn(t, filepath.Dir(to))); diff != "" {
				t.Errorf("it changed what was there:\n%s", diff)
			}
		})
	}
}

func bytesIn(t *testing.T, folder string) map[string]string {
	t.Helper()
	out := make(map[string]string)
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		name := e.Name()
		data, err := os.ReadFile(filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasSuffix(name, "-shm") { // readers note themselves in it
			out[name] = fmt.Sprintf("%x", sha256.Sum256(data))
		}
	}
	return out
}

// TestARestoreWithoutManifest looks at the journal all the same.
func TestARestoreWithoutManifest(t *testing.T) {
	b := backedUp(t, inEveryTable(t, fresh["sqlite"](t)))
	if err := os.Remove(b.File + manifestEnding); err != nil {
		t.Fatal(err)
	}
	r, err := Restore(t.Context(), b.File, fresh["sqlite"](t), atNoon(), true)
	if err != nil || r.Made != "" || r.Why != "restored from house.backup" || r.Head != b.Head {
		t.Errorf("%+v, %v", r, err)
	}
	if _, err := besides(t, b.File).ExecContext(t.Context(), `DROP TRIGGER journal_erases_only; UPDATE journal SET at = at + 1 WHERE position = 2`); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(t.Context(), b.File, fresh["sqlite"](t), atNoon(), true); err == nil || !strings.Contains(err.Error(), "entry 2") {
		t.Errorf("%v", err)
	}
}

// TestAnOlderBackup is brought up to date by the way, and stays as it is.
func TestAnOlderBackup(t *testing.T) {
	path := filepath.Join(t.TempDir(), "older.backup")
	older(t, path, 6)
	was, _, err := sumOf(path)
	if err != nil {
		t.Fatal(err)
	}
	to := fresh["sqlite"](t)
	if _, err := Restore(t.Context(), path, to, atNoon(), true); err != nil {
		t.Fatal(err)
	}
	if got := everything(t, to); len(got["organisation"]) != 1 || len(got["mail_hold"]) != 1 {
		t.Errorf("%v", got)
	}
	if sum, _, err := sumOf(path); err != nil || sum != was {
		t.Errorf("it was changed (%v)", err)
	}
}

// older makes a database as a program with fewer migrations made it.
func older(t *testing.T, path string, migrations int) {
	t.Helper()
	db, err := connect(sqliteDialect, "", "file:"+path, 1)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	list, err := known(sqliteDialect)
	if err != nil {
		t.Fatal(err)
	}
	for done := false; !done; {
		if done, err = migrateOne(t.Context(), db, sqliteDialect, list[:migrations]); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := db.ExecContext(t.Context(), `INSERT INTO organisation VALUES (x'00000000000000000000000000000001', 'House', 1, 1)`); err != nil {
		t.Fatal(err)
	}
}
