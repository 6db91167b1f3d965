package inventory

import (
	"regexp"
	"slices"
	"strings"
)

// Species is a kind of animal under its accepted name. What is true of one
// species is never inferred for another of its genus.
type Species struct {
	ID       ID       `json:"id"`
	Accepted string   `json:"accepted_name"`
	Family   string   `json:"family,omitempty"`
	Common   string   `json:"common_name,omitempty"`
	Synonyms []string `json:"synonyms,omitempty"`
	Venomous Tri      `json:"venomous,omitzero"`
	Hazards  Hazards  `json:"hazards,omitzero"`
	// NativeTo lists the jurisdictions in which the species is native. It is
	// read only where RangeKnown is yes.
	NativeTo   []string `json:"native_to,omitempty"`
	RangeKnown Tri      `json:"range_known,omitzero"`
	// PressureBandage says whether the pressure bandage with immobilisation
	// is the first aid for this species. Unknown prints "ask the poison
	// centre", never yes or no.
	PressureBandage Tri `json:"pressure_bandage,omitzero"`
	// NoAntivenom cites who says that no effective antivenom exists. Empty
	// means only that nobody said so.
	NoAntivenom string    `json:"no_antivenom,omitempty"`
	Certainty   Certainty `json:"certainty,omitempty"` // of NoAntivenom
}

// Hazards are the attributes by which a species is placed on the ladder of
// training, each 1 (least) to 5; 0 is unknown.
type Hazards struct {
	Venom    int `json:"venom,omitempty"`   // action and speed of the venom
	Yield    int `json:"yield,omitempty"`   // potency times yield
	Speed    int `json:"speed,omitempty"`   // speed and unpredictability
	Reach    int `json:"reach,omitempty"`   // size, reach, agility
	Spitting Tri `json:"spitting,omitzero"` // eye protection
	Arboreal Tri `json:"arboreal,omitzero"` // drops from above
}

// Ref points to the species.
func (s Species) Ref() Ref { return Ref{Kind: KindSpecies, ID: s.ID} }

// Name gives the accepted scientific name.
func (s Species) Name() string { return s.Accepted }

var binomen = regexp.MustCompile(`^[A-Z][a-z]+ [a-z-]+( [a-z-]+)?$`)

// Check says what is wrong with the record's own fields.
func (s Species) Check() error {
	for _, name := range append([]string{s.Accepted}, s.Synonyms...) {
		if !binomen.MatchString(name) {
			return &FieldError{Field: "accepted_name", Problem: `"` + name +
				`" is not a full scientific name: write genus and species, such as Naja kaouthia`}
		}
	}
	for _, j := range s.NativeTo {
		if err := CheckJurisdiction("native_to", j); err != nil {
			return err
		}
	}
	for _, h := range []int{s.Hazards.Venom, s.Hazards.Yield, s.Hazards.Speed, s.Hazards.Reach} {
		if h < 0 || h > 5 {
			return &FieldError{Field: "hazards", Problem: "must be 1 to 5, or 0 for unknown"}
		}
	}
	return s.Certainty.Check()
}

// Genus gives the first word of the accepted name. Use it to match papers
// that grant a whole genus, never to infer cover.
func (s Species) Genus() string {
	genus, _, _ := strings.Cut(s.Accepted, " ")
	return genus
}

// Called says whether a name is the accepted name or a listed synonym.
func (s Species) Called(name string) bool {
	return name == s.Accepted || slices.Contains(s.Synonyms, name)
}

// NativeIn says whether the species is native at a jurisdiction.
func (s Species) NativeIn(path string) Tri {
	if s.RangeKnown != Yes || path == "" {
		return Unknown
	}
	native := No
	for _, area := range s.NativeTo {
		if Within(path, area) {
			return Yes
		}
		if Within(area, path) { // native to a part of the jurisdiction only
			native = Unknown
		}
	}
	return native
}
