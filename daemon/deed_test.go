package daemon

import (
	"context"
	"errors"
	"strings"
	"testing"

	"antidotary/compliance/deed"
	"antidotary/daemon/naming"
	"antidotary/daemon/store"
)

// granted is the decision that two animals of the demo house wait for.
func granted(n *naming.Names) (deed.Deed, error) {
	p, err := n.Permit("WP-104")
	if err != nil {
		return deed.Deed{}, err
	}
	return deed.PermitDecided(p.ID, n.Today(p.FirstSite()), "refused", nil), nil
}

// TestADeedBesideTheWatch: somebody records while the watch runs on the same
// file, the watch sees it without being told, and its next sweep stores and
// mails what came of it. Then it is taken back, and the journal holds.
func TestADeedBesideTheWatch(t *testing.T) {
	opt, _ := watched(t)
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Stop(context.Background())
	if err := d.Sweep(t.Context()); err != nil {
		t.Fatal(err)
	}
	d.refresh(t.Context())
	was := d.shown.Check()

	done, err := Record(t.Context(), opt, store.Actor{ID: "Petra"}, granted)
	if err != nil {
		t.Fatal(err)
	}
	if done.Words != deed.WordsPermitDecided || len(done.Subjects) != 1 || done.By != "Petra" || len(done.Arisen) == 0 {
		t.Errorf("%+v", done)
	}
	d.refresh(t.Context())
	if d.shown.Check() == was {
		t.Error("the watch did not see it")
	}
	if err := d.Sweep(t.Context()); err != nil {
		t.Fatal(err)
	}
	back, err := Undo(t.Context(), opt, store.Actor{ID: "Petra"}, done.Entry)
	if err != nil {
		t.Fatal(err)
	}
	if len(back.Arisen) != len(done.Arisen) || !strings.HasPrefix(back.Words, "undo ") {
		t.Errorf("taken back: %+v", back)
	}
	entries, err := Entries(t.Context(), opt, 2)
	if err != nil || len(entries.Entries) != 2 || entries.Entries[1].Words != deed.WordsPermitDecided {
		t.Errorf("%+v, %v", entries, err)
	}
	if j, err := VerifyJournal(t.Context(), opt); err != nil || !j.Holds {
		t.Errorf("%+v, %v", j, err)
	}
}

// TestADeedThatIsRefused leaves nothing, and needs somebody who records it and
// a house to record it in.
func TestADeedThatIsRefused(t *testing.T) {
	opt, _ := watched(t)
	wrong := errors.New("this is no deed")
	if _, err := Record(t.Context(), opt, store.Actor{ID: "Petra"}, func(*naming.Names) (deed.Deed, error) { return deed.Deed{}, wrong }); !errors.Is(err, wrong) {
		t.Errorf("%v, want what was wrong", err)
	}
	if _, err := Record(t.Context(), opt, store.Actor{}, granted); !errors.Is(err, errNoActor) {
		t.Errorf("%v, want that somebody is named", err)
	}
	before, err := Entries(t.Context(), opt, 1)
	if err != nil {
		t.Fatal(err)
	}
	twice := func(n *naming.Names) (deed.Deed, error) {
		d, err := granted(n)
		d.Batch = append(d.Batch, d.Batch...)
		return d, err
	}
	if _, err := Record(t.Context(), opt, store.Actor{ID: "Petra"}, twice); err == nil {
		t.Error("decided twice")
	}
	if after, err := Entries(t.Context(), opt, 1); err != nil || after.Entries[0].Entry != before.Entries[0].Entry {
		t.Errorf("something was written: %+v, %v", after, err)
	}
	opt.Config.Database = t.TempDir() + "/none.db"
	if _, err := Record(t.Context(), opt, store.Actor{ID: "Petra"}, granted); err == nil || !strings.Contains(err.Error(), "antidotary new makes a house") {
		t.Errorf("without a house: %v", err)
	}
}
