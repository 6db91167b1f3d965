package deed

import "antidotary/compliance"

// DrillHeld records a drill.
func DrillHeld(a compliance.Activity) Deed { return put(WordsDrillHeld, a) }

// CertificateRenewed records that somebody earned a certificate, with its last
// good day.
func CertificateRenewed(a compliance.Activity) Deed { return put(WordsCertificateRenewed, a) }

// ActivityDone records anything else that a rule asks for every so often: an
// inspection, a report.
func ActivityDone(a compliance.Activity) Deed { return put(WordsActivityDone, a) }

// DecisionMade records what the house decided.
func DecisionMade(d compliance.Decision) Deed { return put(WordsDecisionMade, d) }
