package intake

import "strings"

// A spreadsheet runs a cell that begins with one of these as a formula.
const formulaBegins = "=+-@\t\r\n"

// Escaped puts an apostrophe before a text that a spreadsheet would run as a
// formula. A text that looks escaped already gets one more, so that reading it
// back gives the text as it was.
func Escaped(text string) string {
	if beginsFormula(text) {
		return "'" + text
	}
	return text
}

// unescaped takes back what Escaped put.
func unescaped(text string) string {
	if strings.HasPrefix(text, "'") && beginsFormula(text) {
		return text[1:]
	}
	return text
}

func beginsFormula(text string) bool {
	rest := strings.TrimLeft(text, "'")
	return rest != "" && strings.ContainsRune(formulaBegins, rune(rest[0]))
}
