package words

import c "antidotary/compliance"

var states = map[c.Code]string{
	c.InForce:            "the paper is in force",
	c.StartUnknown:       "the day on which the paper begins is not recorded",
	c.ExpiryUnknown:      "the day on which the paper ends is not recorded",
	c.Lapsed:             "the paper has lapsed",
	c.VoidOnExpiry:       "the paper is past its date and void; a renewal that is pending does not keep it alive",
	c.Suspended:          "the paper is suspended",
	c.Revoked:            "the paper has been revoked",
	c.Surrendered:        "the paper has been surrendered",
	c.EndedWithEvent:     "the paper has ended with what happened to its animal, though its date is not over",
	c.EventUnknown:       "where the paper's animal was is not recorded, and so whether the paper has ended",
	c.PendingContinued:   "the paper is past its date and continues by the rule cited until the renewal is decided",
	c.PendingNotCovered:  "the renewal is pending, and nothing covers the time until it is decided",
	c.PendingRefused:     "the renewal was refused",
	c.PendingNoReceipt:   "the renewal was posted in time, but no receipt is recorded",
	c.RenewableUnknown:   "whether the paper is renewable, and so continues, is not recorded",
	c.GrantedNotRecorded: "the renewal was granted, but the new paper is not recorded",
	c.NoPaper:            "no paper stands for it",
	c.HolderUnknown:      "whom the paper was granted to is not recorded",
	c.PlaceUnknown:       "which place the paper is for is not recorded",
	c.TaxonUnknown:       "whether the paper lists the species cannot be told",
	c.OverNumber:         "more animals are held than the paper allows",

	c.PrerequisiteMissing: "the paper is worth nothing now, because another one that it needs is not in force",
	c.PrerequisiteUnknown: "whether another paper that it needs is in force cannot be told",

	c.Done:               "it is done and still good",
	c.NotYetDue:          "it is not due yet",
	c.Overdue:            "it is overdue",
	c.NeverDone:          "it was never done",
	c.ResultUnknown:      "whether it was passed is not recorded",
	c.CertificateUnknown: "the day on which the certificate ends is not recorded",

	c.WithinLimit:    "no more are held than the limit allows",
	c.OverLimit:      "more are held than the limit allows",
	c.LimitUnknown:   "there may be more than the limit allows, because of some it is not known whether they count",
	c.CustodyUnknown: "in whose hands they are is not recorded",
	c.CountsUnknown:  "whether they count by the rule cannot be told, because something about the species or the site is not recorded",

	c.Told:              "the authority is told",
	c.NotToldYet:        "the authority is not told yet, and there is still time",
	c.NotTold:           "the authority is not told, and the time for it is over",
	c.ToldAtOnceUnknown: "the authority must be told at once, and nothing says that it was",
	c.EventTimeUnknown:  "the authority is not told, and whether there is still time hangs on the hour of the event, which is not recorded",
	c.EventDayUnknown:   "the day of the event is not recorded, and nothing says that the authority was told",
	c.NotListedThen:     "whether the authority was told cannot be known: what was done then is not listed",

	c.CameFirst:      "what must come first was there before the animal came",
	c.CameSince:      "what must come first is there, though it may have come after the animal",
	c.CameTooEarly:   "the animal came before what must come first, which is not there yet",
	c.SameDay:        "both came on one day, and which came first cannot be told",
	c.ArrivalUnknown: "the day on which the animal came is not recorded",
	c.PaperUnknown:   "whether a paper was in force before the animal came cannot be told",

	c.Prohibited:       "it is prohibited here, and no exemption that the law names holds",
	c.ExemptByLaw:      "an exemption holds that the law which prohibits it names",
	c.ExemptionUnknown: "it is prohibited here, and whether an exemption that the law names holds is not known",
	c.NotHereYet:       "it is not here yet, or the rule has not begun",

	c.RecordClean:    "nothing of the kind is recorded within the time that counts",
	c.RecordSpoilt:   "something that must not have happened did, within the time that counts",
	c.RecordTooShort: "whether anything of the kind happened is known for a part of the time alone",

	c.LadderMissing:        "no ladder says how people are brought on here",
	c.ExperienceEnough:     "the experience that is asked for is there",
	c.ExperienceShort:      "the experience that is asked for is not there",
	c.ExperienceUnknown:    "whether the experience that is asked for is there turns on what is not recorded",
	c.HandsEnough:          "enough people may open it",
	c.HandsTooFew:          "too few people may open it: nobody may, where two must be there",
	c.HandsNone:            "nobody may open it",
	c.HandsUnknown:         "whether enough people may open it turns on what is not recorded",
	c.AuthorisationCurrent: "whatever was signed off may be opened",
	c.AuthorisationLapsed:  "what was signed off may not be opened any more: it has lapsed",
	c.AuthorisationUnknown: "whether what was signed off has lapsed turns on what is not recorded",
	c.SignatureWaits:       "the session waits for its mentor's signature",
	c.SignatureGiven:       "the session is signed",
	c.SignatureMissed:      "the session was not signed in time and does not count",

	c.MustBeKept:       "the record must be kept, and nothing says that it was destroyed",
	c.DestroyedEarly:   "the record was destroyed while it had to be kept",
	c.DestroyedUnknown: "whether the record was destroyed is not recorded, and it had to be kept",
	c.KeepUnknown:      "the record may have been destroyed, and until when it had to be kept is not recorded",

	c.WordingComplete:   "it carries all that it must, as it was last read",
	c.WordingIncomplete: "it does not carry all that it must",
	c.WordingFailed:     "it was found wanting when it was last read",
	c.WordingUnread:     "nobody has recorded what it carries",
	c.WordingNotListed:  "it was read, and what it carries is not recorded",
	c.WordingOfBefore:   "it was last read before the animal was put where it is",
	c.WordingOld:        "it was last read too long ago",

	c.Covered:              "a full course is in date and within reach",
	c.Short:                "less than a full course is in date and within reach",
	c.InitialOnly:          "there is enough for an initial dose, not for a full course",
	c.NoneInStock:          "no usable vial is at the site",
	c.StockUnknown:         "there may be a full course, but an expiry or a state is not recorded",
	c.StockUnchecked:       "there is a full course only with vials that arrived and that nobody has looked at",
	c.CourseUnknown:        "how many vials a full course takes is not recorded",
	c.CoverageUnknown:      "which antivenom is for this species is not recorded",
	c.StatedIneffective:    "the only antivenom recorded for it is stated not to work, or its ground is not accepted",
	c.Uncoverable:          "no antivenom exists for it, and nobody has approved holding it without",
	c.UncoverableApproved:  "no antivenom exists for it; holding it without is approved by name",
	c.Unobtainable:         "antivenom for it exists, but cannot be had here: every recorded offer has ended",
	c.UnobtainableApproved: "antivenom for it exists, but cannot be had here; holding it without is approved by name",
	c.ShortTogether:        "enough for one victim, not where others are bitten too",
	c.CoveredTogether:      "what is enough for one victim is enough where others are bitten too",
	c.NotApproved:          "a full course is there, but no paper is in force under which it may be used here",
	c.ApprovalUnknown:      "a full course is there, but whether it may be used here is not recorded, or cannot be told",
	c.PartnerUnknown:       "whether there is a full course turns on what a partner has, which nobody confirmed in time",

	c.ListFresh:  "the list is confirmed",
	c.ListStale:  "nobody has confirmed the list in time",
	c.ListNever:  "nobody has ever confirmed the list",
	c.SweepFresh: "the watch has swept in time",
	c.SweepLate:  "the watch has not swept for too long: nothing here is known to be so still",
	c.SweepNever: "the watch has never swept",
	c.JobRan:     "the job has run in time",
	c.JobLate:    "the job has not run for too long",
	c.JobNever:   "the job has never run",
	c.MailMoves:  "mail moves",
	c.MailHeld:   "mail is held: nobody is being told",
	c.MailStuck:  "mail has been waiting for too long: people are not being told",

	c.ScopeUnknown:     "whether the rule applies cannot be told",
	c.LiftUnknown:      "whether another law lifts the rule cannot be told",
	c.ListMissing:      "no list covers this day, so that a missing record proves nothing",
	c.NotWatchedYet:    "it is declared not watched yet",
	c.NoLawPack:        "no law pack speaks for this site: whether it is lawful cannot be told",
	c.HasLawPack:       "a law pack speaks for this site",
	c.PackRead:         "the pack's text was read again in time",
	c.RuleUnverified:   "nobody has said in time that these rules are still what the text says",
	c.NeedsLegalReview: "NEEDS LEGAL REVIEW: one law is taken to cancel another",
	c.SiteUnknown:      "the enclosure that it is in is not recorded",
}

