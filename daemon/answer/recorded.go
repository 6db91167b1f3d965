package answer

import (
	"fmt"
	"io"
	"strings"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/notify"
	"antidotary/notify/words"
)

// Recorded answers what a deed did: where the journal has it, and what needs
// somebody otherwise than before.
type Recorded struct {
	Telling
	Format   int      `json:"format"`
	Words    string   `json:"words"` // "permit filed"
	Subjects []string `json:"subjects"`
	Entry    int64    `json:"entry"` // position in the journal; undo takes it
	By       string   `json:"by"`
	Remarks  []string `json:"remarks,omitempty"` // what the deed found, in sentences
	Settled  []Change `json:"settled"`           // needed somebody before, and does not now
	Arisen   []Change `json:"arisen"`            // needs somebody now, or otherwise than before
}

// Change is one duty that stands otherwise than before.
type Change struct {
	Name        string              `json:"name"`
	Requirement string              `json:"requirement"`
	Title       string              `json:"title"`
	Standing    compliance.Standing `json:"standing"`
	StateWords  string              `json:"state_words,omitempty"`
	ToDo        string              `json:"to_do,omitempty"`
}

// Compare fills in what a deed changed today, from the answers before and
// after it.
func (a *Recorded) Compare(before, after *compliance.Report) {
	was, is := needed(before), needed(after)
	a.Settled, a.Arisen = []Change{}, []Change{}
	for _, key := range was.order {
		if _, still := is.of[key]; !still {
			a.Settled = append(a.Settled, settled(before, after, was.of[key]))
		}
	}
	for _, key := range is.order {
		if old, known := was.of[key]; !known || old.Verdict != is.of[key].Verdict {
			a.Arisen = append(a.Arisen, arisen(after, is.of[key]))
		}
	}
}

func settled(before, after *compliance.Report, f compliance.Finding) Change {
	it := notify.Describe(before, f)
	c := Change{Name: it.Name, Requirement: it.Requirement, Title: it.Title}
	if j := after.Of(f.Key); j != nil {
		verdict, _ := j.At(after.View.Today(f.Site))
		c.Standing, c.StateWords = verdict.Standing, words.State(verdict.State)
	}
	return c
}

func arisen(after *compliance.Report, f compliance.Finding) Change {
	it := notify.Describe(after, f)
	c := Change{Name: it.Name, Requirement: it.Requirement, Title: it.Title, Standing: it.Standing, StateWords: it.StateWords}
	if it.Step != nil {
		c.ToDo = words.Capital(it.Step.Words) + ", " + it.Step.When(after.View.Today(f.Site)) + " (" + words.Role(it.Step.Owner) + ")"
	}
	return c
}

// WriteText prints the answer for a terminal.
func (a *Recorded) WriteText(w io.Writer) error {
	out := &printer{w: w}
	out.text(fmt.Sprintf("Recorded, by %s: %s: %s (entry %d of the journal).", a.By, a.Words, words.Few(a.Subjects, 4), a.Entry))
	for _, remark := range a.Remarks {
		out.text(remark)
	}
	out.changes("Settled by that:", a.Settled)
	switch lent := a.Words == deed.WordsLotLent; {
	case lent && len(a.Arisen) == 0:
		out.text("Lending them leaves nothing uncovered today that was covered before.")
	case lent:
		out.changes("Lending is not forbidden; this is what it leaves, which stood otherwise before:", a.Arisen)
	default:
		out.changes("Needs somebody now:", a.Arisen)
	}
	if len(a.Settled)+len(a.Arisen) == 0 {
		out.text("What needs somebody today is the same as before.")
	}
	out.text(fmt.Sprintf("If that was a mistake: antidotary undo %d --as WHO", a.Entry))
	if strings.HasPrefix(a.Words, "lot ") || a.Words == deed.WordsCountedAntivenom {
		out.text(words.Caution)
	}
	return out.err
}

// most changes are printed of either side: a species that leaves may settle a
// thousand.
const mostChanges = 12

func (p *printer) changes(title string, all []Change) {
	if len(all) == 0 {
		return
	}
	p.line(title)
	for _, c := range all[:min(len(all), mostChanges)] {
		text := c.Name + ": " + c.Title
		if c.StateWords != "" {
			text += ": " + c.StateWords
		}
		if c.Standing.Bad() {
			text = strings.ToUpper(words.Standing(c.Standing)) + " " + text
		}
		if c.ToDo != "" {
			text += ". " + c.ToDo
		}
		p.indented("%s", text)
	}
	if more := len(all) - mostChanges; more > 0 {
		p.indented("and %d more: antidotary check tells them all", more)
	}
}

// needing is what needs somebody, in the order of the report.
type needing struct {
	order []compliance.Key
	of    map[compliance.Key]compliance.Finding
}

func needed(r *compliance.Report) needing {
	out := needing{of: make(map[compliance.Key]compliance.Finding)}
	for _, j := range r.Judgements {
		if f, ok := r.Finding(j); ok {
			out.order = append(out.order, f.Key)
			out.of[f.Key] = f
		}
	}
	return out
}
