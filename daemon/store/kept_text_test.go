package store

import (
	"errors"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/deploy"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// OwnPack has the file name of a pack that is shipped, and text that quoting
// would break.
const OwnPack = `format: 1
pack: own
title: 'Own <rules> & "more" 蛇'
layer: house
edition: "1"
read_on: 2026-01-01
review_by: 2027-01-01
rules:
  - id: own.sweep
    requirement: watch.sweep
    title: The watch has swept
    consequence: Nothing is known to be so still.
    severity: critical
    owner: operations
    subject: organisation
    citation: {text: "the watch's own rule", certainty: R}
    kind: watch
    params: {what: sweep, max_age: 12h}
`

// TestRulesAreKeptWithTheSweep, once for each text, and come back as the same
// rulebook: of two folders with files of one name, too.
func TestRulesAreKeptWithTheSweep(t *testing.T) {
	both(t, func(t *testing.T, database string, st *Store, now *time.Time) {
		shipped, err := compliance.ReadRulebook(day.Embedded(), deploy.Rules())
		if err != nil {
			t.Fatal(err)
		}
		own := fstest.MapFS{"house-guidance.yaml": {Data: []byte(OwnPack)}}
		both, err := compliance.ReadRulebook(day.Embedded(), deploy.Rules(), own)
		if err != nil {
			t.Fatal(err)
		}
		if shipped.Hash == both.Hash {
			t.Fatal("two rulebooks have one hash")
		}
		for i, book := range []*compliance.Rulebook{shipped, both, shipped} {
			*now = noon.Add(time.Duration(i) * time.Hour)
			stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID(), Started: *now, PackHash: book.Hash, HolidayHash: book.Holidays.Hash(), Texts: TextsOf(book)})
		}
		for _, want := range []*compliance.Rulebook{shipped, both} {
			got, err := st.Rulebook(t.Context(), want.Hash, want.Holidays.Hash())
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(want.Files, got.Files); diff != "" || got.Hash != want.Hash || len(got.Rules) != len(want.Rules) || got.Holidays.Hash() != want.Holidays.Hash() {
				t.Errorf("it came back otherwise (-kept +read):\n%s", diff)
			}
		}
		rows := make(map[string]int64)
		list, err := besides(t, database).QueryContext(t.Context(), `SELECT kind, kept_at FROM kept_text ORDER BY kept_at, kind`)
		if err != nil {
			t.Fatal(err)
		}
		defer list.Close()
		for list.Next() {
			var kind string
			var at int64
			if err := list.Scan(&kind, &at); err != nil {
				t.Fatal(err)
			}
			rows[kind+instant(at).Format(" 15")]++
		}
		if diff := cmp.Diff(map[string]int64{"rules 12": 1, "holidays 12": 1, "rules 13": 1}, rows); diff != "" || list.Err() != nil {
			t.Errorf("kept (-want +got), %v:\n%s", list.Err(), diff)
		}
	})
}

// TestRulesThatCannotBeRead: none were kept, only one of the two was, or what
// was kept was altered.
func TestRulesThatCannotBeRead(t *testing.T) {
	both(t, func(t *testing.T, database string, st *Store, _ *time.Time) {
		book, err := compliance.ReadRulebook(day.Embedded(), deploy.Rules())
		if err != nil {
			t.Fatal(err)
		}
		hash, dates := book.Hash, book.Holidays.Hash()
		if _, err := st.Rulebook(t.Context(), hash, dates); !errors.Is(err, ErrNotKept) {
			t.Errorf("nothing was kept: %v", err)
		}
		stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID(), Texts: TextsOf(book)[:1]})
		if _, err := st.Rulebook(t.Context(), hash, dates); !errors.Is(err, ErrNotKept) {
			t.Errorf("no holidays were kept: %v", err)
		}
		stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID(), Texts: TextsOf(book)})
		if _, err := st.Rulebook(t.Context(), hash, dates); err != nil {
			t.Error(err)
		}
		if _, err := besides(t, database).ExecContext(t.Context(), `UPDATE kept_text SET files = replace(files, 'antivenom', 'antidote') WHERE kind = 'rules'`); err != nil {
			t.Fatal(err)
		}
		if _, err := st.Rulebook(t.Context(), hash, dates); err == nil || errors.Is(err, ErrNotKept) {
			t.Errorf("what was kept was altered: %v", err)
		}
	})
}
