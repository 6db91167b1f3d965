package intake

import (
	"bytes"
	"reflect"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"antidotary/compliance"
	"antidotary/daemon/demo"
	"antidotary/daemon/scale"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

type failing interface {
	Helper()
	Fatal(...any)
	Fatalf(string, ...any)
	Errorf(string, ...any)
}

// csvFolder exports into files by name.
func csvFolder(t failing, s *compliance.Snapshot) map[string][]byte {
	t.Helper()
	x, out := NewExport(s), make(map[string][]byte)
	for _, l := range x.Lists() {
		var b bytes.Buffer
		if err := x.WriteCSV(&b, l.Name); err != nil {
			t.Fatal(err)
		}
		out[l.Name+".csv"] = b.Bytes()
	}
	return out
}

func readFiles(t failing, files map[string][]byte) *Source {
	t.Helper()
	fsys := fstest.MapFS{}
	for name, data := range files {
		fsys[name] = &fstest.MapFile{Data: data}
	}
	src, err := ReadFolder(fsys)
	if err != nil {
		t.Fatal(err)
	}
	return src
}

// exports give a snapshot as it was read back from each form of export.
var exports = map[string]func(failing, *compliance.Snapshot) *Source{
	"csv": func(t failing, s *compliance.Snapshot) *Source { return readFiles(t, csvFolder(t, s)) },
	"xlsx": func(t failing, s *compliance.Snapshot) *Source {
		t.Helper()
		var b bytes.Buffer
		if err := NewExport(s).WriteBook(&b); err != nil {
			t.Fatal(err)
		}
		src, err := Read("house.xlsx", b.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		return src
	},
}

// recordsOf gives every record by its reference, an empty list as none.
func recordsOf(s *compliance.Snapshot) map[string]any {
	out := make(map[string]any)
	for _, l := range wholeLists {
		for rec := range l.all(s) {
			out[l.kind.String()+":"+idOf(rec).String()] = rec.Interface()
		}
	}
	return out
}

// roundTrip exports a house, takes it into an empty database and into its own.
func roundTrip(t failing, s *compliance.Snapshot, export func(failing, *compliance.Snapshot) *Source) {
	t.Helper()
	src := export(t, s)
	p, err := NewPlan(src, &compliance.Snapshot{}, Settings{Now: noon})
	if err != nil {
		t.Fatal(err)
	}
	if wrong := p.Refusals(); len(wrong) > 0 {
		t.Fatalf("into an empty database: %d refused, first %v", len(wrong), wrong[0])
	}
	after, err := p.Batch.Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(recordsOf(s), recordsOf(after), cmpopts.EquateEmpty()); diff != "" {
		t.Fatalf("records came back otherwise (-recorded +imported):\n%s", diff)
	}
	p, err = NewPlan(src, s, Settings{Now: noon})
	if err != nil {
		t.Fatal(err)
	}
	if wrong := p.Refusals(); len(wrong) > 0 || len(p.Batch) > 0 || len(p.Assumed) > 0 {
		t.Fatalf("into its own database: %d changes, %d refused, assumed %q: %v", len(p.Batch), len(wrong), p.Assumed, wrong)
	}
}

func TestHousesComeBack(t *testing.T) {
	today := day.In(noon, time.UTC)
	houses := map[string]*compliance.Snapshot{"a network": scale.Network(scale.Medium, today)}
	for name, batch := range map[string]compliance.Batch{"the demo house": demo.House(today, day.Embedded()), "the small house": demo.Small(today, day.Embedded())} {
		s, err := batch.Apply(&compliance.Snapshot{})
		must(t, err)
		houses[name] = s
	}
	for name, s := range houses {
		for form, export := range exports {
			t.Run(name+" "+form, func(t *testing.T) { roundTrip(t, s, export) })
		}
	}
}

// TestEveryKindIsExported: a kind of record, or a field of one, that comes
// later must not be forgotten. Columns are made of the fields, so what is held
// here is that each field of each record has one, and that each table of the
// snapshot has a list.
func TestEveryKindIsExported(t *testing.T) {
	notExported := map[string]string{"Pulse": "tells of the watch itself, not of the house"}
	seen := make(map[reflect.Type]bool)
	for _, l := range wholeLists {
		v, _ := l.get(&compliance.Snapshot{}, inventory.ID{})
		seen[v.Type()] = true
		leaves := fieldsOf(v.Type(), nil)
		if len(leaves) != len(l.columns)+1 { // and the identifier
			t.Errorf("%s: %d fields and %d columns", l.name, len(leaves), len(l.columns))
		}
		for _, c := range l.columns {
			if !slices.ContainsFunc(leaves, func(steps []int) bool { return slices.Equal(steps, c.steps) }) {
				t.Errorf("%s: the column %q is no field", l.name, c.name)
			}
		}
	}
	var walk func(t reflect.Type)
	walk = func(snapshot reflect.Type) {
		for i := range snapshot.NumField() {
			f := snapshot.Field(i)
			if f.Anonymous {
				walk(f.Type)
				continue
			}
			get, isTable := f.Type.MethodByName("Get")
			switch {
			case notExported[f.Name] != "":
			case !isTable:
				t.Errorf("%s is neither a table that is exported, nor named here with a reason", f.Name)
			case !seen[get.Type.Out(0).Elem()]:
				t.Errorf("%s has no list", f.Name)
			}
		}
	}
	walk(reflect.TypeFor[compliance.Snapshot]())
	for _, kind := range inventory.Kinds() {
		if !slices.ContainsFunc(wholeLists, func(l *wholeList) bool { return l.kind == kind }) {
			t.Errorf("%s has no list", kind)
		}
	}
	if !slices.IsSortedFunc(wholeLists, func(a, b *wholeList) int { return int(a.kind) - int(b.kind) }) {
		t.Error("the lists are not in the order of kinds")
	}
}

// fieldsOf gives the paths to all fields that are no structs of others.
func fieldsOf(t reflect.Type, steps []int) (all [][]int) {
	for i := range t.NumField() {
		inner := t.Field(i).Type
		if inner.Kind() == reflect.Pointer {
			inner = inner.Elem()
		}
		path := append(slices.Clone(steps), i)
		if inner.Kind() == reflect.Struct && !isAtom(inner) {
			all = append(all, fieldsOf(inner, path)...)
			continue
		}
		all = append(all, path)
	}
	return all
}

// TestNamesOfKinds: where a kind goes by a name, its list has the columns.
func TestNamesOfKinds(t *testing.T) {
	for kind, by := range namedBy {
		l := wholeLists[slices.IndexFunc(wholeLists, func(l *wholeList) bool { return l.kind == kind })]
		name, within := l.nameColumns()
		if name == nil || (within == nil) != (by.within == "") {
			t.Errorf("%s: no columns %+v", kind, by)
		}
		if within != nil && ownerOf(kind) == inventory.KindNone {
			t.Errorf("%s: nobody knows what kind %q is", kind, by.within)
		}
	}
	for at := range renamed {
		kind, _, _ := strings.Cut(at, ".")
		l := wholeLists[slices.IndexFunc(wholeLists, func(l *wholeList) bool { return l.kind.String() == kind })]
		if !slices.ContainsFunc(l.columns, func(c wholeColumn) bool { return c.name == renamed[at] }) {
			t.Errorf("%s is renamed, and is no column", at)
		}
	}
}
