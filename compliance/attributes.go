package compliance

import (
	"slices"
	"sync"

	"antidotary/compliance/scope"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

var (
	siteVars = []scope.Var{
		{Name: "jurisdiction", Type: scope.String, Doc: "path of the law that the site stands under, such as us/fl"},
		{Name: "site_use", Type: scope.String, Doc: "zoo, private, research or trade"},
	}
	speciesVars = []scope.Var{
		{Name: "species", Type: scope.String, Doc: "accepted scientific name"},
		{Name: "genus", Type: scope.String, Doc: "genus of the accepted name"},
		{Name: "family", Type: scope.String, Doc: "biological family"},
		{Name: "venomous", Type: scope.Bool, Doc: "whether the species is venomous"},
		{Name: "native", Type: scope.Bool, Doc: "whether the species is native where the site is"},
	}
)

// attributesOf lists what a scope may ask of each kind of subject.
var attributesOf = map[inventory.Kind][]scope.Var{
	inventory.KindOrganisation: {{Name: "mailed", Type: scope.Bool, Doc: "whether the house sends mail"}},
	inventory.KindSite:         siteVars,
	inventory.KindPlace:        siteVars,
	inventory.KindPermit:       siteVars, // of the first place that the paper names
	inventory.KindLot:          siteVars, // of the place to which it came first
	inventory.KindHolding:      slices.Concat(siteVars, speciesVars),
	inventory.KindAnimal: slices.Concat(siteVars, speciesVars, []scope.Var{
		{Name: "captive_bred", Type: scope.Bool, Doc: "whether the animal was bred in captivity"},
	}),
	inventory.KindPerson: slices.Concat(siteVars, []scope.Var{
		{Name: "roles", Type: scope.StringList, Doc: "roles that the person holds on the day"},
	}),
	inventory.KindFeed: slices.Concat(siteVars, []scope.Var{
		{Name: "topic", Type: scope.String, Doc: "animals, people, papers, stock or activities"},
	}),
}

var scopeEnvs = sync.OnceValue(func() map[inventory.Kind]*scope.Env {
	envs := make(map[inventory.Kind]*scope.Env)
	for kind, vars := range attributesOf {
		env, err := scope.NewEnv(vars...)
		if err != nil {
			panic(err) // the lists above are wrong
		}
		envs[kind] = env
	}
	return envs
})

// ScopeVars lists what a scope may ask of a kind of subject.
func ScopeVars(subject inventory.Kind) []scope.Var { return attributesOf[subject] }

// attributes answers a scope's questions about one subject at one site under
// one law. What is not recorded is not known.
type attributes struct {
	path    string // jurisdiction
	site    *inventory.Site
	house   *inventory.Organisation
	species *inventory.Species
	animal  *inventory.Animal
	person  *Person
	feed    *Feed
	on      day.Day // for what is dated and changes within one binding: roles
}

// Attribute implements scope.Attributes.
func (a *attributes) Attribute(name string) (any, bool) {
	switch name {
	case "jurisdiction":
		return a.path, a.path != ""
	case "site_use":
		return string(a.site.Use), a.site.Use != ""
	case "mailed":
		return a.house.Mailed, true
	case "species":
		return a.species.Accepted, true
	case "genus":
		return a.species.Genus(), true
	case "family":
		return a.species.Family, a.species.Family != ""
	case "venomous":
		return a.species.Venomous == inventory.Yes, a.species.Venomous != inventory.Unknown
	case "native":
		native := a.species.NativeIn(a.path)
		return native == inventory.Yes, native != inventory.Unknown
	case "captive_bred":
		return a.animal.Origin.Bred == inventory.Yes, a.animal.Origin.Bred != inventory.Unknown
	case "roles":
		return a.person.rolesOn(a.on), true
	case "topic":
		return string(a.feed.Topic), true
	}
	return nil, false
}

func (p *Person) rolesOn(d day.Day) []string {
	var roles []string
	for _, o := range p.Offices {
		if o.Holds(d) && !slices.Contains(roles, string(o.Role)) {
			roles = append(roles, string(o.Role))
		}
	}
	return roles
}

// roleDays gives on each day the first day since which the person's roles are
// as they are then.
func (p *Person) roleDays() day.Line[day.Day] {
	var days []day.Day
	for _, o := range p.Offices {
		days = append(days, o.From)
		if !o.Last.IsZero() {
			days = append(days, o.Last+1)
		}
	}
	b := day.NewBuilder(day.First - 1)
	for _, on := range sorted(days) {
		b.Add(on, on)
	}
	return b.Line()
}
