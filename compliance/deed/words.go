package deed

// The words of deeds. A command of these words records each.
const (
	WordsHouseFounded = "house founded"
	WordsImported     = "import"

	WordsPermitFiled       = "permit filed"
	WordsPermitReceived    = "permit received"
	WordsPermitDeficient   = "permit deficient"
	WordsPermitDecided     = "permit decided"
	WordsPermitIssued      = "permit issued"
	WordsPermitSuspended   = "permit suspended"
	WordsPermitLifted      = "permit lifted"
	WordsPermitRevoked     = "permit revoked"
	WordsPermitSurrendered = "permit surrendered"

	WordsAnimalArrived = "animal arrived"
	WordsAnimalBorn    = "animal born"
	WordsAnimalMoved   = "animal moved"
	WordsAnimalDied    = "animal died"
	WordsAnimalLeft    = "animal left"

	WordsLotReceived  = "lot received"
	WordsLotUsed      = "lot used"
	WordsLotDiscarded = "lot discarded"
	WordsLotLent      = "lot lent"
	WordsLotReturned  = "lot returned"
	WordsLotMoved     = "lot moved"
	WordsLotHeld      = "lot held"
	WordsLotReleased  = "lot released"
	WordsLotChecked   = "lot checked"
	WordsLotUnfit     = "lot unfit"
	WordsLotReserved  = "lot reserved"

	WordsLotPromised     = "lot promised"
	WordsLotPromiseEnded = "lot promise ended"

	WordsSealSet     = "seal set"
	WordsSealChecked = "seal checked"
	WordsSealBroken  = "seal broken"

	WordsSupplyOffered  = "supply offered"
	WordsOrderPlaced    = "order placed"
	WordsOrderShipped   = "order shipped"
	WordsOrderAtCustoms = "order at customs"
	WordsOrderArrived   = "order arrived"
	WordsOrderCancelled = "order cancelled"

	WordsAgreementSigned    = "agreement signed"
	WordsAgreementConfirmed = "agreement confirmed"
	WordsAgreementEnded     = "agreement ended"

	WordsPlaceReaches     = "place reaches"
	WordsCoverageRecorded = "coverage recorded"

	WordsCountedAntivenom = "counted antivenom"
	WordsCountedAnimals   = "counted animals"

	WordsDrillHeld          = "drill held"
	WordsCertificateRenewed = "certificate renewed"
	WordsActivityDone       = "activity done"

	WordsListKept      = "list kept"
	WordsListConfirmed = "list confirmed"

	WordsDecisionMade = "decision made"

	WordsPersonJoined = "person joined"
	WordsPersonLeft   = "person left"
	WordsPersonAway   = "person away"

	WordsSessionHeld   = "session held"
	WordsSessionSigned = "session signed"

	WordsPersonStage     = "person stage"
	WordsPersonSignedOff = "person signed-off"
	WordsPersonMentor    = "person mentor"
	WordsPersonSuspended = "person suspended"
	WordsPersonCleared   = "person cleared"
	WordsPersonSetBack   = "person set-back"
	WordsPersonCredited  = "person credited"

	WordsEnclosureOpened = "enclosure opened"

	WordsSpeciesPlaced = "species placed"
	WordsAnimalPlaced  = "animal placed"

	WordsWatchingBegun     = "watching begun"
	WordsWatchingPostponed = "watching postponed"
)

// All lists the words of every deed.
var All = []string{
	WordsHouseFounded, WordsImported,
	WordsPermitFiled, WordsPermitReceived, WordsPermitDeficient, WordsPermitDecided, WordsPermitIssued,
	WordsPermitSuspended, WordsPermitLifted, WordsPermitRevoked, WordsPermitSurrendered,
	WordsAnimalArrived, WordsAnimalBorn, WordsAnimalMoved, WordsAnimalDied, WordsAnimalLeft,
	WordsLotReceived, WordsLotUsed, WordsLotDiscarded, WordsLotLent, WordsLotReturned, WordsLotMoved, WordsLotHeld, WordsLotReleased,
	WordsLotChecked, WordsLotUnfit, WordsLotReserved, WordsLotPromised, WordsLotPromiseEnded,
	WordsSealSet, WordsSealChecked, WordsSealBroken,
	WordsSupplyOffered, WordsOrderPlaced, WordsOrderShipped, WordsOrderAtCustoms, WordsOrderArrived, WordsOrderCancelled,
	WordsAgreementSigned, WordsAgreementConfirmed, WordsAgreementEnded, WordsPlaceReaches, WordsCoverageRecorded,
	WordsCountedAntivenom, WordsCountedAnimals,
	WordsDrillHeld, WordsCertificateRenewed, WordsActivityDone,
	WordsListKept, WordsListConfirmed, WordsDecisionMade,
	WordsSessionHeld, WordsSessionSigned,
	WordsPersonStage, WordsPersonSignedOff, WordsPersonMentor, WordsPersonSuspended, WordsPersonCleared, WordsPersonSetBack, WordsPersonCredited,
	WordsEnclosureOpened, WordsSpeciesPlaced, WordsAnimalPlaced,
	WordsPersonJoined, WordsPersonLeft, WordsPersonAway, WordsWatchingBegun, WordsWatchingPostponed,
}
