package daemon

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"antidotary/compliance"
	"antidotary/compliance/form"
	packtext "antidotary/compliance/written"
	"antidotary/daemon/answer"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// DiffAnswer says what differs between two sets of packs, and what that
// changes.
type DiffAnswer struct {
	answer.Telling
	Format int          `json:"format"`
	Packs  []PackDiff   `json:"packs"`
	Rules  []RuleDiff   `json:"rules"`
	Of     string       `json:"of"` // the records, or a demo house
	Unread string       `json:"records_unread,omitempty"`
	Duties []DutyChange `json:"duties"` // those that are answered otherwise, and no others
}

// PackDiff is what a pack says of itself.
type PackDiff struct {
	Pack    string      `json:"pack"`
	How     string      `json:"how"` // added, removed or changed
	Changes []FieldDiff `json:"changes"`
}

// RuleDiff is one rule that differs.
type RuleDiff struct {
	ID      string      `json:"id"`
	How     string      `json:"how"` // added, removed or changed
	Title   string      `json:"title"`
	Changes []FieldDiff `json:"changes"`
}

// FieldDiff is one value that differs; was or is is empty where it was or is
// left out.
type FieldDiff struct {
	Field string `json:"field"`
	Was   string `json:"was"`
	Is    string `json:"is"`
	Says  string `json:"says,omitempty"`
}

// DutyChange is duties whose answers change alike from one day on.
type DutyChange struct {
	Requirement string   `json:"requirement"`
	Subjects    []string `json:"subjects"`
	From        day.Day  `json:"from"` // the first day, from today, of another answer
	Was         DutyIs   `json:"was"`
	Is          DutyIs   `json:"is"`
}

// DutyIs is an answer for a duty.
type DutyIs struct {
	Standing compliance.Standing `json:"standing"`
	State    compliance.Code     `json:"state,omitempty"`
	By       day.Day             `json:"by,omitzero"`
}

// Loaded stands for the packs that are loaded now.
const Loaded = "loaded"

// DiffRules compares packs: files or folders, or what is loaded. To see what
// differs for the house, each side is put in the place of the packs of the same
// names among those that are loaded.
func DiffRules(ctx context.Context, opt Options, q Question, was, is string) (*DiffAnswer, error) {
	opt.settle()
	loaded, err := opt.loadedFiles()
	if err != nil {
		return nil, err
	}
	old, err := opt.side(was, loaded)
	if err != nil {
		return nil, err
	}
	new, err := opt.side(is, loaded)
	if err != nil {
		return nil, err
	}
	if was == Loaded {
		old = namedAs(loaded, new)
	} else if is == Loaded {
		new = namedAs(loaded, old)
	}
	beside := notNamedAs(notNamedAs(loaded, old), new)
	oldBook, err := opt.bookOf(old, beside)
	if err != nil {
		return nil, err
	}
	newBook, err := opt.bookOf(new, beside)
	if err != nil {
		return nil, err
	}
	out := &DiffAnswer{Format: answer.Format, Packs: []PackDiff{}, Rules: []RuleDiff{}, Duties: []DutyChange{}, Of: "the records"}
	if q.Demo != "" {
		out.Of = "the demo house"
	}
	if err := out.compare(old, new); err != nil {
		return nil, err
	}
	s, err := records(ctx, opt, newBook, q)
	if err != nil {
		out.Unread = err.Error()
		return out, nil
	}
	ask := compliance.Ask{Now: opt.Clock(), On: q.On}
	out.duties(compliance.Evaluate(oldBook, s, ask), compliance.Evaluate(newBook, s, ask))
	return out, nil
}

func (o *Options) side(path string, loaded []packFile) ([]packFile, error) {
	if path == Loaded {
		return loaded, nil
	}
	return packsAt([]string{path})
}

func packName(f packFile) string {
	if p, err := compliance.ReadPack(f.name, []byte(f.text)); err == nil {
		return p.Name
	}
	return f.name
}

func namedAs(files, others []packFile) (all []packFile) {
	for _, f := range files {
		if slices.ContainsFunc(others, func(o packFile) bool { return packName(o) == packName(f) }) {
			all = append(all, f)
		}
	}
	return all
}

func notNamedAs(files, others []packFile) (all []packFile) {
	for _, f := range files {
		if !slices.ContainsFunc(others, func(o packFile) bool { return packName(o) == packName(f) }) {
			all = append(all, f)
		}
	}
	return all
}

