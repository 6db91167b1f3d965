package store

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory"
)

func atNoon() Options { return Options{Clock: func() time.Time { return noon }} }

// backedUp makes a backup in a folder of its own.
func backedUp(t *testing.T, st *Store) Backup {
	t.Helper()
	b, err := st.Backup(t.Context(), filepath.Join(t.TempDir(), "house.backup"))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// TestABackup of either database, beside the open store: everything is in it,
// it is one file and its manifest, nobody else may read them, and sha256sum
// agrees.
func TestABackup(t *testing.T) {
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) {
			database := place(t)
			st := inEveryTable(t, database)
			b := backedUp(t, st)
			folder := filepath.Dir(b.File)
			if got := namesIn(t, folder); !cmp.Equal(got, []string{"house.backup", "house.backup.sha256"}) {
				t.Errorf("the folder holds %q", got)
			}
			if diff := cmp.Diff(everything(t, database), everything(t, b.File)); diff != "" {
				t.Errorf("(-there +in the backup):\n%s", diff)
			}
			if b.Head != verified(t, st).Head || b.Made != noon || b.Size == 0 || b.Total() < 25 {
				t.Errorf("%+v", b)
			}
			if got := namesIn(t, folder); len(got) != 2 {
				t.Errorf("after it was read the folder holds %q", got)
			}
			agreed(t, b)
		})
	}
}

func namesIn(t *testing.T, folder string) (names []string) {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		names = append(names, e.Name())
		if info, err := e.Info(); err != nil || runtime.GOOS != "windows" && info.Mode() != 0o600 {
			t.Errorf("%s has the mode %v, %v", e.Name(), info.Mode(), err)
		}
	}
	return names
}

// agreed asks the machine's own sha256sum, where there is one.
func agreed(t *testing.T, b Backup) {
	t.Helper()
	data, err := os.ReadFile(b.File)
	if err != nil || sha256.Sum256(data) != b.Sum || int64(len(data)) != b.Size {
		t.Errorf("sum or size is not the file's (%v)", err)
	}
	if data[18] != 1 || data[19] != 1 { // https://sqlite.org/fileformat.html 1.3.3 (from memory): 1 without a log, 2 with one
		t.Errorf("it uses a write-ahead log: %v", data[18:20])
	}
	tool, err := exec.LookPath("sha256sum")
	if err != nil {
		t.Log("there is no sha256sum on this machine")
		return
	}
	cmd := exec.CommandContext(t.Context(), tool, "-c", filepath.Base(b.File)+manifestEnding)
	cmd.Dir = filepath.Dir(b.File)
	if out, err := cmd.CombinedOutput(); err != nil || !strings.Contains(string(out), "OK") || strings.Contains(string(out), "WARNING") {
		t.Errorf("sha256sum: %s, %v", out, err)
	}
}

// TestABackupOverwritesNothing, and a backup that fails leaves nothing.
func TestABackupOverwritesNothing(t *testing.T) {
	st := inEveryTable(t, fresh["sqlite"](t))
	b := backedUp(t, st)
	folder := filepath.Dir(b.File)
	if _, err := st.Backup(t.Context(), b.File); err == nil || !strings.Contains(err.Error(), "overwrites nothing") {
		t.Errorf("over itself: %v", err)
	}
	if err := os.Remove(b.File); err != nil {
		t.Fatal(err)
	}
	if _, err := st.Backup(t.Context(), b.File); err == nil || !strings.Contains(err.Error(), manifestEnding) {
		t.Errorf("over a manifest: %v", err)
	}
	if err := os.Remove(b.File + manifestEnding); err != nil {
		t.Fatal(err)
	}
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := st.Backup(ended, b.File); !errors.Is(err, context.Canceled) {
		t.Errorf("called off: %v", err)
	}
	if got := namesIn(t, folder); len(got) != 0 {
		t.Errorf("left behind: %q", got)
	}
	if _, err := st.Backup(t.Context(), filepath.Join(folder, "none", "x")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("into a folder that is not there: %v", err)
	}
}

// TestABackupOfAJournalThatDoesNotHold is none.
func TestABackupOfAJournalThatDoesNotHold(t *testing.T) {
	database := fresh["sqlite"](t)
	st := inEveryTable(t, database)
	if _, err := besides(t, database).ExecContext(t.Context(), `DROP TRIGGER journal_erases_only; UPDATE journal SET subject = 'x' WHERE position = 3`); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "b")
	if _, err := st.Backup(t.Context(), file); !errors.Is(err, ErrDiffers) || !strings.Contains(err.Error(), "entry 3") {
		t.Errorf("%v", err)
	}
	if got := namesIn(t, filepath.Dir(file)); len(got) != 0 {
		t.Errorf("left behind: %q", got)
	}
}

// TestABackupIsOneState, whoever changes what meanwhile: each change makes one
// record and one entry, so that in a state there are as many of both.
func TestABackupIsOneState(t *testing.T) {
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) {
			st := reopened(t, place(t))
			stop, made := make(chan struct{}), make(chan struct{}, 1)
			var changing sync.WaitGroup
			changing.Go(func() {
				for n := 0; ; n++ {
					change := compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Bitis species" + strings.Repeat("a", n)})
					if _, err := st.Commit(context.Background(), Actor{ID: "test"}, change); err != nil {
						t.Error(err)
						return
					}
					select {
					case <-stop:
						return
					case made <- struct{}{}:
					default:
					}
				}
			})
			last := int64(0)
			for range 5 {
				<-made
				<-made
				b := backedUp(t, st)
				if b.Rows["species"] != b.Rows["journal"] || b.Rows["species"] != b.Head.Position || b.Head.Position <= last {
					t.Errorf("after %d: %v, head %d", last, b.Rows, b.Head.Position)
				}
				last = b.Head.Position
			}
			close(stop)
			changing.Wait()
		})
	}
}

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
