package words

import (
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
)

var parts = map[compliance.Part]string{
	compliance.Binds:      "binds",
	compliance.Superseded: "judged, superseded: another rule asks for more",
	compliance.LiftedOut:  "judged, lifted: it does not count",
	compliance.Silenced:   "silent: guidance does not count where law or a house rule speaks",
	compliance.Idle:       "does not apply today",
}

// Part gives the words for what a rule's answer counts for.
func Part(p compliance.Part) string {
	if words, ok := parts[p]; ok {
		return words
	}
	return spaced(string(p))
}

// LegalReview stands wherever one law is taken to cancel another.
const LegalReview = "NEEDS LEGAL REVIEW: whether the one law cancels the other is for a lawyer to say; keep both until then."

// Lifted says which rule lifts another, by what, and how sure that is.
func Lifted(l compliance.Lifting, sure inventory.Tri) string {
	verb := "lifts"
	if sure != inventory.Yes {
		verb = "may lift (it cannot be told)"
	}
	ground := "by the exemption " + spaced(l.Exemption)
	if l.How == compliance.Preempts {
		ground = "as a law of a higher place"
	}
	return fmt.Sprintf("%s %s it, %s: %s (%s)", l.By.ID, verb, ground, clause(l.Citation.Text), l.Citation.Certainty.Words())
}

// Laxer warns that a rule asks for less than the law above it.
func Laxer(rule, above *compliance.Rule) string {
	what := "The law of a lower place is laxer"
	if rule.Layer == compliance.House {
		what = "The rule of the house is laxer"
	}
	return fmt.Sprintf("%s than %s (lower layer laxer). It relaxes nothing; meet %s.", what, above.ID, above.ID)
}
