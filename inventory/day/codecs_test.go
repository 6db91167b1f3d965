package day

import (
	"database/sql"
	"database/sql/driver"
	"encoding"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"go.yaml.in/yaml/v3"
)

var (
	_ encoding.TextMarshaler   = Day(0)
	_ encoding.TextUnmarshaler = (*Day)(nil)
	_ driver.Valuer            = Day(0)
	_ sql.Scanner              = (*Day)(nil)
	_ encoding.TextMarshaler   = End{}
	_ encoding.TextUnmarshaler = (*End)(nil)
	_ driver.Valuer            = End{}
	_ sql.Scanner              = (*End)(nil)
)

// paper is a record as other packages write them.
type paper struct {
	Issued  Day          `json:"issued" yaml:"issued"`
	Seen    Day          `json:"seen,omitzero" yaml:"seen,omitempty"`
	Valid   End          `json:"valid" yaml:"valid"`
	Held    End          `json:"held,omitzero" yaml:"held,omitempty"`
	Renewal Period       `json:"renewal,omitzero" yaml:"renewal,omitempty"`
	Notes   map[Day]bool `json:"notes,omitempty" yaml:"notes,omitempty"`
}

func TestRecordsInJSONAndYAML(t *testing.T) {
	full := paper{
		Issued: MustParse("2026-03-10"), Seen: MustParse("2026-03-11"), Valid: Until(MustParse("2028-03-09")), Held: Forever(),
		Renewal: Period{Shape: BeforeDeadline, Span: Span{Days: 30}, Moves: true},
		Notes:   map[Day]bool{MustParse("2026-04-01"): true},
	}
	for _, v := range []struct {
		name, json, yaml string
		want             paper
	}{
		{"empty", `{"issued":"","valid":"unknown"}`, "issued: \"\"\nvalid: unknown\n", paper{}},
		{"full",
			`{"issued":"2026-03-10","seen":"2026-03-11","valid":"2028-03-09","held":"never",` +
				`"renewal":{"shape":"before_deadline","span":"30 days","moves":true},"notes":{"2026-04-01":true}}`,
			"issued: \"2026-03-10\"\nseen: \"2026-03-11\"\nvalid: \"2028-03-09\"\nheld: never\n" +
				"renewal:\n    shape: before_deadline\n    span: 30 days\n    moves: true\nnotes:\n    \"2026-04-01\": true\n",
			full},
	} {
		t.Run(v.name, func(t *testing.T) {
			checkCodec(t, "JSON", v.json, v.want, json.Marshal, json.Unmarshal)
			checkCodec(t, "YAML", v.yaml, v.want, yaml.Marshal, yaml.Unmarshal)
		})
	}
}

func checkCodec(t *testing.T, format, text string, want paper, write func(any) ([]byte, error), read func([]byte, any) error) {
	t.Helper()
	written, err := write(want)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(text, string(written)); diff != "" {
		t.Errorf("%s: %s", format, diff)
	}
	var got paper
	if err := read([]byte(text), &got); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%s: %s", format, diff)
	}
}

