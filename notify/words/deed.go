package words

import (
	"strings"

	c "antidotary/compliance"
	"antidotary/compliance/deed"
)

// recorded has the words of the deed by which a step is recorded once it is
// done. Steps that are missing here are seen to without a record: the service
// runs again, mail moves, a pack is there.
var recorded = map[c.Code]string{
	c.FileRenewal:       deed.WordsPermitFiled,
	c.ChaseReceipt:      deed.WordsPermitReceived,
	c.ChaseDecision:     deed.WordsPermitDecided,
	c.RecordNewPaper:    deed.WordsPermitIssued,
	c.RenewPrerequisite: deed.WordsPermitIssued,
	c.StopBeforeEnd:     deed.WordsAnimalLeft,
	c.ReturnPaper:       deed.WordsPermitSurrendered,
	c.ReduceNumber:      deed.WordsAnimalLeft,
	c.HoldFewer:         deed.WordsAnimalLeft,
	c.MoveOut:           deed.WordsAnimalLeft,
	c.HoldActivity:      deed.WordsActivityDone,
	c.MendWording:       deed.WordsActivityDone,
	c.TellAuthority:     deed.WordsActivityDone,
	c.ReplaceAntivenom:  deed.WordsLotReceived,
	c.OrderAntivenom:    deed.WordsOrderPlaced,
	c.ChaseOrder:        deed.WordsLotReceived,
	c.CheckVials:        deed.WordsLotChecked,
	c.ObtainApproval:    deed.WordsPermitIssued,
	c.SignAgreement:     deed.WordsAgreementSigned,
	c.ConfirmAgreement:  deed.WordsAgreementConfirmed,
	c.MoveSpecies:       deed.WordsAnimalLeft,
	c.ApproveOrMove:     deed.WordsDecisionMade,
	c.ConfirmList:       deed.WordsListConfirmed,
	c.KeepList:          deed.WordsListKept,
	c.SignSession:       deed.WordsSessionSigned,
	c.RepeatSession:     deed.WordsSessionHeld,
	c.KeepCurrent:       deed.WordsSessionHeld,
	c.GainExperience:    deed.WordsSessionHeld,
	c.BringOn:           deed.WordsPersonSignedOff,
	c.WatchIt:           deed.WordsWatchingBegun,
}

// Recorded gives the words of the deed by which a step is recorded, which are
// a command's too; empty where none does. what is the activity that the step
// is about, if it is about one.
func Recorded(step c.Code, what string) string {
	if step == c.HoldActivity {
		family, _, _ := strings.Cut(what, ".")
		switch {
		case family == "drill":
			return deed.WordsDrillHeld
		case family == "certificate":
			return deed.WordsCertificateRenewed
		case what == "count.antivenom":
			return deed.WordsCountedAntivenom
		case what == "count.animals":
			return deed.WordsCountedAnimals
		}
	}
	return recorded[step]
}
