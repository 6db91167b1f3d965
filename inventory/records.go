package inventory

// Records are the tables of this package. Like each table they are immutable
// once taken.
type Records struct {
	Organisations Table[Organisation]
	Sites         Table[Site]
	Enclosures    Table[Enclosure]
	Species       Table[Species]
	Animals       Table[Animal]
	Products      Table[Product]
	Coverage      Table[Coverage]
	Places        Table[Place]
	Supplies      Table[Supply]
	Orders        Table[Order]
	Agreements    Table[Agreement]
	Lots          Table[Lot]
	Planned       Table[Planned]
}

// SiteOf maps an enclosure to its site; Nowhere where it is not known.
func (r *Records) SiteOf(enclosure ID) ID {
	if e, ok := r.Enclosures.Get(enclosure); ok {
		return e.Site
	}
	return Nowhere
}

// House gives the organisation; every other record belongs to it.
func (r *Records) House() *Organisation {
	for o := range r.Organisations.All() {
		return o
	}
	return &Organisation{Victims: 1}
}
