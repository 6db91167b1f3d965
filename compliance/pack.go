package compliance

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"

	"antidotary/compliance/ladder"
	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Pack is a file of rules of one layer for one jurisdiction. It is an
// example to check against the law in force, and says so.
type Pack struct {
	Name     string // unique
	Title    string
	Layer    Layer
	Area     string  // jurisdiction; empty applies everywhere
	Edition  string  // empty, or a day unset: not known, which is a finding
	ReadOn   day.Day // last
	ReviewBy day.Day // last day before it must be read again
	Rules    []*Rule
	Cases    []*Case // the pack's own tests
	// Ladder is how keepers are brought on where the pack applies; nil: it
	// does not say.
	Ladder *ladder.Ladder
}

// Rulebook is every rule in use, sorted by id, with the hash of the files that
// it was read from.
type Rulebook struct {
	Packs    []*Pack
	Rules    []*Rule
	Hash     string // SHA-256 of names and contents of the files, in hexadecimal
	Holidays *day.Holidays
	// Files is what was read, so that the rules of a day can be read again:
	// texts by name, where a name is the folder's place and the file's own.
	Files map[string]string

	lifts []Lifted // whatever lifts a rule before what that rule lifts
}

// ReadRulebook reads every .yaml file of the given folders. All mistakes of
// all files are told, each as file:line:column: field: what is wrong; what is
// allowed.
func ReadRulebook(holidays *day.Holidays, folders ...fs.FS) (*Rulebook, error) {
	texts := make(map[string]string)
	for i, folder := range folders {
		files, err := fs.Glob(folder, "*.yaml")
		if err != nil {
			return nil, fmt.Errorf("list rule packs: %w", err)
		}
		for _, file := range files {
			data, err := fs.ReadFile(folder, file)
			if err != nil {
				return nil, fmt.Errorf("read rule pack: %w", err)
			}
			texts[fmt.Sprintf("%03d/%s", i, file)] = string(data)
		}
	}
	return ReadFiles(holidays, texts)
}

// ReadFiles reads a rulebook again from its Files. The hash and the rules are
// the same if the texts are.
func ReadFiles(holidays *day.Holidays, files map[string]string) (*Rulebook, error) {
	book := &Rulebook{Holidays: holidays, Files: files}
	hash := sha256.New()
	var mistakes []error
	for _, name := range slices.Sorted(maps.Keys(files)) {
		file, data := path.Base(name), files[name]
		fmt.Fprintf(hash, "%s %d\n%s\n", file, len(data), data)
		pack, err := ReadPack(file, []byte(data))
		if err != nil {
			mistakes = append(mistakes, err)
			continue
		}
		book.Packs = append(book.Packs, pack)
	}
	mistakes = append(mistakes, book.settle()...)
	if len(mistakes) > 0 {
		return nil, errors.Join(mistakes...)
	}
	book.Hash = hex.EncodeToString(hash.Sum(nil))
	return book, nil
}

// settle sorts the rules and refuses two packs or two rules with one name.
func (b *Rulebook) settle() (mistakes []error) {
	slices.SortFunc(b.Packs, func(x, y *Pack) int { return strings.Compare(x.Name, y.Name) })
	first := make(map[string]*Rule)
	for i, p := range b.Packs {
		if i > 0 && b.Packs[i-1].Name == p.Name {
			mistakes = append(mistakes, fmt.Errorf("two packs are named %q: rename one", p.Name))
		}
		for _, r := range p.Rules {
			if other, taken := first[r.ID]; taken {
				mistakes = append(mistakes, fmt.Errorf("%s: id: %q is taken by the rule at %s; give it its own", r.Where, r.ID, other.Where))
			}
			first[r.ID] = r
			b.Rules = append(b.Rules, r)
		}
	}
	slices.SortFunc(b.Rules, func(x, y *Rule) int { return strings.Compare(x.ID, y.ID) })
	mistakes = append(mistakes, b.twoLadders()...)
	return append(mistakes, b.settleLifts(first)...)
}

// HasLaw says whether a law pack speaks for a jurisdiction.
func (b *Rulebook) HasLaw(path string) bool {
	return slices.ContainsFunc(b.Packs, func(p *Pack) bool {
		return p.Layer == Law && p.Area != "" && path != "" && inventory.Within(path, p.Area)
	})
}

// ReadPack reads one pack. Its error is a strict.Errors.
func ReadPack(file string, data []byte) (*Pack, error) {
	doc, err := strict.Parse(file, data)
	if err != nil {
		return nil, err
	}
	m := doc.Root()
	m.Int("format", 1, 1)
	p := &Pack{
		Name:     readWord(m, "pack"),
		Title:    m.String("title"),
		Layer:    Layer(m.Enum("layer", string(Law), string(House), string(Guidance))),
		Area:     m.OptString("jurisdiction"),
		Edition:  m.OptString("edition"),
		ReadOn:   m.OptDay("read_on"),
		ReviewBy: m.OptDay("review_by"),
	}
	if !p.ReviewBy.IsZero() && p.ReviewBy < p.ReadOn {
		m.Fail("review_by", "is before read_on, %s; it is the day by which the text must be read again", p.ReadOn)
	}
	if p.Area != "" {
		if err := inventory.CheckJurisdiction("jurisdiction", p.Area); err != nil {
			m.Fail("jurisdiction", "%s", strings.TrimPrefix(err.Error(), "jurisdiction: "))
		}
	} else if p.Layer == Law {
		m.Fail("layer", "a law pack needs a jurisdiction such as us/fl")
	}
	p.Ladder = readLadder(m, p)
	written := rulesOf(m, p)
	for _, rm := range written {
		p.Rules = append(p.Rules, readRule(rm, p))
	}
	for _, ring := range Rings(p.Rules) {
		params := written[slices.Index(p.Rules, ring[0])].Map("params")
		params.Fail("requires", "goes round in a ring: %s; nobody could ever begin, so leave out the one that the text does not ask for", ring)
	}
	p.Cases = readCases(m)
	if err := doc.Err(); err != nil {
		return nil, err
	}
	return p, nil
}

// rulesOf gives the rules as they are written; a pack with a ladder may have
// none.
func rulesOf(m *strict.Map, p *Pack) []*strict.Map {
	if p.Ladder != nil {
		return m.OptMaps("rules")
	}
	return m.Maps("rules")
}

func readWord(m *strict.Map, key string) string {
	w := m.String(key)
	if err := CheckClass(key, w); err != nil && w != "" {
		m.Fail(key, "%s", strings.TrimPrefix(err.Error(), key+": "))
	}
	return w
}
