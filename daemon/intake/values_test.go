package intake

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
)

func TestCounts(t *testing.T) {
	for _, c := range []struct {
		text string
		want int
		says string // empty: taken
	}{
		{"10", 10, ""}, {" 0 ", 0, ""}, {"007", 7, ""},
		{"~10", 0, "a counted number is needed; leave the row out until somebody has counted"},
		{"10?", 0, "a counted number is needed; leave the row out until somebody has counted"},
		{"ca. 10", 0, "a counted number is needed; leave the row out until somebody has counted"},
		{"ca 10", 0, "estimate"}, {"about 10", 0, "estimate"}, {"10+", 0, "estimate"}, {"8-10", 0, "estimate"}, {"8 to 10", 0, "estimate"}, {">10", 0, "estimate"},
		{"ten", 0, "digits"}, {"10.5", 0, "digits"}, {"-1", 0, "digits"}, {"1,000", 0, "digits"}, {"10 vials", 0, "digits"}, {"1e3", 0, "digits"}, {"12345678", 0, "digits"}, {"١٠", 0, "digits"},
	} {
		t.Run(c.text, func(t *testing.T) {
			got, wrong := parseCount(c.text)
			if got != c.want || (wrong == "") != (c.says == "") || !strings.Contains(wrong, c.says) {
				t.Errorf("%d, %q; want %d, says %q", got, wrong, c.want, c.says)
			}
		})
	}
}

func TestBred(t *testing.T) {
	for _, c := range []struct {
		text  string
		want  inventory.Tri
		wrong bool
	}{
		{"CB", inventory.Yes, false}, {"captive  bred", inventory.Yes, false}, {"Yes", inventory.Yes, false},
		{"WC", inventory.No, false}, {"no", inventory.No, false},
		{"captive", inventory.Unknown, true}, {"CH", inventory.Unknown, true}, {"yes?", inventory.Unknown, true},
	} {
		t.Run(c.text, func(t *testing.T) {
			if got, wrong := parseTri(c.text, bredWords, wildWords); got != c.want || (wrong != "") != c.wrong {
				t.Errorf("%v, %q; want %v", got, wrong, c.want)
			}
		})
	}
	if len(bredWords) != 3 || slices.Contains(bredWords, "yes") {
		t.Error("reading changed the words")
	}
}

func TestNear(t *testing.T) {
	known := []string{"Naja kaouthia", "Naja naja", "Naja haje", "Ophiophagus hannah", "Bitis arietans"}
	for _, c := range []struct {
		written string
		want    []string
	}{
		{"N. kaouthia", []string{"Naja kaouthia"}},
		{"N.kaouthia", []string{"Naja kaouthia"}},
		{"N kaouthia", []string{"Naja kaouthia"}},
		{"naja kaouthia", []string{"Naja kaouthia"}},
		{"Naja kaoutia", []string{"Naja kaouthia"}},
		{"Ophiophagus hanah", []string{"Ophiophagus hannah"}},
		{"Bitis areitans", []string{"Bitis arietans"}},
		{"Naja naje", []string{"Naja haje", "Naja naja"}},
		{"Vipera berus", nil},
		{"cobra", nil},
	} {
		t.Run(c.written, func(t *testing.T) {
			if got := near(c.written, known); !slices.Equal(got, c.want) {
				t.Errorf("%q; want %q", got, c.want)
			}
		})
	}
}

// TestEscapedComesBack: every text comes back, and none that is escaped would
// be run.
func TestEscapedComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.SampledFrom([]rune("=+-@\t\r\n' a1"))).Draw(t, "text")
		out := Escaped(text)
		if back := unescaped(out); back != text {
			t.Fatalf("%q came back as %q", text, back)
		}
		if out != "" && strings.ContainsRune(formulaBegins, rune(out[0])) {
			t.Fatalf("%q begins a formula", out)
		}
	})
}
