package strict

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// Limits of a file. A pack of several hundred rules takes less than a fifth
// of MaxBytes, and no rule nests deeper than a third of MaxDepth; the figures
// are common practice, no source.
const (
	MaxBytes    = 1 << 20
	MaxDepth    = 32
	maxMistakes = 200 // told of one file; the rest is counted
)

// Doc is one file being read. It is not safe for concurrent use.
type Doc struct {
	file     string
	root     *Map
	maps     []*Map // in the order of opening
	opened   map[*yaml.Node]*Map
	bad      map[*yaml.Node]bool // told already, so that readers keep quiet
	mistakes Errors
	untold   int
}

// Parse reads one YAML document. Its error is an Errors that tells why the
// file cannot be read at all; mistakes within a readable file collect in the
// Doc and are told by Err.
func Parse(file string, data []byte) (*Doc, error) {
	d := &Doc{file: file, bad: map[*yaml.Node]bool{}, opened: map[*yaml.Node]*Map{}}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if m := d.checkBytes(data); m != nil {
		return nil, Errors{m}
	}
	node, m := d.decode(data)
	if m != nil {
		return nil, Errors{m}
	}
	d.checkShape(node, "", 1)
	d.root = d.open(node, nil, "")
	return d, nil
}

// Root gives the file's outermost mapping.
func (d *Doc) Root() *Map { return d.root }

// Err tells all mistakes found so far as an Errors, among them the keys that
// nobody asked for in any mapping that was opened. Call it once everything
// has been read; nil means that the file is sound.
func (d *Doc) Err() error {
	for _, m := range d.maps {
		m.Done()
	}
	if len(d.mistakes) == 0 {
		return nil
	}
	all := d.mistakes.sorted()
	if d.untold > 0 {
		last := all[len(all)-1].Pos
		all = append(all, &Mistake{Pos: last, Message: fmt.Sprintf("%d more mistakes not shown; correct the first ones", d.untold)})
	}
	return all
}

func (d *Doc) fail(at *yaml.Node, field, format string, args ...any) {
	if len(d.mistakes) >= maxMistakes {
		d.untold++
		return
	}
	d.mistakes = append(d.mistakes, &Mistake{Pos: d.pos(at), Field: field, Message: fmt.Sprintf(format, args...)})
}

func (d *Doc) pos(n *yaml.Node) Pos {
	return Pos{File: d.file, Line: n.Line, Column: n.Column}
}

// checkBytes refuses what editors and people see differently from a parser.
func (d *Doc) checkBytes(data []byte) *Mistake {
	if len(data) > MaxBytes {
		return &Mistake{Pos: Pos{File: d.file}, Message: fmt.Sprintf("is %d bytes long; at most %d are allowed", len(data), MaxBytes)}
	}
	at := Pos{File: d.file, Line: 1, Column: 1}
	for i := 0; i < len(data); {
		r, size := utf8.DecodeRune(data[i:])
		if wrong := wrongRune(r, size, data[i:]); wrong != "" {
			return &Mistake{Pos: at, Message: wrong}
		}
		i += size
		at.Column++
		if r == '\n' {
			at.Line, at.Column = at.Line+1, 1
		}
	}
	return nil
}

func wrongRune(r rune, size int, rest []byte) string {
	switch {
	case r == utf8.RuneError && size == 1:
		return fmt.Sprintf("byte %#02x is not UTF-8; save the file as UTF-8", rest[0])
	case r == '\r' && !bytes.HasPrefix(rest, []byte("\r\n")):
		return "a carriage return alone; lines end with LF or CRLF"
	case r == '\u0085' || r == '\u2028' || r == '\u2029':
		return fmt.Sprintf("unusual line break %U; lines end with LF or CRLF", r)
	case r < ' ' && !strings.ContainsRune("\t\r\n", r), r == 0x7f:
		return fmt.Sprintf("control character %U; only printable text, blanks and line breaks are allowed", r)
	}
	return ""
}

// decode gives the node of the one document.
func (d *Doc) decode(data []byte) (*yaml.Node, *Mistake) {
	in := yaml.NewDecoder(bytes.NewReader(data))
	var doc, more yaml.Node
	err := in.Decode(&doc)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, d.syntax(data, err)
	}
	if err != nil || doc.Content[0].Kind == yaml.ScalarNode && doc.Content[0].Value == "" {
		return nil, &Mistake{Pos: Pos{File: d.file, Line: 1}, Message: "is empty; keys and values are required"}
	}
	top := doc.Content[0]
	if err := in.Decode(&more); !errors.Is(err, io.EOF) {
		at := Pos{File: d.file, Line: lineOfSecond(data, &more)}
		return nil, &Mistake{Pos: at, Message: "a second document begins; one document a file is allowed"}
	}
	if top.Kind != yaml.MappingNode {
		return nil, &Mistake{Pos: d.pos(top), Message: "holds " + looks(top) + "; keys and values are required"}
	}
	return top, nil
}

// lineOfSecond gives the line on which a second document begins. When that
// document cannot be read, the last end mark of the file must do.
func lineOfSecond(data []byte, second *yaml.Node) int {
	if len(second.Content) > 0 {
		return second.Line
	}
	lines := bytes.Split(data, []byte("\n"))
	for i, line := range slices.Backward(lines) {
		if bytes.HasPrefix(line, []byte("---")) || bytes.HasPrefix(line, []byte("...")) {
			return i + 1
		}
	}
	return 1
}
