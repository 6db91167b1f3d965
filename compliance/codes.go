package compliance

// The states of a duty. Their words are in package notify/words.
const (
	// Papers.
	InForce            Code = "in-force"
	StartUnknown       Code = "start-unknown"
	ExpiryUnknown      Code = "expiry-unknown"
	Lapsed             Code = "lapsed"
	VoidOnExpiry       Code = "void-on-expiry"
	Suspended          Code = "suspended"
	Revoked            Code = "revoked"
	Surrendered        Code = "surrendered"
	EndedWithEvent     Code = "ended-with-event"
	EventUnknown       Code = "event-unknown"
	PendingContinued   Code = "pending-continued"
	PendingNotCovered  Code = "pending-not-covered"
	PendingRefused     Code = "pending-refused"
	PendingNoReceipt   Code = "pending-no-receipt"
	RenewableUnknown   Code = "renewable-unknown"
	GrantedNotRecorded Code = "granted-not-recorded"
	NoPaper            Code = "no-paper"
	HolderUnknown      Code = "holder-unknown"
	PlaceUnknown       Code = "place-unknown"
	TaxonUnknown       Code = "taxon-unknown"
	OverNumber         Code = "over-number"
	// Papers that another paper needs.
	PrerequisiteMissing Code = "prerequisite-missing"
	PrerequisiteUnknown Code = "prerequisite-unknown"

	// Recurring activities.
	Done               Code = "done"
	NotYetDue          Code = "not-yet-due"
	Overdue            Code = "overdue"
	NeverDone          Code = "never-done"
	ResultUnknown      Code = "result-unknown"
	CertificateUnknown Code = "certificate-end-unknown"

	// Limits.
	WithinLimit    Code = "within-limit"
	OverLimit      Code = "over-limit"
	LimitUnknown   Code = "limit-unknown"
	CustodyUnknown Code = "custody-unknown"
	CountsUnknown  Code = "counts-unknown"

	// Notices.
	Told              Code = "told"
	NotToldYet        Code = "not-told-yet"
	NotTold           Code = "not-told"
	ToldAtOnceUnknown Code = "told-at-once-unknown"
	EventTimeUnknown  Code = "event-time-unknown"
	EventDayUnknown   Code = "event-day-unknown"
	NotListedThen     Code = "not-listed-then"

	// What must come before an animal arrives.
	CameFirst      Code = "came-first"
	CameSince      Code = "came-since"
	CameTooEarly   Code = "came-too-early"
	SameDay        Code = "same-day"
	ArrivalUnknown Code = "arrival-unknown"
	PaperUnknown   Code = "paper-unknown"

	// Prohibitions.
	Prohibited       Code = "prohibited"
	ExemptByLaw      Code = "exempt-by-law"
	ExemptionUnknown Code = "exemption-unknown"
	NotHereYet       Code = "not-here-yet"

	// Clean records.
	RecordClean    Code = "record-clean"
	RecordSpoilt   Code = "record-spoilt"
	RecordTooShort Code = "record-too-short"

	// Records to keep.
	MustBeKept       Code = "must-be-kept"
	DestroyedEarly   Code = "destroyed-early"
	DestroyedUnknown Code = "destroyed-unknown"
	KeepUnknown      Code = "keep-unknown"

	// Wording of labels and documents.
	WordingComplete   Code = "wording-complete"
	WordingIncomplete Code = "wording-incomplete"
	WordingFailed     Code = "wording-failed"
	WordingUnread     Code = "wording-unread"
	WordingNotListed  Code = "wording-not-listed"
	WordingOfBefore   Code = "wording-of-before"
	WordingOld        Code = "wording-old"

	// Cover.
	Covered             Code = "covered"
	Short               Code = "short"
	InitialOnly         Code = "initial-only"
	NoneInStock         Code = "none-in-stock"
	StockUnknown        Code = "stock-unknown"
	StockUnchecked      Code = "stock-unchecked"
	CourseUnknown       Code = "course-unknown"
	CoverageUnknown     Code = "coverage-unknown"
	StatedIneffective   Code = "stated-ineffective"
	Uncoverable         Code = "uncoverable"
	UncoverableApproved Code = "uncoverable-approved"
	// Unobtainable: what would treat it exists, but every offer of it has ended.
	Unobtainable         Code = "unobtainable"
	UnobtainableApproved Code = "unobtainable-approved"
	// ShortTogether: enough for one victim, not with all others planned for.
	ShortTogether Code = "short-together"
	// CoveredTogether: whatever is enough for one victim is enough with all
	// others planned for.
	CoveredTogether Code = "covered-together"
	// PartnerUnknown: it turns on what a partner has, which nobody confirmed in
	// time.
	PartnerUnknown Code = "partner-unknown"

	// NotApproved: what would be enough may not be used here without a paper that
	// is not in force.
	NotApproved     Code = "not-approved"
	ApprovalUnknown Code = "approval-unknown"

	// Experience, and who may open.
	LadderMissing        Code = "ladder-missing"
	ExperienceEnough     Code = "experience-enough"
	ExperienceShort      Code = "experience-short"
	ExperienceUnknown    Code = "experience-unknown"
	HandsEnough          Code = "hands-enough"
	HandsTooFew          Code = "hands-too-few"
	HandsNone            Code = "hands-none"
	HandsUnknown         Code = "hands-unknown"
	AuthorisationCurrent Code = "authorisation-current"
	AuthorisationLapsed  Code = "authorisation-lapsed"
	AuthorisationUnknown Code = "authorisation-unknown"
	SignatureWaits       Code = "signature-waits"
	SignatureGiven       Code = "signature-given"
	SignatureMissed      Code = "signature-missed"

	// The watch itself.
	ListFresh  Code = "list-fresh"
	ListStale  Code = "list-stale"
	ListNever  Code = "list-never-confirmed"
	SweepFresh Code = "sweep-fresh"
	SweepLate  Code = "sweep-late"
	SweepNever Code = "sweep-never"
	JobRan     Code = "job-ran"
	JobLate    Code = "job-late"
	JobNever   Code = "job-never"
	MailMoves  Code = "mail-moves"
	MailStuck  Code = "mail-stuck"
	MailHeld   Code = "mail-held"

	// What keeps any duty from being told.
	ScopeUnknown  Code = "scope-unknown"
	LiftUnknown   Code = "lift-unknown"
	ListMissing   Code = "list-missing"
	NotWatchedYet Code = "not-watched-yet"
	NoLawPack     Code = "no-law-pack"
	HasLawPack    Code = "has-law-pack"
	PackRead      Code = "pack-read"
	// RuleUnverified: its pack is past its review, or nobody recorded what was
	// read and when.
	RuleUnverified   Code = "rule-unverified"
	NeedsLegalReview Code = "needs-legal-review"
	SiteUnknown      Code = "site-unknown"
)

