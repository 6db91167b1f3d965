package notify

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

func TestThresholds(t *testing.T) {
	for _, c := range []struct {
		name   string
		window int
		want   []int
	}{
		{"half a year", 180, []int{180, 54, 7, 0}},
		{"30 % is rounded down", 45, []int{45, 13, 7, 0}},
		{"30 % falls on the seven days", 24, []int{24, 7, 0}},
		{"30 % is below the seven days", 20, []int{20, 7, 6, 0}},
		{"the window is the seven days", 7, []int{7, 2, 0}},
		{"nothing before the window", 3, []int{3, 0}},
		{"the day alone", 0, []int{0}},
	} {
		if got := Thresholds(c.window); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestThresholdsDescendWithinTheWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		window := rapid.IntRange(0, 1500).Draw(t, "window")
		got := Thresholds(window)
		if got[0] != window || got[len(got)-1] != 0 {
			t.Fatalf("%v does not go from the window to the day", got)
		}
		for i := range got[1:] {
			if got[i] <= got[i+1] {
				t.Fatalf("%v does not descend", got)
			}
		}
	})
}

func TestDue(t *testing.T) {
	by := d("2030-07-31")
	step := compliance.Step{Do: compliance.FileRenewal, By: by, Window: 60}
	for _, c := range []struct {
		name  string
		f     compliance.Finding
		today day.Day
		want  []int
	}{
		{"the day before the window", finding(compliance.InOrder, step), by - 61, []int{toldNews}},
		{"the first day of the window", finding(compliance.InOrder, step), by - 60, []int{toldNews, 60}},
		{"a day inside", finding(compliance.InOrder, step), by - 59, []int{toldNews, 60}},
		{"the day before 30 %", finding(compliance.InOrder, step), by - 19, []int{toldNews, 60}},
		{"30 % itself", finding(compliance.InOrder, step), by - 18, []int{toldNews, 60, 18}},
		{"eight days before", finding(compliance.InOrder, step), by - 8, []int{toldNews, 60, 18}},
		{"seven days before", finding(compliance.InOrder, step), by - 7, []int{toldNews, 60, 18, 7}},
		{"the day before", finding(compliance.InOrder, step), by - 1, []int{toldNews, 60, 18, 7}},
		{"the day itself", finding(compliance.InOrder, step), by, []int{toldNews, 60, 18, 7, 0}},
		{"the day after", missed(finding(compliance.InOrder, step)), by + 1, []int{toldNews - 1, 60, 18, 7, 0}},
		{"six days after", missed(finding(compliance.InOrder, step)), by + 6, []int{toldNews - 1, 60, 18, 7, 0}},
		{"a week after", missed(finding(compliance.InOrder, step)), by + 7, []int{toldNews - 1, 60, 18, 7, 0, toldOver - 1}},
		{"three weeks after", missed(finding(compliance.InOrder, step)), by + 23, []int{toldNews - 1, 60, 18, 7, 0, toldOver - 3}},
		{"at once, when it opened", finding(compliance.OutOfOrder, compliance.Step{Do: compliance.ObtainPaper}), opened, []int{toldNews}},
		{"at once, a week on", finding(compliance.OutOfOrder, compliance.Step{Do: compliance.ObtainPaper}), opened + 7, []int{toldNews, toldOver - 1}},
		{"no step, a week on", finding(compliance.CannotTell, compliance.Step{}), opened + 7, []int{toldNews, toldOver - 1}},
		{"in order without a day is no nag", finding(compliance.InOrder, compliance.Step{Do: compliance.ChaseDecision}), opened + 70, []int{toldNews}},
		{"out of order, with time left", finding(compliance.OutOfOrder, step), by - 30, []int{toldNews, 60}},
	} {
		if got := Due(&c.f, opened, c.today); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

var opened = d("2030-03-01")

func finding(s compliance.Standing, step compliance.Step) compliance.Finding {
	return compliance.Finding{Verdict: compliance.Verdict{Standing: s, Step: step}}
}

func missed(f compliance.Finding) compliance.Finding {
	f.Missed, f.Worsened = true, 1
	return f
}
