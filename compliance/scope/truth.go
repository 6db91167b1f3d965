package scope

// Truth is an answer. Its zero value is Unknown, so that an answer that
// nobody gave does not read as one.
type Truth uint8

// The three answers.
const (
	Unknown Truth = iota
	No
	Yes
)

// String gives "yes", "no" or "unknown".
func (t Truth) String() string {
	switch t {
	case Yes:
		return "yes"
	case No:
		return "no"
	}
	return "unknown"
}

// Answer is a truth with what it lacks.
type Answer struct {
	Truth   Truth
	Missing []string // unknown attributes that matter, sorted; none unless Truth is Unknown
	Err     error    // why the answer failed, where it is not only for want of attributes
}

// Attributes are what a scope asks of one subject.
//
// A known value is a string, bool, int, int64 or []string, as its variable
// was declared; an attribute that is not known makes the answer unknown where
// it matters. A scope asks for each of the names that it Reads, once per answer.
type Attributes interface {
	Attribute(name string) (value any, known bool)
}
