package store

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"testing"
)

// opener makes a new, empty database and opens it.
type opener func(t *testing.T) *Store

// databases are those that the contract holds for.
var databases = map[string]opener{
	"sqlite":   func(t *testing.T) *Store { return reopened(t, fresh["sqlite"](t)) },
	"postgres": func(t *testing.T) *Store { return reopened(t, fresh["postgres"](t)) },
}

// contract is what a store promises whatever database it is on: it is asked
// through the store's own calls alone.
var contract = map[string]func(*testing.T, opener){
	"a lease that ran out begins nothing": contractALeaseThatRanOutBeginsNothing,
	"only an outcome ends an attempt":     contractOnlyAnOutcomeEndsAnAttempt,
	"silence may wait longer":             contractSilenceMayWaitLonger,
	"a claim gives each mail to one":      contractAClaimGivesEachMailToOne,
	"a mail is claimed once":              contractAMailIsClaimedOnce,
	"a lost claim":                        contractALostClaim,
	"one digest for a person and day":     contractOneDigestForAPersonAndDay,
	"when a mail is due":                  contractWhenAMailIsDue,
	"oldest first":                        contractOldestFirst,
	"who may record":                      contractWhoMayRecord,
	"one mail for kind person and day":    contractOneMailForKindPersonAndDay,
	"digests of these days":               contractDigestsOfTheseDays,
	"a hold keeps every mail back":        contractAHoldKeepsEveryMailBack,
	"dropped mails never go out":          contractDroppedMailsNeverGoOut,
	"who releases":                        contractWhoReleases,
	"findings come back":                  contractFindingsComeBack,
	"the pulse":                           contractThePulse,
	"trap nanoseconds":                    contractTrapNanoseconds,
}

// TestContract holds every promise on every database.
func TestContract(t *testing.T) {
	for database, open := range databases {
		for promise, holds := range contract {
			t.Run(database+"/"+promise, func(t *testing.T) { holds(t, open) })
		}
	}
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
