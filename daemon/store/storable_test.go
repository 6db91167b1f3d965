package store

import (
	"errors"
	"reflect"
	"testing"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// spoilt are values that no column and no JSON text gives back as they were.
var spoilt = map[reflect.Type][]any{
	reflect.TypeFor[string]():  {"a\x00b", "a\xffb", "\xed\xa0\x80"},
	reflect.TypeFor[day.Day](): {day.First - 1, day.Last + 1},
	reflect.TypeFor[day.End](): {day.Until(day.Last + 1)},
}

// TestNothingIsKeptThatWouldNotComeBack: each field of each kind of record,
// however deep, refuses text with a NUL (bun: an unrecognized token) or that
// is no UTF-8 (JSON: silently another text), and days that are not ten
// characters (sorted before 2026, and then every list fails to be read).
func TestNothingIsKeptThatWouldNotComeBack(t *testing.T) {
	tried := 0
	for _, rec := range fullRecords(newKeys()) {
		for path, spoil := range spoilings(reflect.TypeOf(rec), rec.Ref().Kind.String()) {
			whole := reflect.New(reflect.TypeOf(rec)).Elem()
			whole.Set(reflect.ValueOf(fullRecordLike(rec)))
			field, ok := spoil(whole)
			if !ok {
				continue // a list that is empty in this record
			}
			for _, bad := range spoilt[field.Type()] {
				tried++
				field.Set(reflect.ValueOf(bad))
				var refusal *compliance.Refusal
				var wrong *inventory.FieldError
				err := storable(whole.Interface().(inventory.Record))
				if !errors.As(err, &refusal) || !errors.As(err, &wrong) || wrong.Field == "" {
					t.Errorf("%s = %q: %v, want a refusal that names the field", path, bad, err)
				}
			}
		}
		if err := storable(fullRecordLike(rec)); err != nil {
			t.Errorf("untouched: %v", err)
		}
	}
	if tried < 150 {
		t.Errorf("only %d fields were spoilt: the walk is wrong", tried)
	}
}

// fullRecordLike gives a record of the same kind that shares nothing with it.
func fullRecordLike(rec inventory.Record) inventory.Record {
	for _, fresh := range fullRecords(newKeys()) {
		if reflect.TypeOf(fresh) == reflect.TypeOf(rec) && (rec.Ref().Kind != inventory.KindPermit || fresh.Name() == rec.Name()) {
			return fresh
		}
	}
	return rec
}

// spoilings gives, for each text and day within a type, how to reach it.
func spoilings(in reflect.Type, path string) map[string]func(reflect.Value) (reflect.Value, bool) {
	out := make(map[string]func(reflect.Value) (reflect.Value, bool))
	if len(spoilt[in]) > 0 {
		out[path] = func(v reflect.Value) (reflect.Value, bool) { return v, true }
		return out
	}
	deeper := func(in reflect.Type, path string, step func(reflect.Value) (reflect.Value, bool)) {
		for p, reach := range spoilings(in, path) {
			out[p] = func(v reflect.Value) (reflect.Value, bool) {
				if v, ok := step(v); ok {
					return reach(v)
				}
				return v, false
			}
		}
	}
	switch in.Kind() {
	case reflect.String: // a word of a list: its own check refuses the rest
		out[path] = func(v reflect.Value) (reflect.Value, bool) { return v, false }
	case reflect.Pointer:
		deeper(in.Elem(), path, func(v reflect.Value) (reflect.Value, bool) { return v.Elem(), !v.IsNil() })
	case reflect.Slice:
		deeper(in.Elem(), path+"[]", func(v reflect.Value) (reflect.Value, bool) {
			if v.Len() == 0 {
				return v, false
			}
			return v.Index(0), true
		})
	case reflect.Struct:
		for i := range in.NumField() {
			if f := in.Field(i); f.IsExported() {
				deeper(f.Type, path+"."+f.Name, func(v reflect.Value) (reflect.Value, bool) { return v.Field(i), true })
			}
		}
	}
	return out
}

// TestARecordThatWouldNotComeBackIsRefused by Commit, nothing is written, and
// the database can be read after it.
func TestARecordThatWouldNotComeBackIsRefused(t *testing.T) {
	organisation := inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}
	site := inventory.Site{ID: inventory.NewID(), Organisation: organisation.ID, Title: "Site", Zone: "UTC"}
	late := site
	late.Jurisdiction = []inventory.Dated[string]{{From: day.Last + 400, Value: "gb"}}
	for name, rec := range map[string]inventory.Record{
		"no UTF-8":                inventory.Organisation{ID: inventory.NewID(), Title: "Hou\xffse", Victims: 1},
		"a NUL":                   inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja", Common: "co\x00bra"},
		"a day within a list":     late,
		"text within a list":      inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja", NativeTo: []string{"th", "i\xffn"}},
		"a day that sorts before": compliance.Person{ID: inventory.NewID(), Called: "Somebody Invented", Joined: day.Last + 1},
	} {
		t.Run(name, func(t *testing.T) {
			st, path := opened(t)
			before := committed(t, st, compliance.Record(organisation), compliance.Record(site))
			_, err := st.Commit(t.Context(), Actor{ID: "test"}, changeOf(rec))
			var refusal *compliance.Refusal
			if !errors.As(err, &refusal) || !keepable(err.Error()) {
				t.Errorf("%q, want a refusal that can be printed", err)
			}
			if err := st.Close(); err != nil {
				t.Fatal(err)
			}
			view, err := reopened(t, path).Read(t.Context())
			if err != nil || view.Head != before {
				t.Errorf("after it the head is %s, %v; want %s", view.Head, err, before)
			}
		})
	}
}

// TestWhoeverChangesHasAPlainName: it is in the chain, byte for byte.
func TestWhoeverChangesHasAPlainName(t *testing.T) {
	for _, actor := range []Actor{{ID: "a\x00"}, {ID: "a", Name: "b\xff"}, {}} {
		st, _ := opened(t)
		if _, err := st.Commit(t.Context(), actor, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1})); !errors.Is(err, errActor) {
			t.Errorf("%q: %v, want %v", actor, err, errActor)
		}
	}
}

// TestWhatTheTablesRefuseIsARefusal with the record's name, and not the text
// of a database alone.
func TestWhatTheTablesRefuseIsARefusal(t *testing.T) {
	for name, rec := range map[string]inventory.Record{
		"a site of no organisation":      inventory.Site{ID: inventory.NewID(), Title: "Site", Zone: "UTC"},
		"neither yes nor no nor unknown": inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja", Venomous: 7},
	} {
		st, _ := opened(t)
		_, err := st.Commit(t.Context(), Actor{ID: "test"}, changeOf(rec))
		var refusal *compliance.Refusal
		if !errors.As(err, &refusal) || refusal.Subject != rec.Ref() {
			t.Errorf("%s: %v, want a refusal that names it", name, err)
		}
		committed(t, st, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
	}
}
