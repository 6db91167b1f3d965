package inventory

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/google/uuid"
)

// ID identifies a record. Clients make it (UUID version 7), so that a write
// whose answer was lost can be looked up instead of being done twice.
type ID = uuid.UUID

// NewID makes an identifier that sorts by the time of its making.
func NewID() ID { return uuid.Must(uuid.NewV7()) }

// Kind names what a Ref points to. It is a number, because a national network
// compares and hashes millions of them; people and files see its name.
type Kind uint8

// The kinds of record, in the order in which a store must write them so that
// what is referred to comes first; and Holding, which is no record but a
// species at a site.
const (
	KindNone Kind = iota
	KindOrganisation
	KindSite
	KindEnclosure
	KindSpecies
	KindPerson
	KindAnimal
	KindProduct
	KindCoverage
	KindPlace
	KindSupply
	KindOrder
	KindAgreement
	KindLot
	KindPlanned
	KindAuthority
	KindPermit
	KindActivity
	KindFeed
	KindNotWatched
	KindDecision
	KindSession
	KindAuthorisation
	KindCredit
	KindPlacement
	KindHolding
)

var kindNames = [...]string{
	"", "organisation", "site", "enclosure", "species", "person", "animal", "product", "coverage",
	"place", "supply", "order", "agreement", "lot", "planned", "authority", "permit", "activity", "feed", "not-watched", "decision",
	"session", "authorisation", "credit", "placement", "holding",
}

// Kinds yields every kind of record, what is referred to first.
func Kinds() []Kind {
	var all []Kind
	for k := KindOrganisation; k < KindHolding; k++ {
		all = append(all, k)
	}
	return all
}

// String gives the kind's name in files and commands.
func (k Kind) String() string { return kindNames[k] }

// ParseKind reads a kind's name.
func ParseKind(name string) (Kind, error) {
	if i := slices.Index(kindNames[:], name); i > 0 {
		return Kind(i), nil
	}
	return 0, fmt.Errorf("%q is not a kind of record: write one of %s", name, strings.Join(kindNames[1:], ", "))
}

// MarshalText writes the kind's name.
func (k Kind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// UnmarshalText reads the kind's name.
func (k *Kind) UnmarshalText(text []byte) (err error) {
	*k, err = ParseKind(string(text))
	return err
}

// Ref points to a record, or to a Holding: the species ID at the site At.
type Ref struct {
	Kind Kind
	ID   ID
	At   ID // the site of a Holding, otherwise zero
}

// Holding refers to a species as held at a site.
func Holding(species, site ID) Ref { return Ref{Kind: KindHolding, ID: species, At: site} }

// IsZero says that the ref points to nothing.
func (r Ref) IsZero() bool { return r == Ref{} }

// String gives kind:uuid, or holding:uuid@uuid.
func (r Ref) String() string {
	if r.IsZero() {
		return ""
	}
	s := r.Kind.String() + ":" + r.ID.String()
	if r.At != (ID{}) {
		s += "@" + r.At.String()
	}
	return s
}

// MarshalText writes the ref as String does.
func (r Ref) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (r *Ref) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*r = Ref{}
		return nil
	}
	name, rest, _ := strings.Cut(string(text), ":")
	kind, err := ParseKind(name)
	if err != nil {
		return fmt.Errorf("read reference %q: %w", text, err)
	}
	id, at, holding := strings.Cut(rest, "@")
	if holding != (kind == KindHolding) {
		return fmt.Errorf("%q is not a reference: a holding has an @site, nothing else has", text)
	}
	out := Ref{Kind: kind}
	if out.ID, err = uuid.Parse(id); err != nil {
		return fmt.Errorf("read reference %q: %w", text, err)
	}
	if holding {
		if out.At, err = uuid.Parse(at); err != nil {
			return fmt.Errorf("read reference %q: %w", text, err)
		}
	}
	*r = out
	return nil
}

// Compare orders refs, so that output does not depend on the order of input.
func (r Ref) Compare(o Ref) int {
	return cmp.Or(
		cmp.Compare(r.Kind, o.Kind),
		slices.Compare(r.ID[:], o.ID[:]),
		slices.Compare(r.At[:], o.At[:]),
	)
}
