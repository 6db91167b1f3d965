package intake

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// The signs that part what stands in one cell.
const (
	betweenItems = ';' // of a list
	betweenParts = '|' // of an item
	betweenWords = ',' // of a list within an item
	beforeOwner  = '@' // a name and what it is a name within
)

// nothing is how an empty text is written where a blank would be none at all.
const nothing = `\e`

// celled writes a text so that it stands in a cell and comes back exactly:
// with a backslash before a backslash and before each of the signs, and with
// escapes for what does not survive a spreadsheet: control characters, line
// breaks, and blanks at the ends.
func celled(text string, signs string) string {
	if plainInCell(text, signs) {
		return text
	}
	var b strings.Builder
	for i, r := range text {
		edge := i == 0 || i+utf8.RuneLen(r) == len(text)
		switch {
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\r':
			b.WriteString(`\r`)
		case r == '\t':
			b.WriteString(`\t`)
		case !survives(r) || edge && unicode.IsSpace(r):
			fmt.Fprintf(&b, `\u{%X}`, r)
		case r == '\\' || strings.ContainsRune(signs, r):
			b.WriteByte('\\')
			b.WriteRune(r)
		default:
			b.WriteRune(r)
		}
	}
	if spreadsheetError(b.String()) {
		return `\` + b.String()
	}
	return b.String()
}

// plainInCell says whether a text stands in a cell as it is.
func plainInCell(text, signs string) bool {
	for i := range len(text) {
		if c := text[i]; c < ' ' || c >= 0x7f || c == '\\' || strings.IndexByte(signs, c) >= 0 {
			return false
		}
	}
	return text == "" || text[0] != ' ' && text[len(text)-1] != ' ' && text[0] != '#'
}

// survives says whether XML may hold a character and spreadsheets keep it: no
// control character, no mark of the order of bytes, no noncharacter.
func survives(r rune) bool {
	return !unicode.IsControl(r) && r != '\ufeff' && r&0xfffe != 0xfffe && (r < 0xfdd0 || r > 0xfdef)
}

// uncelled gives the text that celled wrote. Blanks at the ends that are not
// escaped are somebody's slip, and go.
func uncelled(cell string) (string, error) {
	cell = trimmed(cell)
	if cell == nothing {
		return "", nil
	}
	if !strings.Contains(cell, `\`) {
		return cell, nil
	}
	var b strings.Builder
	for i := 0; i < len(cell); i++ {
		if cell[i] != '\\' {
			b.WriteByte(cell[i])
			continue
		}
		i++
		if i == len(cell) {
			return "", fmt.Errorf(`%q ends in a backslash; write \\ for one`, cell)
		}
		switch c := cell[i]; {
		case c == 'n':
			b.WriteByte('\n')
		case c == 'r':
			b.WriteByte('\r')
		case c == 't':
			b.WriteByte('\t')
		case c == 'u':
			end := strings.IndexByte(cell[i:], '}')
			if end < 2 || cell[i+1] != '{' {
				return "", fmt.Errorf(`%q has a broken \u{...}; write \\ for a backslash`, cell)
			}
			code, err := strconv.ParseUint(cell[i+2:i+end], 16, 21)
			if err != nil || code == 0 || !utf8.ValidRune(rune(code)) {
				return "", fmt.Errorf(`%q has \u{%s}, which is no character; write \\ for a backslash`, cell, cell[i+2:i+end])
			}
			b.WriteRune(rune(code))
			i += end
		case c < utf8.RuneSelf && (unicode.IsPunct(rune(c)) || unicode.IsSymbol(rune(c))):
			b.WriteByte(c)
		default:
			return "", fmt.Errorf(`%q has a backslash that means nothing; write \\ for a backslash`, cell)
		}
	}
	return b.String(), nil
}

// trimmed takes blanks at the ends away that nobody escaped.
func trimmed(cell string) string { return strings.TrimFunc(cell, unicode.IsSpace) }

// partedAt splits a cell at a sign that has no backslash before it. A blank cell
// has no parts.
func partedAt(cell string, sign byte) (parts []string) {
	if trimmed(cell) == "" {
		return nil
	}
	start := 0
	for i := 0; i < len(cell); i++ {
		switch cell[i] {
		case '\\':
			i++
		case sign:
			parts = append(parts, cell[start:i])
			start = i + 1
		}
	}
	return append(parts, cell[start:])
}
