package smtp

import (
	"fmt"
	"io"
)

const mask = "******"

// Secret is a password that prints as a mask whatever the verb, logger or
// encoder. string(s) gives the value.
type Secret string

// Format prints the mask for every verb, %q, %x and %#v included.
func (Secret) Format(f fmt.State, _ rune) { io.WriteString(f, mask) }

// String gives the mask.
func (Secret) String() string { return mask }

// MarshalText gives the mask, so that no JSON, YAML or log line holds the value.
func (Secret) MarshalText() ([]byte, error) { return []byte(mask), nil }
