package intake

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

func paperCalled(t *testing.T, s *compliance.Snapshot, number string) compliance.Permit {
	t.Helper()
	for x := range s.Permits.All() {
		if x.Number == number {
			return *x
		}
	}
	t.Fatalf("paper %s is not recorded", number)
	return compliance.Permit{}
}

// step takes one row of papers in and gives what is recorded then.
func step(t *testing.T, was *compliance.Snapshot, head, row string) (*compliance.Snapshot, *Plan) {
	t.Helper()
	p := planned(t, folder(t, map[string]string{"papers.csv": head + "\n" + row + "\n"}), was, later())
	return applied(t, p, was), p
}

// TestAPapersLife: filed, received, decided, suspended, lifted, filed again,
// revoked; each row once more changes nothing.
func TestAPapersLife(t *testing.T) {
	s := recorded(t)
	on := day.MustParse
	var want compliance.Permit
	for _, c := range []struct {
		head, row string
		change    func(*compliance.Permit)
	}{
		{"number,class,filed,receipt", "P1,dwa-licence,2026-06-01,'=7", func(x *compliance.Permit) {
			x.Applications = []compliance.Application{{Posted: on("2026-06-01"), Receipt: "=7"}}
		}},
		{"number,class,application received", "P1,dwa-licence,2026-06-03", func(x *compliance.Permit) { x.Applications[0].Received = on("2026-06-03") }},
		{"number,class,filed,decided,outcome", "P1,dwa-licence,2026-06-01,2026-07-01,Refused", func(x *compliance.Permit) {
			x.Applications[0].Decided, x.Applications[0].Outcome = on("2026-07-01"), compliance.Refused
		}},
		{"number,class,renewal filed", "P1,dwa-licence,2026-08-01", func(x *compliance.Permit) {
			x.Applications = append(x.Applications, compliance.Application{Posted: on("2026-08-01")})
		}},
		{"number,class,suspended", "P1,dwa-licence,2026-09-01", func(x *compliance.Permit) { x.Suspensions = []compliance.Suspension{{From: on("2026-09-01")}} }},
		{"number,class,lifted", "P1,dwa-licence,2026-10-01", func(x *compliance.Permit) { x.Suspensions[0].Lifted = on("2026-10-01") }},
		{"number,class,suspended", "P1,dwa-licence,2026-11-01", func(x *compliance.Permit) {
			x.Suspensions = append(x.Suspensions, compliance.Suspension{From: on("2026-11-01")})
		}},
		{"number,class,revoked,surrendered", "P1,dwa-licence,2026-11-02,no", func(x *compliance.Permit) { x.Revoked = on("2026-11-02") }},
	} {
		if want.ID == (inventory.ID{}) {
			want = paperCalled(t, s, "P1")
		}
		want.Applications, want.Suspensions = slices.Clone(want.Applications), slices.Clone(want.Suspensions) // s has its own
		c.change(&want)
		after, p := step(t, s, c.head, c.row)
		if diff := cmp.Diff(want, paperCalled(t, after, "P1")); diff != "" {
			t.Fatalf("%s / %s: (-want +got)\n%s%s", c.head, c.row, diff, told(p))
		}
		if _, again := step(t, after, c.head, c.row); len(again.Batch) > 0 || len(again.Refusals()) > 0 {
			t.Errorf("%s: once more makes %d changes\n%s", c.row, len(again.Batch), told(again))
		}
		s = after
	}
}

