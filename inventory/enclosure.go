package inventory

// EnclosureState says what may be done with an enclosure.
type EnclosureState string

// The states of an enclosure.
const (
	InService    EnclosureState = "in-service"
	HandsOff     EnclosureState = "hands-off"
	OutOfService EnclosureState = "out-of-service"
)

// Enclosure is a cage, vivarium or rack tub at a site.
type Enclosure struct {
	ID    ID             `json:"id"`
	Site  ID             `json:"site"`
	Code  string         `json:"code"` // unique per site: what is on the door
	Room  string         `json:"room,omitempty"`
	State EnclosureState `json:"state,omitempty"` // empty: unknown
}

// Ref points to the enclosure.
func (e Enclosure) Ref() Ref { return Ref{Kind: KindEnclosure, ID: e.ID} }

// Name gives what is on the door.
func (e Enclosure) Name() string { return e.Code }

// Check says what is wrong with the record's own fields.
func (e Enclosure) Check() error {
	if err := given("site", e.Site); err != nil {
		return err
	}
	if err := required("code", e.Code); err != nil {
		return err
	}
	return oneOf("state", e.State, "", InService, HandsOff, OutOfService)
}
