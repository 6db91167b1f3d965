package daemon

import (
	"context"
	"fmt"
	"io"
	"time"

	"antidotary/daemon/answer"
	"antidotary/notify/words"
)

// Entries answers what was recorded last: the newest first, at most so many.
func Entries(ctx context.Context, opt Options, most int) (*EntriesAnswer, error) {
	opt.settle()
	st, err := opt.asked(ctx)
	if err != nil {
		return nil, err
	}
	defer st.Close()
	entries, err := st.Entries(ctx, most)
	if err != nil {
		return nil, err
	}
	records, _, err := st.Snapshot(ctx)
	if err != nil {
		return nil, fmt.Errorf("read the records: %w", err)
	}
	out := &EntriesAnswer{Format: answer.Format, Entries: []EntryWords{}}
	out.NobodyTold = records.Organisations.Len() > 0 && !records.House().Mailed
	for _, e := range entries {
		w := EntryWords{Entry: e.First, At: e.At, By: e.Actor, Words: e.Words, About: []string{}}
		for _, ref := range e.Subjects {
			w.About = append(w.About, records.NameOf(ref))
		}
		out.Entries = append(out.Entries, w)
	}
	return out, nil
}

// EntriesAnswer is what was recorded last.
type EntriesAnswer struct {
	answer.Telling
	Format  int          `json:"format"`
	Entries []EntryWords `json:"entries"`
}

// EntryWords is one entry of the journal, or one deed of several.
type EntryWords struct {
	Entry int64     `json:"entry"` // its first position
	At    time.Time `json:"at"`
	By    string    `json:"by"` // empty: erased
	Words string    `json:"words"`
	About []string  `json:"about"`
}

// WriteText prints the answer for a terminal.
func (a *EntriesAnswer) WriteText(w io.Writer) error {
	if len(a.Entries) == 0 {
		_, err := io.WriteString(w, "Nothing is recorded yet.\n")
		return err
	}
	for _, e := range a.Entries {
		by := e.By
		if by == "" {
			by = "(erased)"
		}
		text := e.Words + ", " + words.Few(e.About, 4)
		if _, err := fmt.Fprintf(w, "%6d  %s UTC  %s: %s\n", e.Entry, e.At.UTC().Format("2006-01-02 15:04"), by, text); err != nil {
			return err
		}
	}
	return nil
}
