package day

// EndKind says what is known about an End.
type EndKind uint8

// The kinds of End. Unknown is the zero value: an end that nobody filled in
// must never read as "never ends".
const (
	Unknown EndKind = iota
	Known
	Never
)

// End is the last day on which something is good: the labelled expiry of a
// lot, the last valid day of a permit, the last day of a suspension.
type End struct {
	On   Day     // set only when Kind is Known
	Kind EndKind // Unknown, Known or Never
}

// Until is a known end: the given day is the last good one. Of an unset day
// it makes an unknown end.
func Until(last Day) End {
	if last.IsZero() {
		return End{}
	}
	return End{On: last, Kind: Known}
}

// Forever is an end that never comes.
func Forever() End { return End{Kind: Never} }

// Known says whether the end is a known day, and which. A known end without
// a day, which only a composite literal can make, counts as unknown.
func (e End) Known() (Day, bool) {
	if e.Kind != Known || e.On.IsZero() {
		return 0, false
	}
	return e.On, true
}

// IsZero says that the end is unknown.
func (e End) IsZero() bool {
	_, known := e.Known()
	return !known && e.Kind != Never
}

// String gives YYYY-MM-DD, "never" or "unknown".
func (e End) String() string {
	if last, known := e.Known(); known {
		return last.String()
	}
	if e.Kind == Never {
		return "never"
	}
	return "unknown"
}