// The steps that somebody must take.
const (
	FileRenewal        Code = "file-renewal"
	ChaseReceipt       Code = "chase-receipt"
	ChaseDecision      Code = "chase-decision"
	RecordNewPaper     Code = "record-new-paper"
	ObtainPaper        Code = "obtain-paper"
	RenewPrerequisite  Code = "renew-prerequisite"
	ObtainPrerequisite Code = "obtain-prerequisite"
	StopBeforeEnd      Code = "stop-before-end"
	ReturnPaper        Code = "return-paper"
	ReduceNumber       Code = "reduce-number"
	HoldFewer          Code = "hold-fewer"
	MoveOut            Code = "move-out"
	KeepOut            Code = "keep-out"
	CompleteRecord     Code = "complete-record"
	HoldActivity       Code = "hold-activity"
	TellAuthority      Code = "tell-authority"
	StandDown          Code = "stand-down"
	ConfigureLadder    Code = "configure-ladder"
	GainExperience     Code = "gain-experience"
	BringOn            Code = "bring-on"
	KeepCurrent        Code = "keep-current"
	SignSession        Code = "sign-session"
	RepeatSession      Code = "repeat-session"
	RestoreRecord      Code = "restore-record"
	MendWording        Code = "mend-wording"
	OrderAntivenom     Code = "order-antivenom"
	ReplaceAntivenom   Code = "replace-antivenom"
	ChaseOrder         Code = "chase-order"
	CheckVials         Code = "check-vials"
	ObtainApproval     Code = "obtain-approval"
	SignAgreement      Code = "sign-agreement"
	ConfirmAgreement   Code = "confirm-agreement"
	MoveSpecies        Code = "move-species"
	ApproveOrMove      Code = "approve-or-move"
	ConfirmList        Code = "confirm-list"
	KeepList           Code = "keep-list"
	AddLawPack         Code = "add-law-pack"
	RecheckPack        Code = "recheck-pack"
	HaveReviewed       Code = "have-reviewed"
	CheckService       Code = "check-service"
	ReleaseMail        Code = "release-mail"
	CheckMail          Code = "check-mail"
	WatchIt            Code = "watch-it"
)
