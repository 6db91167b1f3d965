package notify

import (
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

// TestAStepSaysTheHour where the rule counts by the clock.
func TestAStepSaysTheHour(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	by := day.MustParse("2026-11-01")
	s := DescribeStep(nil, nil, compliance.Step{Do: compliance.TellAuthority, By: by, Legal: by, At: time.Date(2026, 11, 1, 8, 0, 0, 0, time.UTC)}, by)
	s.At = s.At.In(zone)
	if got, want := s.When(by), "by Sun 1 Nov 2026, today; by the clock at the latest Sun 1 Nov 2026, 03:00 EST"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