func (d *DiffAnswer) compare(old, new []packFile) error {
	was, err := writtenOf(old)
	if err != nil {
		return err
	}
	is, err := writtenOf(new)
	if err != nil {
		return err
	}
	d.packs(was, is)
	for _, c := range packtext.RuleChanges(was, is) {
		out := RuleDiff{ID: c.ID, How: how(c.Was != nil, c.Is != nil), Changes: []FieldDiff{}}
		for _, side := range []*packtext.Rule{c.Was, c.Is} {
			if side != nil {
				out.Title = side.Value("title")
			}
		}
		var kind form.Kind
		if c.Is != nil {
			kind, _ = form.KindOf(c.Is.Value("kind"))
		}
		for _, x := range c.Changes {
			says := meaning(form.Rule, x.Path)
			if path, isParam := strings.CutPrefix(x.Path, "params."); isParam {
				says = meaning(kind.Keys, path)
			}
			out.Changes = append(out.Changes, FieldDiff{x.Path, x.Was, x.Is, says})
		}
		d.Rules = append(d.Rules, out)
	}
	return nil
}

func how(was, is bool) string {
	switch {
	case !was:
		return "added"
	case !is:
		return "removed"
	}
	return "changed"
}

func writtenOf(files []packFile) (all []*packtext.File, err error) {
	for _, f := range files {
		file, err := packtext.Read(f.name, f.text)
		if err != nil {
			return nil, err
		}
		all = append(all, file)
	}
	return all, nil
}

func (d *DiffAnswer) packs(was, is []*packtext.File) {
	find := func(files []*packtext.File, name string) *packtext.File {
		i := slices.IndexFunc(files, func(f *packtext.File) bool { return f.Pack.Value("pack") == name })
		if i < 0 {
			return nil
		}
		return files[i]
	}
	var names []string
	for _, f := range slices.Concat(was, is) {
		names = append(names, f.Pack.Value("pack"))
	}
	slices.Sort(names)
	for _, name := range slices.Compact(names) {
		old, new := find(was, name), find(is, name)
		out := PackDiff{Pack: name, How: how(old != nil, new != nil), Changes: []FieldDiff{}}
		if old != nil && new != nil {
			for _, x := range packtext.Changes(old.Pack, new.Pack) {
				out.Changes = append(out.Changes, FieldDiff{x.Path, x.Was, x.Is, meaning(form.Pack, x.Path)})
			}
			if len(out.Changes) == 0 {
				continue
			}
		}
		d.Packs = append(d.Packs, out)
	}
}

// duties compares what is answered from today on, and keeps what differs.
func (d *DiffAnswer) duties(was, is *compliance.Report) {
	seen := make(map[compliance.Key]bool)
	add := func(j *compliance.Judgement) {
		if seen[j.Key] {
			return
		}
		seen[j.Key] = true
		if c, differs := changed(was, is, j); differs {
			d.merge(c)
		}
	}
	for _, j := range is.Judgements {
		add(j)
	}
	for _, j := range was.Judgements {
		add(j)
	}
	slices.SortFunc(d.Duties, func(a, b DutyChange) int {
		if a.Is.Standing != b.Is.Standing {
			return int(b.Is.Standing) - int(a.Is.Standing)
		}
		return strings.Compare(fmt.Sprint(a.From, a.Requirement, a.Subjects), fmt.Sprint(b.From, b.Requirement, b.Subjects))
	})
}

func changed(was, is *compliance.Report, j *compliance.Judgement) (DutyChange, bool) {
	type both struct{ was, is DutyIs }
	lineOf := func(r *compliance.Report) day.Line[DutyIs] {
		if found := r.Of(j.Key); found != nil {
			return day.Map(found.Combined(), func(v *compliance.Verdict) DutyIs { return DutyIs{v.Standing, v.State, v.Step.By} })
		}
		return day.Constant(DutyIs{})
	}
	line := day.Combine(lineOf(was), lineOf(is), func(a, b DutyIs) both { return both{a, b} })
	today := is.View.Today(j.Site(is.View.Today(inventory.ID{})))
	on, at := today, line.At(today)
	if at.was == at.is {
		found := false
		if on, at, found = line.Next(today, func(b both) bool { return b.was != b.is }); !found {
			return DutyChange{}, false
		}
	}
	name := strings.TrimSpace(is.View.NameOf(j.Key.Subject) + " " + j.Key.Occurrence)
	return DutyChange{j.Key.Requirement, []string{name}, on, at.was, at.is}, true
}

// merge tells subjects of one change together.
func (d *DiffAnswer) merge(c DutyChange) {
	for i := range d.Duties {
		if x := &d.Duties[i]; x.Requirement == c.Requirement && x.From == c.From && x.Was == c.Was && x.Is == c.Is {
			x.Subjects = append(x.Subjects, c.Subjects...)
			slices.Sort(x.Subjects)
			return
		}
	}
	d.Duties = append(d.Duties, c)
}
