package intake

// Nearest gives the known names that somebody may have meant by one that is
// not known, the nearest first: the same but for case, abbreviated, or
// mistyped. None is to be taken without asking.
func Nearest(name string, known []string) []string { return near(tidy(name), known) }
