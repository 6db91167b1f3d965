package words

import (
	"slices"
	"testing"

	c "antidotary/compliance"
	"antidotary/compliance/deed"
)

// TestStepsSayHowTheyAreRecorded: each step has the words of a deed, or is
// seen to without a record.
func TestStepsSayHowTheyAreRecorded(t *testing.T) {
	without := map[c.Code]string{
		c.CompleteRecord:     "whichever record lacks something: an import, or the deed that tells it",
		c.ObtainPaper:        "a first paper comes in by import",
		c.ObtainPrerequisite: "a first paper comes in by import",
		c.KeepOut:            "a plan that is called off: an import",
		c.AddLawPack:         "a file",
		c.RecheckPack:        "a file",
		c.HaveReviewed:       "a lawyer, and then a file",
		c.StandDown:          "time",
		c.ConfigureLadder:    "a file",
		c.RestoreRecord:      "the record itself",
		c.CheckService:       "the service",
		c.CheckMail:          "the mail server",
		c.ReleaseMail:        "outbox release",
	}
	_, all, _ := codes(t)
	for code := range all {
		words := Recorded(c.Code(code), "")
		_, excused := without[c.Code(code)]
		switch {
		case (words == "") != excused:
			t.Errorf("step %s: recorded by %q, and excused: %v", code, words, excused)
		case words != "" && !slices.Contains(deed.All, words):
			t.Errorf("step %s: %q are the words of no deed", code, words)
		}
	}
	for what, want := range map[string]string{
		"drill.bite": "drill held", "certificate.first-aid": "certificate renewed", "count.antivenom": "counted antivenom",
		"count.animals": "counted animals", "report.wildlife-permit": "activity done", "inspection": "activity done",
	} {
		if got := Recorded(c.HoldActivity, what); got != want {
			t.Errorf("%s is recorded by %q, want %q", what, got, want)
		}
	}
}
