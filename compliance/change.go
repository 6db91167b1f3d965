package compliance

import (
	"errors"
	"fmt"

	"antidotary/inventory"
)

// Change is the only thing that alters records. Store, journal, what-if and
// undo all use it.
type Change interface {
	// Apply gives the snapshot after the change and leaves the given one as
	// it was. It refuses a change that would break a record or a reference,
	// with a sentence for the user (*Refusal).
	Apply(*Snapshot) (*Snapshot, error)
	// Touches names the records whose after-image the change makes.
	Touches() []inventory.Ref
}

// Refusal says why a change was not made; nothing was altered.
type Refusal struct {
	Subject inventory.Ref
	Name    string
	Err     error
}

func (r *Refusal) Error() string {
	if r.Subject.Kind == inventory.KindFeed { // its name says what it is
		return fmt.Sprintf("%s: %v", r.Name, r.Err)
	}
	return fmt.Sprintf("%s %s: %v", r.Subject.Kind, r.Name, r.Err)
}

func (r *Refusal) Unwrap() error { return r.Err }

// Put records that a record is, from now on, as given: a new one, or a
// corrected one.
type Put[T inventory.Record] struct{ After T }

var errNotRecorded = errors.New("is not recorded")

// Record is the change that puts a record.
func Record[T inventory.Record](after T) Put[T] { return Put[T]{after} }

// Touches names the record.
func (p Put[T]) Touches() []inventory.Ref { return []inventory.Ref{p.After.Ref()} }

// Apply puts the record after checking its fields, what it refers to, and
// that nothing else has its name.
func (p Put[T]) Apply(s *Snapshot) (*Snapshot, error) { return drawn(p, s) }

func (p Put[T]) draw(d *draft) error {
	refuse := func(err error) error {
		return &Refusal{p.After.Ref(), p.After.Name(), err}
	}
	if p.After.Ref().ID == (inventory.ID{}) {
		return refuse(&inventory.FieldError{Field: "id", Problem: "is not set: the client makes it"})
	}
	if err := p.After.Check(); err != nil {
		return refuse(err)
	}
	if err := d.dangling(p.After); err != nil {
		return refuse(err)
	}
	if err := d.put(p.After); err != nil {
		return refuse(err)
	}
	return nil
}

// Alter corrects a record from what it is when the change is made, so that of
// two people who record something of one permit neither undoes the other. How
// must not write into what the record's slices and pointers share with the
// record as it was.
type Alter[T inventory.Record] struct {
	Of  inventory.Ref
	How func(s *Snapshot, rec *T) error
}

// Touches names the record.
func (a Alter[T]) Touches() []inventory.Ref { return []inventory.Ref{a.Of} }

// Apply puts the record as altered.
func (a Alter[T]) Apply(s *Snapshot) (*Snapshot, error) { return drawn(a, s) }

func (a Alter[T]) draw(d *draft) error {
	rec, ok := d.Lookup(a.Of).(T)
	if !ok {
		return &Refusal{a.Of, a.Of.ID.String(), errNotRecorded}
	}
	if err := a.How(d.Snapshot, &rec); err != nil {
		return &Refusal{a.Of, rec.Name(), err}
	}
	return Put[T]{rec}.draw(d)
}

// Remove takes out records that should never have been made. What happened to
// a record is recorded otherwise: an animal dies, a paper is surrendered.
type Remove struct{ What []inventory.Ref }

// Touches names the records.
func (r Remove) Touches() []inventory.Ref { return r.What }

// Apply refuses where anything that stays refers to one of the records.
func (r Remove) Apply(s *Snapshot) (*Snapshot, error) { return drawn(r, s) }

func (r Remove) draw(d *draft) error {
	for _, ref := range r.What {
		if d.Lookup(ref) == nil {
			return &Refusal{ref, ref.ID.String(), errNotRecorded}
		}
	}
	if to, by := d.referred(r.What); by != nil {
		return &Refusal{to, d.Lookup(to).Name(), fmt.Errorf("%s refers to it: correct that first", d.NameOf(by.Ref()))}
	}
	for _, ref := range r.What {
		if err := d.remove(ref); err != nil {
			return err
		}
	}
	return nil
}

// Batch makes several changes as one: all of them or none.
type Batch []Change

// Touches names the records that any of the changes touches.
func (b Batch) Touches() []inventory.Ref {
	var all []inventory.Ref
	for _, c := range b {
		all = append(all, c.Touches()...)
	}
	return all
}

// Apply makes the changes in order. It costs about what the changes are, and
// once what the tables are that they touch.
func (b Batch) Apply(s *Snapshot) (*Snapshot, error) { return drawn(b, s) }

func (b Batch) draw(d *draft) error {
	for _, c := range b {
		if err := d.apply(c); err != nil {
			return err
		}
	}
	return nil
}
