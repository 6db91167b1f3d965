package label

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// aLabel draws elements that may stand together, each with a value that holds.
func aLabel(t *rapid.T) []Element {
	text := func(set string, most int, name string) string {
		return rapid.StringOfN(rapid.SampledFrom([]rune(set)), 1, most, most).Draw(t, name)
	}
	numbered := func(n int, name string) string {
		before := rapid.StringOfN(rapid.SampledFrom([]rune(digits)), n-1, n-1, n-1).Draw(t, name)
		last, err := CheckDigit(before)
		if err != nil {
			t.Fatal(err)
		}
		return before + string(last)
	}
	dated := func(name string) string {
		yy := rapid.SampledFrom([]string{"00", "24", "26", "27", "75", "99"}).Draw(t, name+" year")
		return yy + rapid.SampledFrom([]string{"0100", "0131", "0228", "0600", "1231"}).Draw(t, name)
	}
	all := []Element{{"01", numbered(14, "gtin")}}
	some := []func() Element{
		func() Element { return Element{"10", text(set82, 20, "lot")} },
		func() Element { return Element{"17", dated("expiry")} },
		func() Element { return Element{"11", dated("made")} },
		func() Element { return Element{"15", dated("best before")} },
		func() Element { return Element{"20", "07"} },
		func() Element { return Element{"21", text(set82, 20, "serial")} },
		func() Element { return Element{"30", text(digits, 8, "count")} },
		func() Element { return Element{"240", text(set82, 30, "id")} },
		func() Element { return Element{"410", numbered(13, "ship to")} },
		func() Element { return Element{"712", text(set82, 20, "national")} },
		func() Element { return Element{"99", text(set82, 90, "internal")} },
	}
	for _, i := range rapid.SliceOfNDistinct(rapid.IntRange(0, len(some)-1), 0, len(some), rapid.ID[int]).Draw(t, "which") {
		all = append(all, some[i]())
	}
	return rapid.Permutation(all).Draw(t, "order")
}

// TestWhatIsWrittenIsRead: elements written as a scanner sends them, with any
// symbology identifier or none, come back as they were; with separators more
// after any of them too.
func TestWhatIsWrittenIsRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := aLabel(t)
		prefix := rapid.SampledFrom([]string{"", "]C1", "]d2", "]Q3", "]J1", "]e0", gs}).Draw(t, "prefix")
		l, warnings, err := Read(prefix+Written(all), 2026)
		if err != nil || !slices.Equal(l.Elements, all) {
			t.Fatalf("%v: %v, want %v", err, l.Elements, all)
		}
		parted := ""
		for _, e := range all {
			parted += e.AI + e.Value + gs
		}
		again, _, err := Read(prefix+parted, 2026)
		if err != nil || !slices.Equal(again.Elements, all) || again.End != l.End {
			t.Fatalf("%v: %v, want %v", err, again.Elements, all)
		}
		for _, w := range warnings {
			if w.Text == "" || strings.HasSuffix(w.Text, ".") {
				t.Fatalf("%+v", w)
			}
		}
		if l.End.IsZero() != !strings.Contains(inPrint(all), "(17)") && !slices.ContainsFunc(warnings, func(w Warning) bool { return w.About == AboutEnd }) {
			t.Fatalf("no end, and no word of it: %v", all)
		}
		if strings.ContainsAny(strings.Join(values(all), ""), "()") {
			return
		}
		printed, _, err := ReadPrinted(inPrint(all), 2026)
		if err != nil || !slices.Equal(printed.Elements, all) || printed.Lot != l.Lot || printed.End != l.End {
			t.Fatalf("in print: %v: %+v, want %v", err, printed, all)
		}
	})
}

func values(all []Element) (out []string) {
	for _, e := range all {
		out = append(out, e.Value)
	}
	return out
}

// TestWhatIsCutSaysNothingElse: any beginning of a code is an error, or gives
// the elements that come first, the last of them perhaps cut.
func TestWhatIsCutSaysNothingElse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := aLabel(t)
		scan := Written(all)
		for n := range scan {
			l, _, err := Read(scan[:n], 2026)
			if err != nil {
				if !reflect.DeepEqual(l, Label{}) {
					t.Fatalf("%q: %v, and %+v", scan[:n], err, l)
				}
				continue
			}
			for i, e := range l.Elements {
				last := i == len(l.Elements)-1
				if e.AI != all[i].AI || e.Value != all[i].Value && !(last && strings.HasPrefix(all[i].Value, e.Value)) {
					t.Fatalf("%q gives %v of %v", scan[:n], l.Elements, all)
				}
			}
		}
	})
}

// TestALostSeparatorNeverGivesAnEnd that the code with its separators does not
// have; and where it changes the lot number of such a code with an expiry
// behind it, that is in doubt.
func TestALostSeparatorNeverGivesAnEnd(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := aLabel(t)
		whole, _, err := Read(Written(all), 2026)
		if err != nil {
			t.Fatal(err)
		}
		l, _, err := Read(strings.ReplaceAll(Written(all), gs, ""), 2026)
		if err != nil {
			return
		}
		if !l.End.IsZero() && l.End != whole.End {
			t.Fatalf("%v gives the end %s, not %s", all, l.End, whole.End)
		}
		if l.Lot != whole.Lot && l.End.IsZero() && !whole.End.IsZero() && strings.HasPrefix(l.Lot, whole.Lot+"17") && whole.Lot != "" && !l.LotDoubtful {
			t.Fatalf("%v: the lot number %s is %s without a doubt", all, whole.Lot, l.Lot)
		}
	})
}

// FuzzRead: whatever a scanner sends, the answer is a label, whose elements
// read again give the same, or an error and no label.
func FuzzRead(f *testing.F) {
	for _, seed := range []string{"]d2011231231231233310ABC123" + gs + "99TESTING", item + "10LOT-A117271200", "]E06291041500213", "(01)06291041500213(17)271200",
		"00123456789012345675" + "0206291041500213" + "3712" + gs + "4331000800", item + "7003" + "2712311000", "]", "\xff", item + "3102001234"} {
		f.Add(seed, 2026)
	}
	f.Fuzz(func(t *testing.T, scan string, year int) {
		for _, read := range []func(string, int) (Label, []Warning, error){Read, ReadPrinted} {
			l, warnings, err := read(scan, year)
			if err != nil {
				if !reflect.DeepEqual(l, Label{}) || len(warnings) > 0 {
					t.Fatalf("%v, and %+v", err, l)
				}
				continue
			}
			again, _, err := Read(Written(l.Elements), year)
			if err != nil || !slices.Equal(again.Elements, l.Elements) || again.End != l.End || again.Lot != l.Lot {
				t.Fatalf("%q is read as %v, and that as %v, %v", scan, l.Elements, again.Elements, err)
			}
		}
	})
}
