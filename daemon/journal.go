package daemon

import (
	"encoding/hex"
	"fmt"
	"io"

	"antidotary/daemon/answer"
	"antidotary/daemon/store"
)

// JournalAnswer says whether the journal holds.
type JournalAnswer struct {
	Format int `json:"format"`
	answer.Telling
	Holds    bool   `json:"holds"`
	Entries  int64  `json:"entries"`
	Erased   int64  `json:"erased"` // entries whose payload was erased; the chain still holds over them
	Position int64  `json:"position"`
	Head     string `json:"head"` // hexadecimal
	Problem  string `json:"problem,omitempty"`
}

func newJournalAnswer(r store.VerifyReport) *JournalAnswer {
	return &JournalAnswer{Format: answer.Format, Holds: r.Problem == "", Entries: r.Entries, Erased: r.Erased,
		Position: r.Head.Position, Head: hex.EncodeToString(r.Head.Chain[:]), Problem: r.Problem}
}

// WriteText prints the answer for a terminal.
func (j *JournalAnswer) WriteText(w io.Writer) error {
	text := fmt.Sprintf("The journal holds: %d entries (%d of them erased).\nHead: %d %s\nKeep this line elsewhere: a tail that was cut off shows only against it.\n",
		j.Entries, j.Erased, j.Position, j.Head)
	if !j.Holds {
		text = "THE JOURNAL DOES NOT HOLD: " + j.Problem + "\n"
	}
	_, err := io.WriteString(w, text)
	return err
}
