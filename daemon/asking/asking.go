// Package asking gets answers: those that are given as flags, and the others
// from somebody who is asked. A question has one sentence, one explanation and
// one flag, so that asking and writing flags are the same; an answer is checked
// when it is given, and asked for again where it is none.
package asking

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"antidotary/notify/words"
)

// Question is one thing to ask. Its flag and its sentence mean the same.
type Question[T any] struct {
	Flag    string // "site"
	Ask     string // "Name of a site"
	Explain string
	Default string // taken where nothing is answered
	Needed  bool   // nothing is no answer
	// When says whether it is asked, as things stand; nil: always.
	When func(*T) bool
	// Set takes the answer in, or says what is allowed.
	Set func(*T, string) error
}

// ErrMissing: an answer is needed, and nobody can be asked.
var ErrMissing = errors.New("is needed")

// Ended: nobody answers any more, from this question on.
type Ended struct{ Flag, Ask string }

// Error says at which question the answers ended.
func (e *Ended) Error() string {
	return fmt.Sprintf("--%s: the answers ended at %q; nothing was made", e.Flag, e.Ask)
}

// From is where answers come from.
type From struct {
	Given map[string][]string // by flag; of what is asked several times one for each time
	In    *bufio.Reader       // nil: nobody can be asked
	Out   io.Writer
}

// One gets the answer to one question, for the n-th time that it is asked.
// copied makes a copy to try an answer on, so that a wrong one leaves nothing
// behind.
func One[T any](from From, a *T, q Question[T], n int, copied func(T) T) error {
	if q.When != nil && !q.When(a) {
		return nil
	}
	if given := from.Given[q.Flag]; len(given) > 0 {
		text := given[min(n, len(given)-1)] // one zone, one law for all sites
		if text = strings.TrimSpace(text); text == "" && q.Needed {
			return fmt.Errorf("--%s: %w", q.Flag, ErrMissing)
		}
		if err := q.Set(a, text); err != nil {
			return fmt.Errorf("--%s: %w", q.Flag, err)
		}
		return nil
	}
	if from.In == nil {
		if q.Needed && q.Default == "" {
			return fmt.Errorf("--%s %w: %s", q.Flag, ErrMissing, q.Ask)
		}
		return q.Set(a, q.Default)
	}
	return ask(from, a, q, copied)
}

// Another asks whether there is one more; nobody who can be asked says no.
func Another(from From, text string) bool {
	if from.In == nil {
		return false
	}
	fmt.Fprint(from.Out, "\n"+text+" [no] ")
	answer, err := from.In.ReadString('\n')
	answer = strings.ToLower(strings.TrimSpace(answer))
	return err == nil && (answer == "y" || answer == "yes")
}

// ask asks until the answer is one.
func ask[T any](from From, a *T, q Question[T], copied func(T) T) error {
	fmt.Fprintln(from.Out)
	if q.Explain != "" {
		fmt.Fprint(from.Out, words.Wrapped(q.Explain, 78))
	}
	for {
		fmt.Fprint(from.Out, q.Ask)
		if q.Default != "" {
			fmt.Fprintf(from.Out, " [%s]", q.Default)
		}
		fmt.Fprint(from.Out, " ")
		text, err := from.In.ReadString('\n')
		if text = strings.TrimSpace(text); text == "" && err != nil {
			return &Ended{q.Flag, q.Ask}
		}
		if text == "" {
			text = q.Default
		}
		switch {
		case text == "" && q.Needed:
			fmt.Fprintln(from.Out, "  An answer is needed.")
		default:
			kept := copied(*a)
			wrong := q.Set(&kept, text)
			if wrong == nil {
				*a = kept
				return nil
			}
			fmt.Fprintf(from.Out, "  %v\n", wrong)
		}
		if err != nil {
			return &Ended{q.Flag, q.Ask}
		}
	}
}
