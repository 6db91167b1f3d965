package ladder

import (
	"slices"
	"strconv"
	"strings"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Of is what a count counts.
type Of string

// What may be counted of sessions and credits.
const (
	Hours       Of = "hours"       // of each day at most the ladder's cap
	Repetitions Of = "repetitions" // of any result
	CleanOnes   Of = "clean"       // clean repetitions
	CleanRun    Of = "clean-run"   // the newest repetitions without one that was not clean
	Days        Of = "days"        // different days
	Sessions    Of = "sessions"
	Individuals Of = "individuals" // different animals
	Kinds       Of = "species"     // different species
	Mentors     Of = "mentors"     // different mentors
	SpanOf      Of = "span"        // time since the first of them
)

// Measures lists what may be counted.
var Measures = []Of{Hours, Repetitions, CleanOnes, CleanRun, Days, Sessions, Individuals, Kinds, Mentors, SpanOf}

// Count asks for so much of something over the sessions that a filter takes.
type Count struct {
	Of      Of
	AtLeast int
	Over    day.Span // of SpanOf: how long
	Filter  Filter
}

// Like says how near a species must be to the one that is asked about.
type Like string

// How near.
const (
	AnyKind     Like = ""
	SameSpecies Like = "species"
	SameGenus   Like = "genus"
	SameFamily  Like = "family"
)

// Filter says which sessions count.
type Filter struct {
	Like             Like
	Names            []string // species, genera or families; empty: any
	Harmless         bool     // only harmless animals
	Venomous         bool     // only venomous ones
	StageFrom        int      // of the animals' place
	StageTo          int      // 0: any
	TaskFrom, TaskTo Level    // TaskTo 0: any
	Alone            bool     // sessions that nobody watched count as well, where the person may open
	Within           day.Span // zero: ever
}

// takes says whether the filter takes sessions of a species at a level and
// place.
func (f *Filter) takes(sp *Species, at Place, level Level, target *Species) inventory.Tri {
	if level < f.TaskFrom || f.TaskTo > 0 && level > f.TaskTo {
		return inventory.No
	}
	answer := inventory.Yes
	if f.Harmless {
		answer = answer.And(sp.Harmless)
	}
	if f.Venomous {
		answer = answer.And(sp.Harmless.Not())
	}
	if f.StageFrom > 0 {
		answer = answer.And(reaches(at, f.StageFrom))
	}
	if f.StageTo > 0 {
		answer = answer.And(reaches(at, f.StageTo+1).Not())
	}
	return answer.And(f.named(sp.Name, sp.Genus, sp.Family, target))
}

// reaches says whether a place is on a stage or above it.
func reaches(at Place, stage int) inventory.Tri {
	switch {
	case at.Least >= stage:
		return inventory.Yes
	case at.Most < stage:
		return inventory.No
	}
	return inventory.Unknown
}

func (f *Filter) named(name, genus, family string, target *Species) inventory.Tri {
	answer := inventory.Yes
	if len(f.Names) > 0 {
		answer = anyName(f.Names, name, genus, family)
	}
	switch {
	case f.Like == AnyKind:
		return answer
	case target == nil:
		return inventory.Unknown
	case f.Like == SameSpecies:
		return answer.And(inventory.Bool(name == target.Name))
	case f.Like == SameGenus:
		return answer.And(inventory.Bool(genus == target.Genus))
	case family == "" || target.Family == "":
		return answer.And(inventory.Unknown)
	}
	return answer.And(inventory.Bool(family == target.Family))
}

func anyName(names []string, name, genus, family string) inventory.Tri {
	if slices.Contains(names, name) || slices.Contains(names, genus) || family != "" && slices.Contains(names, family) {
		return inventory.Yes
	}
	if family == "" {
		return inventory.Unknown
	}
	return inventory.No
}

// Met implements Condition.
func (c *Count) Met(a *Asked) bool {
	if c.Of == SpanOf {
		first := a.first(&c.Filter)
		return !first.IsZero() && c.Over.AddTo(first) <= a.Day
	}
	return a.count(c) >= c.AtLeast
}

// Gaps implements Condition.
func (c *Count) Gaps(a *Asked, gaps []Gap) []Gap {
	g := Gap{What: string(c.Of), Of: c.Filter.String(), Need: c.AtLeast, Unit: string(c.Of), Met: c.Met(a)}
	if c.Of == SpanOf {
		g.Unit, g.Need = "days", days(c.Over, a.Day)
		if first := a.first(&c.Filter); !first.IsZero() {
			g.Have, g.On = a.Day.Sub(first), c.Over.AddTo(first)
		}
		return append(gaps, g)
	}
	g.Have = a.count(c)
	return append(gaps, g)
}

// String says what the filter takes, in few words.
func (f *Filter) String() string {
	var words []string
	add := func(yes bool, text string) {
		if yes {
			words = append(words, text)
		}
	}
	add(f.Harmless, "harmless")
	add(f.Venomous, "venomous")
	add(f.Like != AnyKind, "same "+string(f.Like))
	add(len(f.Names) > 0, strings.Join(f.Names, ", "))
	switch {
	case f.StageFrom > 0 && f.StageTo == f.StageFrom:
		words = append(words, "stage "+itoa(f.StageFrom))
	case f.StageFrom > 0 && f.StageTo > 0:
		words = append(words, "stages "+itoa(f.StageFrom)+" to "+itoa(f.StageTo))
	case f.StageFrom > 0:
		words = append(words, "stage "+itoa(f.StageFrom)+" or above")
	case f.StageTo > 0:
		words = append(words, "up to stage "+itoa(f.StageTo))
	}
	switch {
	case f.TaskFrom > 0 && f.TaskTo == f.TaskFrom:
		words = append(words, "task "+f.TaskFrom.String())
	case f.TaskFrom > 0:
		words = append(words, "task "+f.TaskFrom.String()+" or above")
	}
	add(!f.Within.IsZero(), "within "+f.Within.String())
	return strings.Join(words, "; ")
}

func itoa(n int) string { return strconv.Itoa(n) }

func join(words []string) string { return strings.Join(words, ", ") }

// days gives the length of a span that ends on a day, for people to compare.
func days(s day.Span, end day.Day) int { return end.Sub(s.SubtractFrom(end)) }

// AsksSame says whether a condition is about the same species, genus or family
// as another.
func AsksSame(c Condition) bool {
	switch c := c.(type) {
	case All:
		return anyAsksSame(c)
	case Any:
		return anyAsksSame(c)
	case *Count:
		return c.Filter.Like != AnyKind
	}
	return false
}

func anyAsksSame(parts []Condition) bool { return slices.ContainsFunc(parts, AsksSame) }
