package compliance

// Standing is the answer for one duty on one day. The order is the order of
// badness, so that AND is the maximum; NotApplicable is neutral.
type Standing uint8

// The standings.
const (
	NotApplicable Standing = iota
	InOrder
	CannotTell
	OutOfOrder
)

// String gives the standing in words.
func (s Standing) String() string {
	return [...]string{"not applicable", "in order", "cannot tell", "out of order"}[s]
}

// MarshalText writes the standing as String does.
func (s Standing) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Bad says that the standing needs somebody: unknown is not fine.
func (s Standing) Bad() bool { return s >= CannotTell }
