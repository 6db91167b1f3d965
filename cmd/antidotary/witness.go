package main

import (
	"fmt"

	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
)

// witnessing is what is said of who did a deed that needs a witness.
type witnessing struct{ by, witness, unwitnessed string }

func (w *witnessing) flags(f *pflag.FlagSet, did string) {
	f.StringVar(&w.by, "by", "", "who "+did+" (default: whoever records it)")
	f.StringVar(&w.witness, "witness", "", "who watched: somebody else")
	f.StringVar(&w.unwitnessed, "unwitnessed", "", "why nobody watched; it is kept")
}

func (w *witnessing) read(h *heard) (out deed.Watched, err error) {
	if out.By, err = h.by(w.by); err != nil {
		return out, fmt.Errorf("--by: %w", err)
	}
	if w.witness != "" {
		p, err := h.Person(w.witness)
		if err != nil {
			return out, fmt.Errorf("--witness: %w", err)
		}
		out.Witness = p.ID
	}
	out.Unwitnessed = w.unwitnessed
	return out, nil
}
