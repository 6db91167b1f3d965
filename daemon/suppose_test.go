package daemon

import (
	"encoding/json"
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/daemon/answer"
	"antidotary/daemon/naming"
	"antidotary/daemon/store"
	"antidotary/inventory"
)

func supposed(t *testing.T, opt Options, sentences ...string) *answer.Supposed {
	t.Helper()
	a, err := Suppose(t.Context(), opt, Question{}, sentences, nil)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// TestWhatIsSupposedIsWhatWouldBe: to lose a paper, and to record that it was
// lost, differ by the same; and supposing it writes nothing.
func TestWhatIsSupposedIsWhatWouldBe(t *testing.T) {
	opt, _ := watched(t)
	before, err := Entries(t.Context(), opt, 1)
	if err != nil {
		t.Fatal(err)
	}
	base, err := Evaluate(t.Context(), opt, Question{})
	if err != nil {
		t.Fatal(err)
	}
	said := supposed(t, opt, "lose WP-106 today")
	if len(said.Otherwise) == 0 || said.Worse == 0 || said.Better != 0 {
		t.Fatalf("losing a paper: %+v", said)
	}
	after, err := Entries(t.Context(), opt, 1)
	if err != nil || after.Entries[0].Entry != before.Entries[0].Entry {
		t.Errorf("something was written: %+v, %v", after, err)
	}
	if _, err := Record(t.Context(), opt, store.Actor{ID: "Petra"}, func(n *naming.Names) (deed.Deed, error) {
		p, err := n.Permit("WP-106")
		if err != nil {
			return deed.Deed{}, err
		}
		return deed.PermitRevoked(p.ID, n.Today(p.FirstSite())), nil
	}); err != nil {
		t.Fatal(err)
	}
	then, err := Evaluate(t.Context(), opt, Question{})
	if err != nil {
		t.Fatal(err)
	}
	real := answer.NewSupposed(base, then, base.View.Horizon(inventory.ID{}), said.Supposing)
	said.Already = real.Already
	if a, b := text(t, said), text(t, real); a != b {
		t.Errorf("supposed:\n%s\nand so:\n%s", a, b)
	}
}

func text(t *testing.T, v any) string {
	t.Helper()
	out, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// TestEveryRuleIsAskedOfWhatArrives: a species without cover and without a
// paper is out of order by both from the day on which it arrives; the day
// before nothing is otherwise.
func TestEveryRuleIsAskedOfWhatArrives(t *testing.T) {
	opt, _ := watched(t)
	a := supposed(t, opt, "arrive 2 Crotalus atrox 2027-05-12 Wren Cottage")
	about := make(map[string]int)
	for _, d := range a.Otherwise {
		if d.From.String() != "2027-05-12" {
			t.Errorf("%s is otherwise from %s", d.Name, d.From)
		}
		if d.Is == compliance.OutOfOrder {
			about[d.Rule]++
		}
	}
	if about["guidance.cover"] != 1 || about["gb.eaw.dwa-licence"] != 2 {
		t.Errorf("out of order: %v, want cover once and the licence of both", about)
	}
}

// TestNothingOtherwiseIsNotFine: what cannot be told of a species anyway is
// said, though another one of it changes nothing.
func TestNothingOtherwiseIsNotFine(t *testing.T) {
	opt, _ := watched(t)
	a := supposed(t, opt, "arrive 1 Vipera berus 2026-12-12 Wren Cottage")
	var out strings.Builder
	if err := a.WriteText(&out); err != nil {
		t.Fatal(err)
	}
	if len(a.Already) == 0 || !strings.Contains(out.String(), "With or without it, on that day:") {
		t.Errorf("%+v\n%s", a.Already, out.String())
	}
}

// TestOneAfterTheOther: what leaves as another comes is seen together.
func TestOneAfterTheOther(t *testing.T) {
	opt, _ := watched(t)
	coming := "arrive 1 Crotalus atrox 2027-05-12 Wren Cottage"
	both := supposed(t, opt, coming, "leave supposed 1 2027-06-01")
	for _, d := range both.Otherwise {
		if d.Last.String() != "2027-05-31" {
			t.Errorf("%s: to %s, want the day before it leaves", d.Name, d.Last)
		}
	}
	if len(both.Otherwise) == 0 {
		t.Error("nothing is otherwise")
	}
}

// TestWhatCannotBeSupposed is said with what can.
func TestWhatCannotBeSupposed(t *testing.T) {
	opt, _ := watched(t)
	for sentence, want := range map[string]string{
		"arive 3": "is nothing that can be supposed; write one of",
		"arrive Naja kaouthia 2027-05-12 Wren Cottage":      "is not written as",
		"arrive 0 Naja kaouthia 2027-05-12 Wren Cottage":    "suppose 1 to 200 animals",
		"arrive 1 N. kaouthia 2027-05-12 Wren Cottage":      "near it: Naja kaouthia",
		"arrive 1 Naja kaouthia 2025-05-12 Wren Cottage":    "2025-05-12 is past",
		"arrive 1 Naja kaouthia 2027-02-30 Wren Cottage":    "is not a day",
		"arrive 1 Naja kaouthia 2027-05-12 Wren Cotage":     "near it: Wren Cottage",
		"leave nobody 2027-01-01":                           "no animal is recorded as",
		"lose WP-999 2027-01-01":                            "no permit is recorded as",
		"receive 3 water 2027-01-01 Wren fridge until soon": "no product is recorded as",
	} {
		_, err := Suppose(t.Context(), opt, Question{}, []string{sentence}, nil)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", sentence, err, want)
		}
	}
}

// TestVialsThatWouldCome cover what they are for, and no more.
func TestVialsThatWouldCome(t *testing.T) {
	opt, _ := watched(t)
	a := supposed(t, opt, "arrive 1 Crotalus atrox 2027-05-12 Wren Cottage",
		"receive 30 Crotalidae polyvalent immune Fab (ovine), freeze-dried 2027-05-01 Wren fridge until 2028-05")
	covered := false
	for _, d := range a.Otherwise {
		if d.Rule == "guidance.cover" {
			covered = covered || d.Is != compliance.OutOfOrder && d.From.String() == "2027-05-12"
			if d.Is == compliance.OutOfOrder && d.From.String() < "2028-06-01" {
				t.Errorf("out of order from %s, though the vials last until the end of May 2028", d.From)
			}
		}
	}
	if !covered {
		t.Errorf("the vials change nothing: %+v", a.Otherwise)
	}
}
