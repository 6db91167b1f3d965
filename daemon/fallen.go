package daemon

import (
	"fmt"
	"slices"
	"strings"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/notify/words"
)

// fallenError is a change that takes back grants of long ago, and was not
// recorded: whoever makes it sees first whose sign-offs fall.
type fallenError struct{ lines []string }

func (e *fallenError) Error() string {
	return fmt.Sprintf("nothing was recorded: by this correction %s would no longer hold:\n  %s\nTo record it all the same: --let-fall",
		words.Count(len(e.lines), "grant"), strings.Join(e.lines, "\n  "))
}

// wouldFall tries a change and says what falls by it; nil: nothing does, or
// the change moves nobody on a ladder.
func wouldFall(book *compliance.Rulebook, was *compliance.Snapshot, change compliance.Change, ask compliance.Ask) (*fallenError, error) {
	if !slices.ContainsFunc(change.Touches(), compliance.MovesLadder) || was.Authorisations.Len() == 0 {
		return nil, nil
	}
	tried, err := change.Apply(was)
	if err != nil {
		return nil, err
	}
	fallen := compliance.Fallen(compliance.NewView(book, was, ask), compliance.NewView(book, tried, ask))
	if len(fallen) == 0 {
		return nil, nil
	}
	out := &fallenError{}
	for _, act := range fallen {
		out.lines = append(out.lines, fellWords(was, act))
	}
	return out, nil
}

func fellWords(s *compliance.Snapshot, a ladder.MadeAct) string {
	text := s.NameOf(inventory.Ref{Kind: inventory.KindPerson, ID: a.Person}) + ": " + a.Name()
	if a.Species != (inventory.ID{}) {
		text += ", " + s.NameOf(inventory.Ref{Kind: inventory.KindSpecies, ID: a.Species})
	}
	if a.Worst != ladder.NotAsked {
		text += ": " + words.Granted(a.Worst)
	}
	return text
}