// People write dates in YAML without quotes, which makes them timestamps.
func TestYAMLDatesWithoutQuotes(t *testing.T) {
	var got paper
	if err := yaml.Unmarshal([]byte("issued: 2026-03-10\nvalid: 2028-03-09\nseen:\nheld:\n"), &got); err != nil {
		t.Fatal(err)
	}
	want := paper{Issued: MustParse("2026-03-10"), Valid: Until(MustParse("2028-03-09"))}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestWrongDatesInRecords(t *testing.T) {
	for _, v := range []struct{ json, want string }{
		{`{"issued":"2026-02-29"}`, "write YYYY-MM-DD"},
		{`{"issued":"0026-02-01"}`, "years 1900 to 9999"},
		{`{"issued":20260201}`, "number"},
		{`{"valid":"Never"}`, `"never" or "unknown"`},
		{`{"valid":"2026-02-30"}`, `"never" or "unknown"`},
		{`{"renewal":{"shape":"sometime"}}`, "fixed_annual"},
		{`{"renewal":{"span":"a month"}}`, "30 days"},
	} {
		got := paper{Issued: First, Valid: Forever()}
		err := json.Unmarshal([]byte(v.json), &got)
		if err == nil || !strings.Contains(err.Error(), v.want) {
			t.Errorf("%s: %v does not say %q", v.json, err, v.want)
		}
		if got.Issued != First || got.Valid != Forever() {
			t.Errorf("%s: the refused value was stored: %+v", v.json, got)
		}
	}
}

func TestDatabaseValues(t *testing.T) {
	d := MustParse("2026-12-31")
	for _, v := range []struct {
		name  string
		value driver.Valuer
		want  driver.Value
	}{
		{"day", d, "2026-12-31"},
		{"unset day", Day(0), nil},
		{"known end", Until(d), "2026-12-31"},
		{"no end", Forever(), "never"},
		{"unknown end", End{}, "unknown"},
	} {
		if got, err := v.value.Value(); err != nil || got != v.want {
			t.Errorf("%s: got %v, %v; want %v", v.name, got, err, v.want)
		}
	}
	for _, wrong := range []driver.Valuer{Last + 1, First - 1, Day(-1), Until(Last + 1)} {
		if got, err := wrong.Value(); err == nil {
			t.Errorf("%v was stored as %v", wrong, got)
		}
	}
}

func TestScan(t *testing.T) {
	midnight := time.Date(2026, time.December, 31, 0, 0, 0, 0, time.UTC)
	newYear := time.Date(2026, time.December, 30, 19, 0, 0, 0, time.FixedZone("five hours west", -5*3600))
	for _, v := range []struct {
		name string
		src  any
		day  string
		end  string
	}{
		{"text", "2026-12-31", "2026-12-31", "2026-12-31"},
		{"bytes", []byte("2026-12-31"), "2026-12-31", "2026-12-31"},
		{"date", midnight, "2026-12-31", "2026-12-31"},
		{"date in another zone", newYear, "2026-12-31", "2026-12-31"},
		{"NULL", nil, "", "unknown"},
		{"empty", "", "", "unknown"},
	} {
		d, e := First, Forever()
		if err := d.Scan(v.src); err != nil || d.String() != v.day {
			t.Errorf("%s: got day %q, %v", v.name, d, err)
		}
		if err := e.Scan(v.src); err != nil || e.String() != v.end {
			t.Errorf("%s: got end %q, %v", v.name, e, err)
		}
	}
	for text, want := range map[string]End{"never": Forever(), "unknown": {}} {
		e := Until(First)
		if err := e.Scan(text); err != nil || e != want {
			t.Errorf("%q: got end %q, %v", text, e, err)
		}
	}
}

func TestScanRefuses(t *testing.T) {
	noon := time.Date(2026, time.December, 31, 12, 0, 0, 0, time.UTC)
	for name, src := range map[string]any{
		"noon": noon, "one nanosecond late": noon.Add(-12*time.Hour + 1), "number": int64(20261231), "zero time": time.Time{},
		"time as text": "2026-12-31 00:00:00", "wrong date": "2026-02-30", "truth": true,
	} {
		d, e := First, Forever()
		if err := d.Scan(src); err == nil || d != First {
			t.Errorf("%s became the day %q, %v", name, d, err)
		}
		if err := e.Scan(src); err == nil || e != Forever() {
			t.Errorf("%s became the end %q, %v", name, e, err)
		}
	}
}

func TestUnknownNeverReadsAsNever(t *testing.T) {
	for name, e := range map[string]End{
		"zero": {}, "unset day": Until(0), "known without a day": {Kind: Known}, "no such kind": {Kind: 7},
	} {
		if last, known := e.Known(); known || last != 0 || !e.IsZero() || e.String() != "unknown" {
			t.Errorf("%s: %q, known %t", name, e, known)
		}
	}
	if Forever().IsZero() || Until(First).IsZero() || Forever().String() != "never" {
		t.Error("an end that is not unknown reads as unknown")
	}
	for text, want := range map[string]End{"": {}, "unknown": {}, "never": Forever(), "2026-02-28": Until(MustParse("2026-02-28"))} {
		if got, err := ParseEnd(text); err != nil || got != want {
			t.Errorf("%q: got %q, %v", text, got, err)
		}
	}
}

func FuzzParseLabelEnd(f *testing.F) {
	for _, s := range []string{"2026-02", "02/2026", "2026-02-28", "13/2026", "2026-00", "9999-12", "0000-01", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		last, monthOnly, err := ParseLabelEnd(s)
		switch text := last.String(); {
		case err != nil:
			if last != 0 || monthOnly {
				t.Errorf("%q was refused and is %s", s, last)
			}
		case last < First || last > Last:
			t.Errorf("%q gave %s", s, last)
		case !monthOnly && s != text:
			t.Errorf("%q gave %s", s, last)
		case monthOnly && s != text[:7] && s != text[5:7]+"/"+text[:4]:
			t.Errorf("%q gave %s", s, last)
		case monthOnly && last != last.EndOfMonth():
			t.Errorf("%q gave %s, not the end of a month", s, last)
		}
	})
}
