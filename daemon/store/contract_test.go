package store

import (
	"flag"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// opener makes a new, empty database and opens it.
type opener func(t *testing.T) *Store

// databases are those that the contract holds for.
var databases = map[string]opener{
	"sqlite":   func(t *testing.T) *Store { return reopened(t, fresh["sqlite"](t)) },
	"postgres": func(t *testing.T) *Store { return reopened(t, fresh["postgres"](t)) },
}

// contract is what a store promises whatever database it is on. What it does
// is asked through the store's own calls; what it withstands is done past it,
// on a connection besides, in the words of SQLite that speak translates.
var contract = map[string]func(*testing.T, opener){
	"a lease that ran out begins nothing":      contractALeaseThatRanOutBeginsNothing,
	"only an outcome ends an attempt":          contractOnlyAnOutcomeEndsAnAttempt,
	"silence may wait longer":                  contractSilenceMayWaitLonger,
	"a claim gives each mail to one":           contractAClaimGivesEachMailToOne,
	"a mail is claimed once":                   contractAMailIsClaimedOnce,
	"a lost claim":                             contractALostClaim,
	"one digest for a person and day":          contractOneDigestForAPersonAndDay,
	"when a mail is due":                       contractWhenAMailIsDue,
	"oldest first":                             contractOldestFirst,
	"who may record":                           contractWhoMayRecord,
	"one mail for kind person and day":         contractOneMailForKindPersonAndDay,
	"digests of these days":                    contractDigestsOfTheseDays,
	"a hold keeps every mail back":             contractAHoldKeepsEveryMailBack,
	"dropped mails never go out":               contractDroppedMailsNeverGoOut,
	"who releases":                             contractWhoReleases,
	"findings come back":                       contractFindingsComeBack,
	"the pulse":                                contractThePulse,
	"trap nanoseconds":                         contractTrapNanoseconds,
	"records come back":                        contractRecordsComeBack,
	"many records come back":                   contractManyRecordsComeBack,
	"days stay days":                           contractDaysStayDays,
	"instants stay instants":                   contractInstantsStayInstants,
	"nothing is kept that would not come back": contractNothingIsKeptThatWouldNotComeBack,
	"every tampering shows":                    contractEveryTamperingShows,
	"every bit counts":                         contractEveryBitCounts,
	"an insertion that is well made":           contractAnInsertionThatIsWellMade,
	"a journal written anew":                   contractAJournalWrittenAnew,
	"a tail cut off":                           contractATailCutOff,
	"a long journal":                           contractALongJournal,
	"the journal refuses edits":                contractTheJournalRefusesEdits,
	"erasing keeps the chain":                  contractErasingKeepsTheChain,
	"a sweep is guarded":                       contractASweepIsGuarded,
	"a sweep that conflicts writes nothing":    contractASweepThatConflictsWritesNothing,
	"a reminder is one for each of its parts":  contractAReminderIsOneForEachOfItsParts,
	"many findings in one sweep":               contractManyFindingsInOneSweep,
	"what was told stays told":                 contractWhatWasToldStaysTold,
	"a sweep keeps what it rested on":          contractASweepKeepsWhatItRestedOn,
	"a mail stays as it was queued":            contractAMailStaysAsItWasQueued,
	"each state of a mail":                     contractEachStateOfAMail,
	"a lease is as long as it was asked for":   contractALeaseIsAsLongAsItWasAskedFor,
	"nothing is queued twice":                  contractNothingIsQueuedTwice,
	"another store sees":                       contractAnotherStoreSees,
	"who only asks writes nothing":             contractWhoOnlyAsksWritesNothing,
	"whoever waits too long is told":           contractWhoeverWaitsTooLongIsTold,
	"a deadline is a deadline":                 contractADeadlineIsADeadline,
	"many commit at once":                      contractManyCommitAtOnce,
	"the clock may be anywhere":                contractTheClockMayBeAnywhere,
	"nobody else takes an erased name":         contractNobodyElseTakesAnErasedName,
	"entries of the first format hold":         contractEntriesOfTheFirstFormatHold,
	"an actor is erased":                       contractAnActorIsErased,
	"whatever is put comes back":               contractWhateverIsPutComesBack,
	"no vial is lost or made":                  contractNoVialIsLostOrMade,
	"a stale count is refused":                 contractAStaleCountIsRefused,
	"what is refused by the tables":            contractWhatTheTablesRefuse,
	"the journal leads to the records":         contractTheJournalLeadsToTheRecords,
	"where the journal leads nowhere":          contractWhereTheJournalLeadsNowhere,
	"what is remembered is what is stored":     contractWhatIsRememberedIsWhatIsStored,
	"a ledger is of one sweep":                 contractALedgerIsOfOneSweep,
	"an old telling counts for ever":           contractAnOldTellingCountsForEver,
}

// zones are those that the whole contract holds in: west and east of
// Greenwich, half an hour off, and one that left a day out (30 December 2011).
// They are where the program runs; the server is given the same one, and has
// to be told otherwise by the store.
var zones = []string{"UTC", "America/New_York", "Asia/Kolkata", "Pacific/Apia"}

// fewest is how many cases each database is asked in each zone.
const fewest = 200

// TestContract holds every promise on every database in every zone, and the
// cases are the same for all.
func TestContract(t *testing.T) {
	asked := make(map[string][]string)
	for _, zone := range zones {
		for database, pool := range pools {
			t.Run(zone+"/"+database, func(t *testing.T) {
				local := time.Local
				defer func() { time.Local = local }()
				time.Local = zoneOf(t, zone)
				t.Setenv("PGTZ", zone)
				open := pool(t, zone)
				for _, promise := range slices.Sorted(maps.Keys(contract)) {
					each(t, promise, func(t *testing.T) { contract[promise](t, open) })
				}
				asked[zone+" on "+database] = cases.within(t)
			})
		}
	}
	if flag.Lookup("test.run").Value.String() != "" {
		return // not all were asked for
	}
	var first []string
	for _, where := range slices.Sorted(maps.Keys(asked)) {
		if t.Logf("%s: %d cases", where, len(asked[where])); len(asked[where]) < fewest {
			t.Errorf("%s: only %d cases, want at least %d", where, len(asked[where]), fewest)
		}
		if first == nil {
			first = asked[where]
		}
		if diff := cmp.Diff(first, asked[where]); diff != "" {
			t.Errorf("%s: other cases than elsewhere (-elsewhere +here):\n%s", where, diff)
		}
	}
}

func zoneOf(t *testing.T, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// each runs one case, and counts it.
func each(t *testing.T, name string, test func(*testing.T)) {
	t.Helper()
	t.Run(name, func(t *testing.T) {
		cases.note(t)
		test(t)
	})
}

// register knows the names of the tests that ran.
type register struct {
	mu    sync.Mutex
	names map[string]bool
}

var cases = register{names: make(map[string]bool)}

func (r *register) note(t *testing.T) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.names[t.Name()] = true
}

// within gives the tests of a test that have none of their own, in order.
func (r *register) within(t *testing.T) (leaves []string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	parents := make(map[string]bool)
	for name := range r.names {
		for i, c := range name {
			if c == '/' {
				parents[name[:i]] = true
			}
		}
	}
	for name := range r.names {
		if rest, mine := strings.CutPrefix(name, t.Name()+"/"); mine && !parents[name] {
			leaves = append(leaves, rest)
		}
	}
	slices.Sort(leaves)
	return leaves
}

// TestTheContractIsWhole: a promise that is written down is in the table.
func TestTheContractIsWhole(t *testing.T) {
	names, err := filepath.Glob("*_test.go")
	if err != nil {
		t.Fatal(err)
	}
	written := 0
	for _, name := range names {
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, decl := range file.Decls {
			if f, ok := decl.(*ast.FuncDecl); ok && strings.HasPrefix(f.Name.Name, "contract") {
				written++
			}
		}
	}
	if written != len(contract) {
		t.Errorf("%d promises are written down, and %d are in the table", written, len(contract))
	}
}
