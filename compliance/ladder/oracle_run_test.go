package ladder

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// cleanRun counts the newest clean repetitions back to the last that was not
// clean, day by day backwards. What went wrong counts in whatever session.
func (o *oracle) cleanRun(s *state, f *Filter, about *Species) (run int) {
	counts := o.matching(s, f, about)
	for d := s.on; d >= o.begin; d-- {
		var good, bad []*Session
		for _, x := range o.Sessions {
			if x.Trainee != s.person.ID || x.On != d || o.kindOf(x.Species) == nil {
				continue
			}
			spoilt := count(x.Results, 'c') < len(x.Results) || x.Unsafe == inventory.Yes
			if spoilt && o.adverse(o.fits(f, x, about)) {
				bad = append(bad, x)
			} else if slices.Contains(counts, x) {
				good = append(good, x)
			}
		}
		if len(bad) > 0 {
			return run + o.cleanAfter(good, bad, counts)
		}
		for _, x := range good {
			run += count(x.Results, 'c')
		}
	}
	return run
}

// cleanAfter gives the clean repetitions after the last of a day that was not
// clean. Where the order is not known, every order is tried.
func (o *oracle) cleanAfter(good, bad, counts []*Session) int {
	best, worst := 0, 1<<30
	for _, last := range bad {
		if !last.Begun.IsZero() && slices.ContainsFunc(bad, func(y *Session) bool { return begunAfter(y, last) }) {
			continue // another one surely came later
		}
		least := 0
		if slices.Contains(counts, last) && last.Unsafe != inventory.Yes {
			for i := len(last.Results) - 1; i >= 0 && last.Results[i] == 'c'; i-- {
				least++
			}
		}
		most := least
		for _, x := range good {
			after := begunAfter(x, last)
			if after {
				least += count(x.Results, 'c')
			}
			surelyBefore := slices.ContainsFunc(bad, func(y *Session) bool { return begunAfter(y, x) })
			if after || !surelyBefore && (x.Begun.IsZero() || last.Begun.IsZero()) {
				most += count(x.Results, 'c')
			}
		}
		best, worst = max(best, most), min(worst, least)
	}
	if o.world == Best {
		return best
	}
	return worst
}

// begunAfter says that a session surely began after another.
func begunAfter(x, y *Session) bool {
	if x.Begun.IsZero() || y.Begun.IsZero() {
		return false
	}
	return x.Begun.After(y.Begun) || x.Begun.Equal(y.Begun) && slices.Compare(x.ID[:], y.ID[:]) > 0
}

// credits gives the work of elsewhere that counts for a filter, once enough
// clean repetitions under a mentor of this house followed. A credit says
// nothing of tasks, of stages, or of when in its time the work was done.
func (o *oracle) credits(s *state, f *Filter, about *Species) (all []*Credit) {
	for _, c := range o.Credits {
		if c.Person != s.person.ID || c.On > s.on || len(c.Signers) == 0 || min(c.Percent, o.Ladder.Credit.Percent) == 0 {
			continue
		}
		clean := 0
		for _, x := range o.counted(s) {
			if o.status(x) == Counts && x.On >= c.On {
				clean += count(x.Results, 'c')
			}
		}
		if clean >= o.Ladder.Credit.Probation && o.benefit(o.credited(f, c, about, s.on)) {
			all = append(all, c)
		}
	}
	return all
}

func (o *oracle) credited(f *Filter, c *Credit, about *Species, d day.Day) inventory.Tri {
	name, genus, family := o.taxon(c.Taxon)
	fits := kindred(f, name, genus, family, about)
	if fits == inventory.No && name == "" {
		switch near := about != nil && (genus == "" && family == about.Family || genus != "" && genus == about.Genus); {
		case f.Like == SameSpecies && near, f.Like == SameGenus && near, f.Like == AnyKind && len(f.Names) > 0:
			fits = inventory.Unknown // part of what it names may fit
		}
	}
	if f.Harmless || f.Venomous || f.StageFrom > 0 || f.StageTo > 0 || f.TaskFrom > 0 || f.TaskTo > 0 {
		fits = worseOf(fits, inventory.Unknown)
	}
	switch {
	case within(f.Within, c.First, d):
	case within(f.Within, c.Last, d):
		fits = worseOf(fits, inventory.Unknown)
	default:
		fits = inventory.No
	}
	return fits
}

// taxon reads a species, a genus or a family, as far as kinds are recorded.
func (o *oracle) taxon(of string) (name, genus, family string) {
	for _, sp := range o.Species {
		switch of {
		case sp.Name:
			return sp.Name, sp.Genus, sp.Family
		case sp.Genus:
			return "", sp.Genus, sp.Family
		}
	}
	return "", "", of
}
