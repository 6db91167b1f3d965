package day

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"
)

const heading = "calendar\tdate\tkey\tnote\n"

func TestReadHolidays(t *testing.T) {
	// As a spreadsheet may save it: byte order mark, CRLF, no tab before an
	// empty note, no order.
	text := "\ufeff# edition: harbour gazette no. 7\r\n# read on: 2026-03-04\r\n# by hand\r\n" +
		"calendar\tdate\tkey\tnote\r\n\r\nHARBOUR\t2027-05-03\tlantern\r\nHARBOUR\t2026-05-04\tlantern\tmoved\r\n"
	set, err := ReadHolidays("harbour.tsv", strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256([]byte(text))
	if set.Edition() != "harbour gazette no. 7" || set.ReadOn() != MustParse("2026-03-04") || set.Hash() != hex.EncodeToString(sum[:]) {
		t.Errorf("edition %q, read on %s, hash %s", set.Edition(), set.ReadOn(), set.Hash())
	}
	cal, err := set.Calendar("HARBOUR")
	if err != nil {
		t.Fatal(err)
	}
	if first, last := cal.Coverage(); first != 2026 || last != 2027 {
		t.Errorf("covers %d to %d", first, last)
	}
	got, _ := cal.Holiday(MustParse("2026-05-04"))
	if diff := cmp.Diff(Holiday{MustParse("2026-05-04"), "lantern", "moved"}, got); diff != "" {
		t.Error(diff)
	}
}

func TestReadHolidaysRefuses(t *testing.T) {
	const good = "HARBOUR\t2026-05-04\tlantern\t\n"
	for _, v := range []struct{ name, text, want string }{
		{"nothing", "", "h.tsv: there are no holidays"},
		{"heading only", heading, "h.tsv: there are no holidays"},
		{"no heading", good, "h.tsv:1: the heading must be"},
		{"heading with spaces", "calendar date key note\n" + good, "h.tsv:1: the heading must be"},
		{"columns", heading + good + "HARBOUR 2026-05-05\n", "h.tsv:3: 1 columns"},
		{"too many columns", heading + "HARBOUR\t2026-05-04\tlantern\t\t\n", "h.tsv:2: 5 columns"},
		{"calendar", heading + "HAR BOUR\t2026-05-04\tlantern\t\n", `h.tsv:2: field "calendar": "HAR BOUR"`},
		{"date", heading + "HARBOUR\t2026-02-30\tlantern\t\n", `h.tsv:2: field "date": "2026-02-30"`},
		{"key", heading + "HARBOUR\t2026-05-04\tLantern\t\n", `h.tsv:2: field "key": "Lantern"`},
		{"read on", "# read on: yesterday\n" + heading + good, `h.tsv:1: field "read on": "yesterday"`},
		{"twice", heading + good + good, "h.tsv:3: calendar HARBOUR has 2026-05-04 already"},
		{"gap", heading + good + "HARBOUR\t2028-05-01\tlantern\t\n", "h.tsv: calendar HARBOUR: there is no holiday in 2027"},
		{"no year", heading + "HARBOUR\t2027-12-31\tnew_year\tobserved\n", "h.tsv: calendar HARBOUR: there is no year"},
	} {
		set, err := ReadHolidays("h.tsv", strings.NewReader(v.text))
		if err == nil || !strings.HasPrefix(err.Error(), v.want) || set != nil {
			t.Errorf("%s: got %v, want %q", v.name, err, v.want)
		}
	}
}

func TestReadHolidaysTellsEveryError(t *testing.T) {
	_, err := ReadHolidays("h.tsv", strings.NewReader(heading+"A\tx\tk\t\nA\t2026-01-01\tk\t\nB\ty\tk\t\n"))
	if err == nil || !strings.Contains(err.Error(), "h.tsv:2:") || !strings.Contains(err.Error(), "h.tsv:4:") {
		t.Errorf("got %v", err)
	}
	_, err = ReadHolidays("h.tsv", strings.NewReader(strings.Repeat("rubbish\n", 1000)))
	if n := strings.Count(err.Error(), "\n") + 1; n != maxHolidayErrors {
		t.Errorf("got %d errors", n)
	}
	if _, err := ReadHolidays("h.tsv", iotest.ErrReader(os.ErrClosed)); !errors.Is(err, os.ErrClosed) {
		t.Errorf("got %v", err)
	}
	if _, err := ReadHolidays("h.tsv", strings.NewReader(strings.Repeat("#\n", maxHolidayBytes))); err == nil || !strings.Contains(err.Error(), "more than") {
		t.Errorf("got %v", err)
	}
}

// New year's day observed on 31 December must not make the old or the new year
// look covered.
func TestObservedNewYearCoversNothing(t *testing.T) {
	set, err := ReadHolidays("h.tsv", strings.NewReader(heading+
		"NEXT\t2027-12-31\tnew_year\tobserved\nNEXT\t2028-07-04\tindependence\t\n"+
		"PAST\t2027-07-05\tindependence\tobserved\nPAST\t2027-12-31\tnew_year\tobserved\n"))
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]int{"NEXT": 2028, "PAST": 2027} {
		cal, err := set.Calendar(name)
		if err != nil {
			t.Fatal(err)
		}
		if first, last := cal.Coverage(); first != want || last != want {
			t.Errorf("%s covers %d to %d, want %d", name, first, last, want)
		}
		if cal.IsWorking(MustParse("2027-12-31")) {
			t.Errorf("%s works on 2027-12-31", name)
		}
	}
}

func FuzzReadHolidays(f *testing.F) {
	f.Add(string(embeddedHolidays))
	f.Add(heading + "A\t2026-01-01\tnew_year\t\n")
	f.Add(heading + "A\t2026-12-31\tnew_year\tobserved\nA\t2026-01-01\tk")
	f.Add("# read on: 2026-01-01\n# edition: x\n" + heading)
	f.Fuzz(func(t *testing.T, text string) {
		set, err := ReadHolidays("h.tsv", strings.NewReader(text))
		if err != nil {
			if set != nil || !strings.Contains(err.Error(), "h.tsv") {
				t.Errorf("got %v, %v", set, err)
			}
			return
		}
		for _, name := range set.Names() {
			cal, err := set.Calendar(name)
			if err != nil {
				t.Fatal(err)
			}
			first, last := cal.Coverage()
			d := Of(first, time.January, 1)
			if first < 1900 || last > 9999 || first > last || !cal.Covers(d) || cal.Covers(d-1) {
				t.Errorf("%s covers %d to %d", name, first, last)
			}
			if got := cal.Earlier(d); !cal.IsWorking(got.On) || got.On > d {
				t.Errorf("%s: the working day before %s is %s", name, d, got.On)
			}
		}
	})
}
