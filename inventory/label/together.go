package label

import (
	"fmt"
	"slices"
	"strings"
)

// distinct keeps of an element that stands twice the first; both must say the
// same (GS1 General Specifications, 7.8.7, from memory).
func distinct(all []Element) ([]Element, error) {
	values := make(map[string]string, len(all))
	var once []Element
	for _, e := range all {
		was, twice := values[e.AI]
		if twice && was != e.Value {
			return nil, fmt.Errorf("it says (%s) %s twice: %s and %s; record what is printed on the package", e.AI, e.Title(), was, e.Value)
		}
		if !twice {
			values[e.AI] = e.Value
			once = append(once, e)
		}
	}
	return once, nil
}

// associated says which element lacks what it needs beside it, or stands
// beside what excludes it.
func associated(all []Element) error {
	has := func(ai string) bool { return slices.ContainsFunc(all, func(e Element) bool { return e.AI == ai }) }
	for _, e := range all {
		id := identifiers[e.AI]
		for _, group := range id.needs {
			if !slices.ContainsFunc(group, has) {
				return fmt.Errorf("it says (%s) %s, and not of what: one of %s must stand in the same code; scan the other code of the package, or record what is printed on it",
					e.AI, e.Title(), bracketed(group))
			}
		}
		if at := slices.IndexFunc(id.excludes, has); at >= 0 {
			return fmt.Errorf("it says (%s) %s beside (%s) %s: these exclude each other", e.AI, e.Title(), id.excludes[at], identifiers[id.excludes[at]].title)
		}
	}
	if has("17") && has("7003") {
		return fmt.Errorf("it has two expiries, (17) and (7003): record the one that is printed on the package")
	}
	return nil
}

func bracketed(ais []string) string {
	return "(" + strings.Join(ais, "), (") + ")"
}