// State gives the phrase for a state. The empty code has none.
func State(code c.Code) string { return phrase(states, code) }

var steps = map[c.Code]string{
	c.FileRenewal:        "file the renewal",
	c.ChaseReceipt:       "get the receipt of the renewal that was posted",
	c.ChaseDecision:      "ask the authority for its decision",
	c.RecordNewPaper:     "record the new paper",
	c.ObtainPaper:        "obtain a paper, or stop what it would allow",
	c.RenewPrerequisite:  "first renew the other paper that this one needs",
	c.ObtainPrerequisite: "first obtain the other paper that this one needs",
	c.StopBeforeEnd:      "end what the paper allows before it ends, as decided",
	c.ReturnPaper:        "give the paper back to the authority, and obtain another where one is needed",
	c.ReduceNumber:       "have the number on the paper raised, or hold fewer",
	c.HoldFewer:          "hold fewer, put off what is to come, or have the limit raised by whoever set it",
	c.MoveOut:            "ask the authority how to part with it lawfully, or come under an exemption that the law names",
	c.KeepOut:            "do not take it in, or come under an exemption that the law names first",
	c.CompleteRecord:     "find out and record what is missing",
	c.HoldActivity:       "do it and record it",
	c.TellAuthority:      "tell the authority, and record that it was told",
	c.ConfigureLadder:    "lay down a ladder for this place in a rule pack, or take the one that comes along",
	c.GainExperience:     "have the person gain what is missing, signed by a mentor, and stand back until then",
	c.BringOn:            "bring somebody on, or keep those current who may open it, and leave it shut while they are too few",
	c.KeepCurrent:        "have the person handle it under a mentor, or renew what has run out",
	c.SignSession:        "sign for the session, or say that it did not go as recorded",
	c.RepeatSession:      "hold the session again; what was not signed in time does not count",
	c.StandDown:          "have somebody else do what this is asked for, until the record is clean",
	c.RestoreRecord:      "bring the record back from a copy, and ask the authority where there is none",
	c.MendWording:        "write on it what is missing, read it again, and record what it carries",
	c.OrderAntivenom:     "order antivenom",
	c.ChaseOrder:         "chase what is ordered or lent, and check it in when it comes",
	c.CheckVials:         "check the vials that arrived",
	c.ObtainApproval:     "obtain or renew the paper under which this antivenom may be used, or bring in one that needs none",
	c.SignAgreement:      "agree with somebody who may hold antivenom for it",
	c.ConfirmAgreement:   "have the partner confirm what is there",
	c.ReplaceAntivenom:   "bring antivenom in, or keep the enclosures shut",
	c.MoveSpecies:        "move the species out before cover ends, as decided",
	c.ApproveOrMove:      "approve holding it without antivenom, or move it out",
	c.ConfirmList:        "confirm that the list is complete",
	c.KeepList:           "have somebody keep this list",
	c.AddLawPack:         "load a law pack for the site, and ask the authority meanwhile",
	c.RecheckPack:        "recheck the pack: read its text again, and write down edition and day",
	c.HaveReviewed:       "have a lawyer look at it, and keep both laws meanwhile",
	c.CheckService:       "see that the service runs",
	c.ReleaseMail:        "look at the outbox, and release the mail",
	c.CheckMail:          "see why mail does not move",
	c.WatchIt:            "begin to watch it",
}