// TestBadFilings refuse their rows.
func TestBadFilings(t *testing.T) {
	was := recorded(t)
	was, _ = step(t, was, "number,class,filed,suspended", "P1,dwa-licence,2026-06-01,2026-09-01")
	for _, c := range []struct{ head, row, want string }{
		{"suspended", "?", `suspended: "?" leaves open whether the paper is in force`},
		{"revoked", "unknown", `revoked: "unknown" leaves open whether the paper is in force`},
		{"suspended", "yes", `suspended: "yes" is no full date`},
		{"suspended", "2026-10-01", `suspended: the paper is recorded as suspended since 2026-09-01`},
		{"suspended,lifted", "2026-09-01,2026-08-01", `lifted: 2026-08-01 is before the suspension began`},
		{"filed", "2026-07-01", `filed: an application filed on 2026-06-01 is recorded, and not its decision`},
		{"filed", "2027-01-01", `filed: 2027-01-01 is after today`},
		{"filed,outcome", "2026-06-01,granted", `outcome: and the day of the decision belong together`},
		{"filed,decided", "2026-06-01,2026-07-01", `outcome`},
		{"filed,decided,outcome", "2026-06-01,2026-07-01,probably", `outcome: "probably" is not allowed; allowed: granted, refused`},
		{"filed,decided,outcome", "2026-06-01,2026-05-01,granted", `decided: 2026-05-01 is before it was filed`},
		{"filed", "?", `filed: "?" says that nobody knows, but 2026-06-01 is recorded`},
		{"species", "Naja naja except Naja atra", `except is allowed after genus NAME`},
		{"species", "genus Naja except Naja kaoutia: 3", `species: "Naja kaoutia" is not a recorded species; did you mean "Naja kaouthia"`},
	} {
		t.Run(c.head+" "+c.row, func(t *testing.T) {
			p := planned(t, folder(t, map[string]string{"papers.csv": "number,class," + c.head + "\nP1,dwa-licence," + c.row + "\n"}), was, later())
			if got := told(p); !strings.Contains(got, c.want) || len(p.Batch) > 0 {
				t.Errorf("%d changes; told: %s\nwant: %s", len(p.Batch), got, c.want)
			}
		})
	}
}

// TestClasses: one that is near a class that rules ask for is refused, and one
// that is far from all is taken and told.
func TestClasses(t *testing.T) {
	s := later()
	s.Classes = []string{"dwa-licence", "keeper-licence"}
	src := func() *Source {
		return folder(t, map[string]string{"papers.csv": "number,class\nP2,DWA license\nP3,import-permit\nP4,DWA licence\n"})
	}
	p := planned(t, src(), recorded(t), s)
	wantFates(t, p, map[Fate]int{New: 2, Refused: 1})
	if want := `papers.csv:2:4: class: "DWA license" is no class that the loaded rules ask for; did you mean "dwa-licence"?`; !strings.Contains(told(p), want) {
		t.Errorf("told %s\nwant %s", told(p), want)
	}
	assumed := strings.Join(p.Assumed, "\n")
	for _, want := range []string{`1 papers are of the class "import-permit", for which no loaded rule asks`, `"DWA licence" is the class dwa-licence.`} {
		if !strings.Contains(assumed, want) {
			t.Errorf("%s\nwant %s", assumed, want)
		}
	}
	for pair, want := range map[string]string{"DWA license=dwa-licence": "dwa-licence", "DWA license=dwa-license": "dwa-license"} {
		s.Mapping = &Mapping{}
		must(t, s.Mapping.Agree(pair))
		was := recorded(t)
		p = planned(t, src(), was, s)
		if x := paperCalled(t, applied(t, p, was), "P2"); x.Class != want {
			t.Errorf("%s: class %q; want %q\n%s", pair, x.Class, want, told(p))
		}
	}
}

// TestExceptOnAPaper: a genus without some of its species.
func TestExceptOnAPaper(t *testing.T) {
	after, p := step(t, recorded(t), "number,class,species", `P1,dwa-licence,"genus Naja except Naja atra, Naja kaouthia: 3; any except Vipera berus"`)
	x := paperCalled(t, after, "P1")
	if len(x.Grants) != 2 || len(x.Grants[0].Except) != 2 || x.Grants[0].Max != 3 || x.Grants[1].Rank != compliance.RankAny || x.Grants[1].Except[0] != "Vipera berus" {
		t.Errorf("%+v\n%s", x.Grants, told(p))
	}
}

// TestOneUnreadableFile does not keep the others of its folder out.
func TestOneUnreadableFile(t *testing.T) {
	p := planned(t, folder(t, map[string]string{"animals.csv": "accession,species\nA9,Naja kaouthia\n", "papers.csv": "number,class\nP9,na\xefve\n", "vials.csv": "product,lot\n\"open"}), recorded(t), later())
	for _, want := range []string{"papers.csv:2:6: byte 0xef is no text in UTF-8", "vials.csv:"} {
		if !strings.Contains(told(p), want) {
			t.Errorf("told %s\nwant %s", told(p), want)
		}
	}
	wantFates(t, p, map[Fate]int{New: 1})
	if len(p.Sheets) != 2 {
		t.Errorf("%d lists unread; want 2", len(p.Sheets))
	}
}
