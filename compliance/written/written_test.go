package written

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance/strict"
	"antidotary/inventory/day"
)

const text = `# a pack
format: 1
title: "Möß"
read_on: 2026-01-31   # by Ada
review_by: "2026-07-31" # read_on: 2026-01-31
rules:
  - id: a
    params: {class: x, match: [holder, place], renewal: {lead: 30 days}}
  - id: b
    exempts:
      - {rule: a}
      - {rule: c}
`

func read(t *testing.T, text string) *File {
	t.Helper()
	f, err := Read("p.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestFieldsHaveTheirPlaces(t *testing.T) {
	f := read(t, text)
	want := Fields{
		{"id", "a", strict.Pos{File: "p.yaml", Line: 7, Column: 9}},
		{"params.class", "x", strict.Pos{File: "p.yaml", Line: 8, Column: 21}},
		{"params.match", "holder, place", strict.Pos{File: "p.yaml", Line: 8, Column: 31}},
		{"params.renewal.lead", "30 days", strict.Pos{File: "p.yaml", Line: 8, Column: 64}},
	}
	if diff := cmp.Diff(want, f.Rule("a").Fields); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if got := f.Rule("b").Value("exempts[2].rule"); got != "c" {
		t.Errorf("the second of a list: %q", got)
	}
	if f.Rule("b").Pos("scope") != f.Rule("b").Where || f.Rule("c") != nil {
		t.Error("what is left out has a place of its own")
	}
}

func TestRulesAreComparedByTheirIDs(t *testing.T) {
	is := strings.NewReplacer("30 days", "60 days", "class: x, ", "", "id: b", "id: d").Replace(text)
	var got []string
	for _, c := range RuleChanges([]*File{read(t, text)}, []*File{read(t, is)}) {
		line := c.ID
		switch {
		case c.Was == nil:
			line += " came"
		case c.Is == nil:
			line += " went"
		}
		for _, x := range c.Changes {
			line += " " + x.Path + "=" + x.Was + ">" + x.Is
		}
		got = append(got, line)
	}
	want := []string{"a params.renewal.lead=30 days>60 days params.class=x>", "b went", "d came"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if same := RuleChanges([]*File{read(t, text)}, []*File{read(t, "# other words\n"+text)}); len(same) != 0 {
		t.Errorf("comments alone: %v", same)
	}
}

// TestRecheckChangesTwoValuesAlone, wherever they stand and however written.
func TestRecheckChangesTwoValuesAlone(t *testing.T) {
	for _, c := range []struct{ name, text, today, want string }{
		{"quotes and comments", text, "2026-06-15", strings.NewReplacer("read_on: 2026-01-31   #", "read_on: 2026-06-15   #", `"2026-07-31"`, `"2026-12-15"`).Replace(text)},
		{"months from a last day", "read_on: 2026-01-31\nreview_by: 2026-02-28\n", "2026-03-31", "read_on: 2026-03-31\nreview_by: 2026-04-30\n"},
		{"days", "read_on: 2026-01-01\nreview_by: 2026-01-11\n", "2026-03-01", "read_on: 2026-03-01\nreview_by: 2026-03-11\n"},
		{"in one line, after other letters", `{"title": "ößé", read_on: 2026-01-01, review_by: 2027-01-01}`, "2026-02-02", `{"title": "ößé", read_on: 2026-02-02, review_by: 2027-02-02}`},
		{"lines of Windows and a mark", "\ufeffread_on: 2026-01-01\r\nreview_by: 2027-01-01\r\n", "2026-02-02", "\ufeffread_on: 2026-02-02\r\nreview_by: 2027-02-02\r\n"},
		{"the same text in both", "{review_by: 2027-01-01, title: 2026-01-01, read_on: 2026-01-01}", "2026-02-02", "{review_by: 2027-02-02, title: 2026-01-01, read_on: 2026-02-02}"},
	} {
		r, err := Recheck("p.yaml", c.text, day.MustParse(c.today))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
		} else if diff := cmp.Diff(c.want, r.Text); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
	for _, c := range []struct{ text, want string }{
		{"read_on: 2026-01-01\n", "no review_by"},
		{"review_by: 2026-01-01\n", "no read_on"},
		{"read_on: 2026-01-01\nreview_by: 2026-01-01\n", "not after"},
		{"read_on: 2027-01-01\nreview_by: 2028-01-01\n", "after today"},
		{"read_on: soon\nreview_by: 2028-01-01\n", "soon"},
		{"{", "read p.yaml"},
	} {
		if _, err := Recheck("p.yaml", c.text, day.MustParse("2026-02-02")); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v, want %q", c.text, err, c.want)
		}
	}
}
