package founding

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"antidotary/notify/words"
)

// Asker gets answers: those that are given as flags, and the others from
// somebody who is asked.
type Asker struct {
	Given map[string][]string // by flag; of a site's flags one for each site
	In    *bufio.Reader       // nil: nobody can be asked
	Out   io.Writer
}

// ErrMissing: an answer is needed, and nobody can be asked.
var ErrMissing = errors.New("is needed")

// Answer goes through all questions.
func (k *Asker) Answer(laws []Law, zone string) (*Answers, error) {
	a := &Answers{}
	house, site, rest := Questions(laws, zone)
	for _, q := range house {
		if err := k.one(a, q, 0); err != nil {
			return nil, err
		}
	}
	for n := 0; n == 0 || n < len(k.Given["site"]) || len(k.Given["site"]) == 0 && k.another(); n++ {
		for _, q := range site {
			if err := k.one(a, q, n); err != nil {
				return nil, err
			}
		}
	}
	for _, q := range rest {
		if err := k.one(a, q, 0); err != nil {
			return nil, err
		}
	}
	return a, nil
}

// another asks whether there is one more site.
func (k *Asker) another() bool {
	if k.In == nil {
		return false
	}
	fmt.Fprint(k.Out, "Is there another site? [no] ")
	text, err := k.In.ReadString('\n')
	text = strings.ToLower(strings.TrimSpace(text))
	return err == nil && (text == "y" || text == "yes")
}

// one gets the answer to one question, for the n-th site where it is a site's.
func (k *Asker) one(a *Answers, q Question, n int) error {
	if q.When != nil && !q.When(a) {
		return nil
	}
	if given := k.Given[q.Flag]; len(given) > 0 {
		text := given[min(n, len(given)-1)] // one zone, one law for all sites
		if text = strings.TrimSpace(text); text == "" && q.Needed {
			return fmt.Errorf("--%s: %w", q.Flag, ErrMissing)
		}
		if err := q.Set(a, text); err != nil {
			return fmt.Errorf("--%s: %w", q.Flag, err)
		}
		return nil
	}
	if k.In == nil {
		if q.Needed && q.Default == "" {
			return fmt.Errorf("--%s %w: %s", q.Flag, ErrMissing, q.Ask)
		}
		return q.Set(a, q.Default)
	}
	return k.ask(a, q)
}

// ask asks until the answer is one.
func (k *Asker) ask(a *Answers, q Question) error {
	fmt.Fprintln(k.Out)
	if q.Explain != "" {
		fmt.Fprint(k.Out, words.Wrapped(q.Explain, 78))
	}
	for {
		fmt.Fprint(k.Out, q.Ask)
		if q.Default != "" {
			fmt.Fprintf(k.Out, " [%s]", q.Default)
		}
		fmt.Fprint(k.Out, " ")
		text, err := k.In.ReadString('\n')
		if text = strings.TrimSpace(text); text == "" && err != nil {
			return fmt.Errorf("--%s: the answers ended at %q; nothing was made", q.Flag, q.Ask)
		}
		if text == "" {
			text = q.Default
		}
		switch {
		case text == "" && q.Needed:
			fmt.Fprintln(k.Out, "  An answer is needed.")
		default:
			kept := *a
			kept.Sites = append([]Site(nil), a.Sites...)
			wrong := q.Set(&kept, text)
			if wrong == nil {
				*a = kept
				return nil
			}
			fmt.Fprintf(k.Out, "  %v\n", wrong)
		}
		if err != nil {
			return fmt.Errorf("--%s: the answers ended at %q; nothing was made", q.Flag, q.Ask)
		}
	}
}
