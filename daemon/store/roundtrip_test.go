package store

import (
	"fmt"
	"iter"
	"reflect"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/daemon/demo"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestRecordsComeBackAsTheyWere: written, read by another process, and the
// same: two whole houses, one record of each kind with every field set, one
// with every field empty that may be, and each of those two over the other.
func TestRecordsComeBackAsTheyWere(t *testing.T) {
	today := day.In(noon, time.UTC)
	keys := newKeys()
	for name, steps := range map[string][]compliance.Batch{
		"the demo house":               {demo.House(today, day.Embedded())},
		"the small house":              {demo.Small(today, day.Embedded())},
		"every field set":              {batchOf(fullRecords(keys))},
		"every field empty":            {batchOf(bareRecords(keys))},
		"every field emptied":          {batchOf(fullRecords(keys)), batchOf(bareRecords(keys))},
		"every field filled in later":  {batchOf(bareRecords(keys)), batchOf(fullRecords(keys))},
		"the same again":               {batchOf(fullRecords(keys)), batchOf(fullRecords(keys))},
		"a permit renews a later one":  {renewsLater(keys)},
		"both in one change, set last": {append(batchOf(bareRecords(keys)), batchOf(fullRecords(keys))...)},
	} {
		t.Run(name, func(t *testing.T) {
			st, path := opened(t)
			want := &compliance.Snapshot{}
			for _, step := range steps {
				var err error
				if want, err = step.Apply(want); err != nil {
					t.Fatal(err)
				}
				committed(t, st, step)
			}
			if err := st.Close(); err != nil {
				t.Fatal(err)
			}
			view, err := reopened(t, path).Read(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(recordsIn(want), recordsIn(view.Snapshot)); diff != "" {
				t.Errorf("records came back otherwise (-written +read):\n%s", diff)
			}
		})
	}
}

// recordsIn gives every record of every kind under its reference.
func recordsIn(s *compliance.Snapshot) map[string]inventory.Record {
	out := make(map[string]inventory.Record)
	for _, kind := range inventory.Kinds() {
		for rec := range tables[kind].all(s) {
			out[rec.Ref().String()] = rec
		}
	}
	return out
}

// TestTheFullRecordsAreFull: of each kind there is one, and no field of it is
// zero; else the round trip above would prove less than it says.
func TestTheFullRecordsAreFull(t *testing.T) {
	k, seen := newKeys(), make(map[inventory.Kind]bool)
	for _, rec := range fullRecords(k) {
		if rec.Ref().ID == k.before || rec.Ref().ID == k.third {
			continue
		}
		seen[rec.Ref().Kind] = true
		for field := range unset(reflect.ValueOf(rec), rec.Ref().Kind.String()) {
			if field != "authorisation.Stage" && field != "lot.Movements[0].Loan" && field != "permit.Grants[1].Taxon" && field != "permit.Grants[1].Except" && field != "permit.Grants[1].Max" { // a species is on no stage, what is received is of no loan, and rank any has none
				t.Errorf("%s is not set", field)
			}
		}
	}
	for _, kind := range inventory.Kinds() {
		if !seen[kind] {
			t.Errorf("there is no %s", kind)
		}
	}
}

// unset yields the fields that are zero, however deep.
func unset(v reflect.Value, path string) iter.Seq[string] {
	return func(yield func(string) bool) {
		switch {
		case v.IsZero() || v.Kind() == reflect.Slice && v.Len() == 0:
			yield(path)
		case v.Type() == reflect.TypeFor[inventory.Ref](): // At is set for a holding alone
		case v.Type() == reflect.TypeFor[time.Time](): // what is inside is its own
		case v.Kind() == reflect.Pointer:
			unset(v.Elem(), path)(yield)
		case v.Kind() == reflect.Slice:
			for i := range v.Len() {
				unset(v.Index(i), fmt.Sprintf("%s[%d]", path, i))(yield)
			}
		case v.Kind() == reflect.Struct:
			for field, inner := range v.Fields() {
				unset(inner, path+"."+field.Name)(yield)
			}
		}
	}
}

// renewsLater makes the permit that is renewed after the one that renews it.
func renewsLater(k keys) compliance.Batch {
	old, follows := compliance.Permit{ID: k.before, Number: "1", Class: "c"}, compliance.Permit{ID: k.of[inventory.KindPermit], Number: "2", Class: "c"}
	linked := follows
	linked.Renews = old.ID
	return batchOf([]inventory.Record{follows, old, linked})
}

func batchOf(records []inventory.Record) compliance.Batch {
	var out compliance.Batch
	for _, rec := range records {
		out = append(out, changeOf(rec))
	}
	return out
}

// changeOf puts a record of whatever kind.
func changeOf(rec inventory.Record) compliance.Change {
	switch r := rec.(type) {
	case inventory.Organisation:
		return compliance.Record(r)
	case inventory.Site:
		return compliance.Record(r)
	case inventory.Enclosure:
		return compliance.Record(r)
	case inventory.Species:
		return compliance.Record(r)
	case compliance.Person:
		return compliance.Record(r)
	case inventory.Animal:
		return compliance.Record(r)
	case inventory.Product:
		return compliance.Record(r)
	case inventory.Coverage:
		return compliance.Record(r)
	case inventory.Place:
		return compliance.Record(r)
	case inventory.Supply:
		return compliance.Record(r)
	case inventory.Order:
		return compliance.Record(r)
	case inventory.Agreement:
		return compliance.Record(r)
	case inventory.Lot:
		return compliance.Record(r)
	case inventory.Planned:
		return compliance.Record(r)
	case compliance.Authority:
		return compliance.Record(r)
	case compliance.Permit:
		return compliance.Record(r)
	case compliance.Activity:
		return compliance.Record(r)
	case compliance.Feed:
		return compliance.Record(r)
	case compliance.NotWatched:
		return compliance.Record(r)
	case compliance.Decision:
		return compliance.Record(r)
	case ladder.Session:
		return compliance.Record(r)
	case ladder.Authorisation:
		return compliance.Record(r)
	case ladder.Credit:
		return compliance.Record(r)
	case ladder.Placement:
		return compliance.Record(r)
	}
	panic(fmt.Sprintf("no change puts a %T", rec))
}
