package intake

import (
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"antidotary/inventory/day"
)

// FuzzCells: whatever a cell holds, it either has a value within bounds or is
// refused with a reason.
func FuzzCells(f *testing.F) {
	for _, s := range []string{"2026-02-03", "03/02/2026", "EXP 02/26", "Feb 2026", "~10", "10", "N. kaouthia", "=1+1", "Naja kaouthia: 5", "3-Feb-26", "\u00a010", "2:30 pm", "02:30", "20 Nov 2026 17:30", "2026-10-25T01:30+01:00"} {
		f.Add(s, "dmy")
		f.Add(s, "")
	}
	f.Fuzz(func(t *testing.T, text, declared string) {
		order, err := ParseOrder(declared)
		if err != nil {
			order = ""
		}
		d, wrong := parseDay(text, order)
		if (wrong == "") != (d >= day.First && d <= day.Last) {
			t.Errorf("day %d, %q", d, wrong)
		}
		london, _ := time.LoadLocation("Europe/London") // zones come along
		if at, wrong := moment(text, day.MustParse("2026-10-25"), order, london); wrong == "" {
			if again, wrong := moment(at.Format(time.RFC3339), 0, order, london); wrong != "" && at.Year() < 10000 || !again.Equal(at) && at.Year() < 10000 || at.Location() != time.UTC || at.Nanosecond() != 0 {
				t.Errorf("%q is %s, which came back as %s, %q", text, at, again, wrong)
			}
		}
		last, month, wrong := parseLabel(text, order)
		if (wrong == "") != (last >= day.First && last <= day.Last) || month && wrong == "" && last != last.EndOfMonth() {
			t.Errorf("label %d, %v, %q", last, month, wrong)
		}
		if n, wrong := parseCount(text); n < 0 || n > 999999 || wrong != "" && n != 0 {
			t.Errorf("count %d, %q", n, wrong)
		}
		if back := unescaped(Escaped(text)); back != text {
			t.Errorf("%q came back as %q", text, back)
		}
		near(text, []string{"Naja kaouthia", "Vipera berus"})
		parseDeparture(text)
		partsOfFormat(text)
		if g, wrong := parseGrant(text); wrong == "" {
			if again, wrong := parseGrant(showGrant(g)); wrong != "" || !sameGrant(g, again) {
				t.Errorf("%q is shown as %q: %s", text, showGrant(g), wrong)
			}
		}
		if utf8.ValidString(text) && !strings.Contains(text, "\x00") { // as every reader holds
			if back, err := uncelled(celled(text, ";|,@")); err != nil || back != text {
				t.Errorf("%q came back as %q, %v", text, back, err)
			}
			if back, err := uncelled(text); err == nil {
				if again, err := uncelled(celled(back, ";")); err != nil || again != back {
					t.Errorf("%q is %q, which came back as %q, %v", text, back, again, err)
				}
			}
		}
	})
}

// FuzzCSV: whatever a file holds, it is read or refused, and what is read can
// be recorded.
func FuzzCSV(f *testing.F) {
	f.Add([]byte("accession,species\nA1,Naja kaouthia\n"))
	f.Add([]byte("product;lot;vials;place\nx;\"L\n1\";3;y\n"))
	f.Add([]byte("number,class,species,filed,suspended\nP1,dwa-licence,genus Naja except Naja naja: 3,2026-01-02,no\n"))
	f.Add([]byte("export 1: animals,accession,species,arrived,enclosures,as exported\n,A9,Naja kaouthia,2026-01-01,E-01 @ Thornbury Lane | 2026-01-01,\n"))
	f.Add([]byte("export 1: papers;number;class;renews;species;filings\n;P7;x;P8;any | | 3 | a, b;\n;P8;x;P7;;2026-01-01 | | | | | | \n"))
	f.Add([]byte("date,trainee,mentor,species,animals,task,results,clean,prompted,stopped,from,to,signed,unsafe\n2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,A1,hook,,4,1,0,10:00,2:30 pm,20 Nov 2026,no\n2026-11-20,Ivo Marsh,alone,Naja kaouthia,,look,ccs,,,,,,,\n"))
	was := staffed(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := readCSV("x.csv", data)
		if err != nil {
			return
		}
		p, err := NewPlan(&Source{Sheets: []*Sheet{s}}, was, later())
		if _, _, says := marked(s); says != nil {
			p, err = NewPlan(&Source{Sheets: []*Sheet{s}}, was, Settings{Now: noon})
		}
		if err != nil {
			return
		}
		if _, err := p.Try(was); err != nil {
			t.Error(err)
		}
	})
}
