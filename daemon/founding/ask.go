package founding

import (
	"bufio"
	"io"

	"antidotary/daemon/asking"
)

// Asker gets answers: those that are given as flags, and the others from
// somebody who is asked.
type Asker struct {
	Given map[string][]string // by flag; of a site's flags one for each site
	In    *bufio.Reader       // nil: nobody can be asked
	Out   io.Writer
}

// ErrMissing: an answer is needed, and nobody can be asked.
var ErrMissing = asking.ErrMissing

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

func (k *Asker) from() asking.From { return asking.From{Given: k.Given, In: k.In, Out: k.Out} }

// another asks whether there is one more site.
func (k *Asker) another() bool { return asking.Another(k.from(), "Is there another site?") }

// one gets the answer to one question, for the n-th site where it is a site's.
func (k *Asker) one(a *Answers, q Question, n int) error {
	return asking.One(k.from(), a, q, n, func(a Answers) Answers {
		a.Sites = append([]Site(nil), a.Sites...)
		return a
	})
}
