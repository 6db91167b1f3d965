package cover_test

import (
	"slices"
	"testing"

	"antidotary/inventory/cover"
)

// products of the worked example E4 of this project's job description (common
// practice, no source): a polyvalent, a monovalent and a native product.
const (
	poly = iota
	mono
	native
)

// bites of E4.
const (
	mamba = iota
	cobra
	adder
	x
	rattlesnake
)

func e4(victims int) *cover.Scenario {
	bite := func(product, vials int) cover.Bite {
		return cover.Bite{Courses: []cover.Course{{Product: product, Vials: vials}}, Most: 2}
	}
	here := cover.Of(0)
	return &cover.Scenario{
		Victims: victims,
		Bites:   []cover.Bite{mamba: bite(poly, 20), cobra: bite(poly, 10), adder: bite(poly, 6), x: bite(mono, 2), rattlesnake: bite(native, 12)},
		Pools:   []cover.Pool{{Product: poly, Vials: 20, Reached: here}, {Product: mono, Vials: 2, Reached: here}, {Product: native, Vials: 12, Reached: here}},
	}
}

// TestE4 is the worked example E4: which pairs of victims are short, and by
// how many vials.
func TestE4(t *testing.T) {
	for _, c := range []struct {
		set  cover.Set
		want int
	}{
		{cover.Set{mamba, mamba}, 20},
		{cover.Set{mamba, cobra}, 10},
		{cover.Set{x, x}, 2},
		{cover.Set{rattlesnake, rattlesnake}, 12},
		{cover.Set{x, rattlesnake}, 0},
		{cover.Set{cobra, cobra}, 0},
	} {
		short, _ := e4(2).Short(c.set)
		if short.Vials != c.want || short.None() != (c.want == 0) {
			t.Errorf("%v is short of %+v, want %d vials", c.set, short, c.want)
		}
	}
	worst := e4(2).Worst()
	if !slices.Equal(worst.Set, cover.Set{mamba, mamba}) || worst.Shortage != (cover.Shortage{People: 1, Vials: 20}) {
		t.Errorf("the worst pair is %+v, want two mamba bites, 20 vials short", worst)
	}
	if one := e4(1).Worst(); len(one.Set) != 0 {
		t.Errorf("one victim alone is short: %+v", one)
	}
}

// TestE4SameAnimalTwice: where an animal bites only once, and there is one of
// each, the worst pair is another.
func TestE4SameAnimalTwice(t *testing.T) {
	s := e4(2)
	for i := range s.Bites {
		s.Bites[i].Most = 1
	}
	worst := s.Worst()
	if !slices.Equal(worst.Set, cover.Set{mamba, cobra}) || worst.Shortage.Vials != 10 {
		t.Errorf("the worst pair is %+v, want mamba and cobra, 10 vials short", worst)
	}
}

// TestE4Persons: where one person is in the house, one is bitten.
func TestE4Persons(t *testing.T) {
	s := e4(2)
	s.Persons = []int{1}
	if worst := s.Worst(); len(worst.Set) != 0 {
		t.Errorf("one person alone: %+v", worst)
	}
}

// TestE5 is the worked example E5: giving the polyvalent to the bite that
// another product would have treated leaves the second one without.
func TestE5(t *testing.T) {
	const p, q = 0, 1
	s := &cover.Scenario{
		Victims: 2,
		Bites: []cover.Bite{
			{Courses: []cover.Course{{Product: p, Vials: 10}, {Product: q, Vials: 10}}, Most: 1}, // A
			{Courses: []cover.Course{{Product: p, Vials: 10}}, Most: 1},                          // B
		},
		Pools: []cover.Pool{{Product: p, Vials: 10, Reached: cover.Of(0)}, {Product: q, Vials: 10, Reached: cover.Of(0)}},
	}
	if worst := s.Worst(); len(worst.Set) != 0 {
		t.Errorf("both can be treated: %+v", worst)
	}
	short, given := s.Short(cover.Set{0, 1})
	if !short.None() || !slices.Equal(given, []int{q, p}) {
		t.Errorf("given %v and short of %+v, want the second product to the first and the first to the second", given, short)
	}
}

// TestE4Clashes: who is in a smallest set that cannot be treated.
func TestE4Clashes(t *testing.T) {
	found := e4(2).Clashes()
	for bite, want := range []cover.Set{mamba: {mamba, mamba}, cobra: {mamba, cobra}, adder: {mamba, adder}, x: {x, x}, rattlesnake: {rattlesnake, rattlesnake}} {
		if !slices.Equal(found[bite].Set, want) {
			t.Errorf("bite %d clashes in %v, want %v", bite, found[bite].Set, want)
		}
	}
}

// TestMostlyOneVictim: one-victim planning needs of a shared product the
// largest course, not the sum: case ST-4 (University protocol introduction and
// 24-hour figure of the hospital stocking consensus, Ann Emerg Med 2018, R2:
// 18 vials, not 36).
func TestMostlyOneVictim(t *testing.T) {
	s := &cover.Scenario{Victims: 1, Bites: []cover.Bite{
		{Courses: []cover.Course{{Vials: 18}}, Most: 1}, // Crotalus atrox
		{Courses: []cover.Course{{Vials: 18}}, Most: 1}, // Agkistrodon piscivorus
	}, Pools: []cover.Pool{{Vials: 18, Reached: cover.Of(0)}}}
	if worst := s.Worst(); len(worst.Set) != 0 {
		t.Errorf("18 vials are enough for one victim: %+v", worst)
	}
	s.Victims = 2 // case ST-3: 36 vials
	if worst := s.Worst(); worst.Shortage.Vials != 18 {
		t.Errorf("two victims: %+v, want 18 vials short", worst)
	}
}

// TestSitesShareAPlace: a place between two sites helps either, not both.
func TestSitesShareAPlace(t *testing.T) {
	s := &cover.Scenario{Victims: 2, Bites: []cover.Bite{
		{Site: 0, Courses: []cover.Course{{Vials: 10}}, Most: 1},
		{Site: 1, Courses: []cover.Course{{Vials: 10}}, Most: 1},
	}, Pools: []cover.Pool{{Vials: 10, Reached: cover.Of(0, 1)}, {Vials: 4, Reached: cover.Of(1)}}}
	worst := s.Worst()
	if !slices.Equal(worst.Set, cover.Set{0, 1}) || worst.Shortage != (cover.Shortage{People: 1, Vials: 6}) {
		t.Errorf("%+v, want both sites, 6 vials short", worst)
	}
	s.Pools[1].Vials = 10
	if worst := s.Worst(); len(worst.Set) != 0 {
		t.Errorf("with ten of its own: %+v", worst)
	}
}

// TestCheckRefuses: what is no scenario is refused with a sentence.
func TestCheckRefuses(t *testing.T) {
	ok := e4(2)
	if err := ok.Check(); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func(*cover.Scenario){
		"no victims":     func(s *cover.Scenario) { s.Victims = 0 },
		"many victims":   func(s *cover.Scenario) { s.Victims = cover.MostVictims + 1 },
		"no course":      func(s *cover.Scenario) { s.Bites[0].Courses = nil },
		"no vials":       func(s *cover.Scenario) { s.Bites[0].Courses[0].Vials = 0 },
		"nobody bitten":  func(s *cover.Scenario) { s.Bites[0].Most = 0 },
		"site":           func(s *cover.Scenario) { s.Bites[0].Site = cover.MostSites },
		"negative stock": func(s *cover.Scenario) { s.Pools[0].Vials = -1 },
	} {
		s := e4(2)
		spoil(s)
		if s.Check() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
