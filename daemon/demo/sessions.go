package demo

import (
	"fmt"
	"time"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// taught is a run of sessions of a trainee under a mentor, every so many days.
type taught struct {
	trainee, mentor, species string
	task                     ladder.Level
	first, last, every       int // days from today
	prefix                   string
	animals                  []int // accession numbers, in turn
	results                  []string
}

// Each is signed on its day; exceptions are below.
var lessons = []taught{
	{bram, juno, "Agkistrodon piscivorus", ladder.Hook, -148, -88, 4, "LH", []int{8, 9, 10}, []string{"cc", "cpc", "cc"}},
	{bram, juno, "Crotalus atrox", ladder.Hook, -76, -46, 5, "LH", []int{1, 2}, []string{"cc", "cc", "pc"}},
	{bram, juno, "Calloselasma rhodostoma", ladder.Hook, -38, -9, 4, "LH", []int{31, 32, 33}, []string{"cp", "cc", "ccc"}},
	{rook, tansy, "Vipera berus", ladder.Look, -50, -8, 7, "WC", []int{1, 2, 3}, []string{""}},
}

// lone are sessions of people who may open, with no mentor watching: they keep
// them current.
var lone = []struct {
	name, species string
	days          []int
}{
	{sable, "Dendroaspis polylepis", []int{-104, -26}},
	{sable, "Thelotornis capensis", []int{-93, -12}},
	{sable, "Atractaspis bibronii", []int{-31}},
	{marlow, "Dendroaspis polylepis", []int{-101, -41}},
	{marlow, "Thelotornis capensis", []int{-20}},
	{marlow, "Atractaspis bibronii", []int{-32}},
	{juno, "Dendroaspis polylepis", []int{-112, -15}},
	{juno, "Thelotornis capensis", []int{-58, -29}},
	{tansy, "Naja naja", []int{-97, -37, -10}},
	{caspar, "Daboia russelii", []int{-95, -17}},
}

// begins is at what hour in UTC sessions begin at each site: by day there.
var begins = map[string]int{larkspur: 15, wren: 10, tamarind: 20, thornbury: 10}

func (b *builder) sessions() {
	for _, l := range lessons {
		n := 0
		for days := l.first; days <= l.last; days += l.every {
			s := b.session(l.trainee, siteOf(l.prefix), l.species, l.task, days, l.results[n%len(l.results)])
			s.Mentor, s.Watched, s.Signed = personID(l.mentor), inventory.Yes, s.Ended.Add(2*time.Hour)
			s.Animals = []inventory.ID{animalID(l.prefix, l.animals[n%len(l.animals)])}
			put(b, s)
			n++
		}
	}
	b.oddSessions()
	for _, l := range lone {
		for _, days := range l.days {
			put(b, b.alone(l.name, homeOf(l.name), l.species, days))
		}
	}
}

// oddSessions are those that do not count, or not yet: one waits for its
// signature, one was signed after twenty days, and two were at the same time.
func (b *builder) oddSessions() {
	odd := func(days, minutes int, animal int) ladder.Session {
		s := b.session(bram, larkspur, "Crotalus atrox", ladder.Hook, days, "cc")
		s.Begun, s.Ended = s.Begun.Add(time.Duration(minutes)*time.Minute), s.Ended.Add(time.Duration(minutes)*time.Minute)
		s.ID = id(inventory.KindSession, fmt.Sprint("odd ", days, minutes))
		s.Mentor, s.Watched, s.Animals = personID(juno), inventory.Yes, []inventory.ID{animalID("LH", animal)}
		return s
	}
	put(b, odd(-5, 0, 3))
	late := odd(-40, 0, 3)
	late.Signed = late.Ended.Add(20 * 24 * time.Hour)
	put(b, late)
	for _, minutes := range []int{0, 20} { // each lasts for three quarters of an hour
		s := odd(-24, minutes, 3)
		s.Signed = s.Ended.Add(3 * time.Hour)
		put(b, s)
	}
}

// session begins a session of three quarters of an hour; the rest is set by
// whoever calls.
func (b *builder) session(trainee, site, species string, task ladder.Level, days int, results string) ladder.Session {
	begun := day.StartOf(b.in(days), time.UTC).Add(time.Duration(begins[site]) * time.Hour)
	return ladder.Session{ID: id(inventory.KindSession, fmt.Sprint(trainee, " ", species, " ", days)), Trainee: personID(trainee), Site: siteID(site),
		Species: speciesID(species), Level: task, Results: results, On: b.in(days), Begun: begun, Ended: begun.Add(45 * time.Minute), Unsafe: inventory.No}
}

// alone is a session of somebody who may open, watched by no mentor: in the
// afternoon, when lessons are over.
func (b *builder) alone(name, site, species string, days int) ladder.Session {
	s := b.session(name, site, species, ladder.Hook, days, "c")
	s.Begun, s.Ended = s.Begun.Add(3*time.Hour), s.Ended.Add(3*time.Hour)
	s.Watched = inventory.No
	return s
}

func siteOf(prefix string) string {
	if prefix == "WC" {
		return wren
	}
	return larkspur
}

func animalID(prefix string, number int) inventory.ID {
	return id(inventory.KindAnimal, fmt.Sprintf("%s-%03d", prefix, number))
}
