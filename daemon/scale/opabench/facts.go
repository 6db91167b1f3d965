package opabench

import (
	"errors"
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// object and list are values as JSON has them.
type (
	object = map[string]any
	list   = []any
)

// Data gives records as the data of Rego, by identifier, with indexes by what
// rules look for. Days are numbers, and what is unknown is left out. Records
// that hold what the Rego is not told of are an error: they would be compared
// in part.
func Data(s *compliance.Snapshot) (object, error) {
	f := &facts{Snapshot: s, out: object{}}
	if s.Planned.Len()+s.Decisions.Len()+s.NotWatched.Len() > 0 {
		f.refuse("plans, decisions or what is not watched yet")
	}
	f.sites()
	f.species()
	f.animals()
	f.people()
	f.permits()
	f.activities()
	f.feeds()
	return f.out, errors.Join(f.refused...)
}

type facts struct {
	*compliance.Snapshot
	out     object
	refused []error
}

func (f *facts) refuse(format string, args ...any) {
	f.refused = append(f.refused, fmt.Errorf("cannot compare: records hold "+format, args...))
}

// set puts a value under a path, making what is above it.
func (f *facts) set(value any, path ...string) {
	at := f.out
	for _, key := range path[:len(path)-1] {
		below, there := at[key].(object)
		if !there {
			below = object{}
			at[key] = below
		}
		at = below
	}
	at[path[len(path)-1]] = value
}

// add puts a value behind those in the list under a path.
func (f *facts) add(value any, path ...string) {
	var at any = f.out
	for _, key := range path {
		above, _ := at.(object)
		at = above[key]
	}
	before, _ := at.(list)
	f.set(append(before, value), path...)
}

// known puts a day into an object where it is known.
func known(o object, key string, d day.Day) {
	if !d.IsZero() {
		o[key] = int(d)
	}
}

func truth(o object, key string, is inventory.Tri) {
	if is != inventory.Unknown {
		o[key] = is == inventory.Yes
	}
}

func text(o object, key, value string) {
	if value != "" {
		o[key] = value
	}
}

func ids(all []inventory.ID) list {
	out := list{}
	for _, id := range all {
		out = append(out, id.String())
	}
	return out
}

func (f *facts) sites() {
	for s := range f.Sites.All() {
		if len(s.Jurisdiction) != 1 || !s.Jurisdiction[0].From.IsZero() {
			f.refuse("site %s, which did not always stand under one law", s.Title)
			continue
		}
		o := object{"path": s.Jurisdiction[0].Value}
		text(o, "use", string(s.Use))
		f.set(o, "sites", s.ID.String())
		f.set(object{}, "animals_at", s.ID.String())
	}
	for p := range f.Places.All() {
		f.set(object{"site": p.Site.String()}, "places", p.ID.String())
	}
}

func (f *facts) species() {
	for s := range f.Species.All() {
		if len(s.Synonyms) > 0 {
			f.refuse("synonyms of %s", s.Accepted)
		}
		native := list{}
		for _, area := range s.NativeTo {
			native = append(native, area)
		}
		o := object{"accepted": s.Accepted, "genus": s.Genus(), "native_to": native, "range_known": s.RangeKnown == inventory.Yes}
		text(o, "family", s.Family)
		truth(o, "venomous", s.Venomous)
		f.set(o, "species", s.ID.String())
	}
}

func (f *facts) animals() {
	for a := range f.Animals.All() {
		if a.Arrived.IsZero() || len(a.Stays) == 0 || a.Stays[0].From > a.Arrived || !a.Custodian.IsZero() {
			f.refuse("animal %s, of which it is not known since when it is where, or which somebody keeps", a.Accession)
			continue
		}
		own := object{}
		truth(own, "captive_bred", a.Origin.Bred)
		o := object{"species": a.Species.String(), "own": own, "arrived": int(a.Arrived)}
		if a.Left != nil {
			o["left"] = int(a.Left.On)
		}
		stays := list{}
		ever := map[inventory.ID]bool{}
		for _, s := range a.Stays {
			site := f.SiteOf(s.Enclosure)
			stays = append(stays, object{"site": site.String(), "from": int(s.From)})
			if !ever[site] {
				f.add(a.ID.String(), "animals_at", site.String(), a.Species.String())
			}
			ever[site] = true
		}
		o["stays"] = stays
		f.set(o, "animals", a.ID.String())
	}
}

func (f *facts) people() {
	for p := range f.People.All() {
		offices := list{}
		for _, held := range p.Offices {
			o := object{"role": string(held.Role), "from": int(held.From)}
			known(o, "last", held.Last)
			offices = append(offices, o)
		}
		o := object{"site": p.Site.String(), "joined": int(p.Joined), "offices": offices}
		known(o, "leaves", p.Leaves)
		f.set(o, "people", p.ID.String())
	}
}

func (f *facts) activities() {
	for a := range f.Activities.All() {
		o := object{"on": int(a.On), "passed": a.Passed.String()}
		switch last, is := a.Until.Known(); {
		case is:
			o["until"] = int(last)
		case a.Until.Kind == day.Never:
			o["until"] = 9_999_999 // later than any day
		}
		f.add(o, "activities", a.What, a.Subject.ID.String())
	}
}

func (f *facts) feeds() {
	for l := range f.Feeds.All() {
		at := "everywhere"
		if l.Site != (inventory.ID{}) {
			at = l.Site.String()
		}
		f.set(object{"complete": int(l.Complete), "until": int(l.FreshUntil())}, "feeds", string(l.Topic), at)
	}
}