// Step gives the phrase for a step, as a thing to do.
func Step(code c.Code) string { return phrase(steps, code) }

// phrase never gives nothing for something: a code without words shows
// itself, which is ugly and safe.
func phrase(list map[c.Code]string, code c.Code) string {
	if words, ok := list[code]; ok {
		return words
	}
	return string(code)
}

// Standing gives the words for a standing.
func Standing(s c.Standing) string { return s.String() }

// Severity gives the words for a severity.
func Severity(s c.Severity) string { return string(s) }

var roles = map[c.Role]string{
	c.Head:          "head of collection",
	c.Administrator: "administrator",
	c.Curator:       "curator",
	c.LeadKeeper:    "lead keeper",
	c.Keeper:        "keeper",
	c.Trainee:       "trainee",
	c.SafetyOfficer: "safety officer",
	c.Operations:    "operations",
	c.SecondContact: "second contact outside the house",
}

// Role gives the words for a role.
func Role(r c.Role) string {
	if words, ok := roles[r]; ok {
		return words
	}
	return string(r)
}

var layers = map[c.Layer]string{c.Law: "law", c.House: "house rule", c.Guidance: "guidance"}

// Layer gives the words for a layer.
func Layer(l c.Layer) string { return layers[l] }

var closings = map[c.Closing]string{
	c.Met: "done in time", c.Late: "in order again, after it had been out of order", c.Ceased: "the duty itself has ended",
}

// Closing gives the words for how a finding ended.
func Closing(how c.Closing) string { return closings[how] }
