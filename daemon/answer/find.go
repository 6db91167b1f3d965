package answer

import (
	"fmt"
	"iter"
	"slices"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory"
)

// Find gives the subject that people call by a name: an accession number, a
// permit or lot number, a person, a site, "Naja kaouthia at Larkspur House",
// or kind:uuid. Upper and lower case do not matter. Where several are called
// so, the error names them.
func Find(r *compliance.Report, name string) (inventory.Ref, error) {
	var ref inventory.Ref
	if err := ref.UnmarshalText([]byte(name)); err == nil && !ref.IsZero() {
		return ref, nil
	}
	seen := make(map[inventory.Ref]bool)
	var exact, near []string
	var found inventory.Ref
	want := strings.ToLower(strings.TrimSpace(name))
	for ref := range subjects(r) {
		if seen[ref] {
			continue
		}
		seen[ref] = true
		full := r.View.NameOf(ref)
		short := full
		if rec := r.View.Lookup(ref); rec != nil && ref.Kind != inventory.KindHolding {
			short = rec.Name()
		}
		switch {
		case strings.ToLower(short) == want || strings.ToLower(full) == want:
			exact, found = append(exact, full+" ("+ref.String()+")"), ref
		case strings.Contains(strings.ToLower(full), want):
			near = append(near, full)
		}
	}
	switch {
	case len(exact) == 1:
		return found, nil
	case len(exact) > 1:
		slices.Sort(exact)
		return inventory.Ref{}, fmt.Errorf("%q is the name of several: %s; give kind:uuid", name, strings.Join(exact, "; "))
	case len(near) > 0:
		slices.Sort(near)
		return inventory.Ref{}, fmt.Errorf("nothing is called %q; near it: %s", name, strings.Join(near[:min(8, len(near))], "; "))
	default:
		return inventory.Ref{}, fmt.Errorf("nothing is called %q: give an accession, permit or lot number, a person, a site, or \"SPECIES at SITE\"", name)
	}
}

// subjects yields what duties are about, and what people ask about though no
// rule asks anything of it; some more than once.
func subjects(r *compliance.Report) iter.Seq[inventory.Ref] {
	return func(yield func(inventory.Ref) bool) {
		for _, j := range r.Judgements {
			if !yield(j.Key.Subject) {
				return
			}
		}
		_ = each(&r.View.Permits, yield) && each(&r.View.Lots, yield) && each(&r.View.Animals, yield) &&
			each(&r.View.People, yield) && each(&r.View.Sites, yield)
	}
}

// each yields a table's records, and says whether to go on.
func each[T inventory.Record](table *inventory.Table[T], yield func(inventory.Ref) bool) bool {
	for rec := range table.All() {
		if !yield((*rec).Ref()) {
			return false
		}
	}
	return true
}
