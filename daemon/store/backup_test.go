package store

import (
	"context"
	"crypto/sha256"
	"errors"
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
