package store

import (
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/inventory/label"
)

// contractRecordsComeBack, of each kind, with every field set and with every
// field empty that may be; put first, put over the other, and put again.
func contractRecordsComeBack(t *testing.T, open opener) {
	k := newKeys()
	full, bare := fullRecords(k), bareRecords(k)
	for name, steps := range map[string][][]inventory.Record{
		"full": {full}, "bare": {bare}, "full over bare": {bare, full}, "bare over full": {full, bare}, "full again": {full, full},
	} {
		t.Run(name, func(t *testing.T) {
			st, want := open(t), &compliance.Snapshot{}
			for _, records := range steps {
				batch := batchOf(records)
				next, err := batch.Apply(want)
				if err != nil {
					t.Fatal(err)
				}
				want = next
				committed(t, st, batch...)
			}
			st.Forget()
			got, _, err := st.Snapshot(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			put, read := recordsIn(want), recordsIn(got)
			if len(read) != len(put) {
				t.Errorf("%d records, want %d", len(read), len(put))
			}
			for _, rec := range steps[len(steps)-1] {
				each(t, rec.Ref().Kind.String()+" "+map[bool]string{true: "that is renewed"}[rec.Ref().ID == k.before], func(t *testing.T) {
					if diff := cmp.Diff(put[rec.Ref().String()], read[rec.Ref().String()]); diff != "" {
						t.Errorf("(-put +read):\n%s", diff)
					}
				})
			}
		})
	}
}

// contractManyRecordsComeBack, by the way that is taken from manyAtOnce on.
func contractManyRecordsComeBack(t *testing.T, open opener) {
	st := open(t)
	var all []inventory.Record
	for i := range 40 {
		for _, rec := range fullRecords(newKeys()) {
			all = append(all, renamed(rec, i))
		}
	}
	want, err := batchOf(all).Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	if committed(t, st, batchOf(all)...); len(all) < 2*manyAtOnce {
		t.Fatalf("only %d records", len(all))
	}
	st.Forget()
	got, _, err := st.Snapshot(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(recordsIn(want), recordsIn(got)); diff != "" {
		t.Errorf("(-put +read):\n%s", diff)
	}
	if r := verified(t, st); r.Problem != "" || r.Entries != int64(len(all)) {
		t.Errorf("%+v, want %d entries", r, len(all))
	}
}

// renamed gives a record a name, and a product trade item numbers, that no
// other has.
func renamed(rec inventory.Record, i int) inventory.Record {
	v := reflect.New(reflect.TypeOf(rec)).Elem()
	v.Set(reflect.ValueOf(rec))
	for _, name := range []string{"Title", "Accession", "Type", "Number"} {
		if f := v.FieldByName(name); f.IsValid() {
			f.SetString(fmt.Sprint(f.String(), i))
		}
	}
	if f := v.FieldByName("Accepted"); f.IsValid() {
		f.SetString(fmt.Sprintf("Naja n%c%c", 'a'+i/26, 'a'+i%26))
	}
	if p, ok := rec.(inventory.Product); ok {
		before := fmt.Sprintf("%013d", i)
		check, _ := label.CheckDigit(before)
		p.Type, p.GTINs = v.FieldByName("Type").String(), []string{before + string(check)}
		return p
	}
	return v.Interface().(inventory.Record)
}

// contractDaysStayDays: those on which a zone changes its clocks, the one that
// Apia left out (30 December 2011), leap days and the bounds, in a column, in
// a list and as an end.
func contractDaysStayDays(t *testing.T, open opener) {
	st := open(t)
	for _, d := range []day.Day{day.First, day.Last, on("1900-12-31"), on("1969-12-31"), on("1970-01-01"), on("2000-02-29"), on("2011-12-29"), on("2011-12-30"),
		on("2011-12-31"), on("2024-02-29"), on("2026-03-08"), on("2026-03-29"), on("2026-04-05"), on("2026-09-27"), on("2026-11-01"), on("2038-01-19")} {
		each(t, d.String(), func(t *testing.T) {
			id := inventory.NewID()
			p := compliance.Person{ID: id, Called: d.String(), Joined: d, Leaves: d, Offices: []compliance.Office{{Role: compliance.Keeper, From: d, Last: d}}}
			papers := compliance.Permit{ID: id, Number: d.String(), Class: "c", Issued: d, From: d, Expires: day.Until(d)}
			committed(t, st, compliance.Record(p), compliance.Record(papers))
			st.Forget()
			got, _, err := st.Snapshot(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			for _, want := range []inventory.Record{p, papers} {
				if diff := cmp.Diff(want, got.Lookup(want.Ref())); diff != "" {
					t.Errorf("(-put +read):\n%s", diff)
				}
			}
		})
	}
}

// contractInstantsStayInstants, to the microsecond: where clocks are set, in
// hours that there are twice, before 1970 and at the ends of what days there
// are.
func contractInstantsStayInstants(t *testing.T, open opener) {
	st := open(t)
	for name, at := range map[string]time.Time{
		"before 1970":           time.Date(1969, 12, 31, 23, 59, 59, 999_999_000, time.UTC),
		"just after 1970":       time.UnixMicro(1).UTC(),
		"the first hour":        time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC),
		"the last microsecond":  time.Date(9999, 12, 31, 23, 59, 59, 999_999_000, time.UTC),
		"the hour there twice":  time.Date(2026, 11, 1, 5, 30, 0, 0, time.UTC),
		"the same, once more":   time.Date(2026, 11, 1, 6, 30, 0, 0, time.UTC),
		"the hour that is not":  time.Date(2026, 3, 8, 7, 0, 0, 0, time.UTC),
		"the day that was not":  time.Date(2011, 12, 30, 10, 0, 0, 0, time.UTC),
		"one microsecond":       noon.Add(time.Microsecond),
		"a tenth of a second":   noon.Add(100 * time.Millisecond),
		"nearly a whole second": noon.Add(999_999 * time.Microsecond),
	} {
		each(t, name, func(t *testing.T) {
			f := bareFinding()
			f.Opened = at
			closed := bareFinding()
			closed.Opened, closed.Closed, closed.How = at, at, compliance.Met
			stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID(), Started: at.Local(), Transitions: []compliance.Transition{openedAs(f), openedAs(closed)}})
			view, err := st.Read(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			i := slices.IndexFunc(view.Open, func(o compliance.Finding) bool { return o.ID == f.ID })
			if i < 0 || view.Open[i] != f {
				t.Errorf("%+v, want %+v", view.Open, f)
			}
			var row findingRow
			if err := st.reader.NewSelect().Model(&row).Where("id = ?", key(closed.ID)).Scan(t.Context()); err != nil || row.finding() != closed {
				t.Errorf("%+v, %v; want %+v", row.finding(), err, closed)
			}
		})
	}
}

// contractNothingIsKeptThatWouldNotComeBack: each field of each kind of
// record, however deep, refuses text with a NUL or that is no UTF-8, and days
// that are not ten characters; nothing is written.
func contractNothingIsKeptThatWouldNotComeBack(t *testing.T, open opener) {
	st := open(t)
	k := newKeys()
	before := committed(t, st, batchOf(bareRecords(k))...)
	for _, rec := range fullRecords(k) {
		spoilings := spoilings(reflect.TypeOf(rec), rec.Ref().Kind.String()+map[bool]string{true: " that is renewed"}[rec.Ref().ID == k.before])
		for _, path := range slices.Sorted(maps.Keys(spoilings)) {
			whole := reflect.New(reflect.TypeOf(rec)).Elem()
			whole.Set(reflect.ValueOf(fullRecordLike(rec)))
			field, ok := spoilings[path](whole)
			if !ok {
				continue // a list that is empty in this record
			}
			each(t, path, func(t *testing.T) {
				for _, bad := range spoilt[field.Type()] {
					field.Set(reflect.ValueOf(bad))
					var refusal *compliance.Refusal
					if _, err := st.Commit(t.Context(), Actor{ID: "test"}, changeOf(whole.Interface().(inventory.Record))); !errors.As(err, &refusal) {
						t.Errorf("%q: %v, want a refusal", bad, err)
					}
				}
				if at := guardOf(t, st).Head; at != before {
					t.Errorf("the head moved to %s", at)
				}
			})
		}
	}
	committed(t, st, batchOf(fullRecords(k))...)
}
