package day

import (
	"iter"
	"slices"
	"sort"
)

// Change is one step of a Line: from On onward (On included) the value is To.
type Change[T any] struct {
	On Day
	To T
}

// Line is a total step function over days, in normal form: neighbouring
// segments differ. A segment [a, b) includes a and excludes b. The zero Line
// is the zero value of T on every day.
type Line[T comparable] struct {
	first T           // the value before the first change
	steps []Change[T] // ascending by day, each unlike its predecessor
}

// Constant is a line with one value on every day.
func Constant[T comparable](v T) Line[T] { return Line[T]{first: v} }

// Steps builds a line from its first value and changes in any order. Of two
// changes on one day the later in the list wins.
func Steps[T comparable](first T, changes ...Change[T]) Line[T] {
	byDay := func(a, b Change[T]) int { return int(a.On) - int(b.On) }
	if !slices.IsSortedFunc(changes, byDay) {
		changes = slices.Clone(changes)
		slices.SortStableFunc(changes, byDay)
	}
	b := Builder[T]{first: first, steps: make([]Change[T], 0, len(changes))}
	for _, c := range changes {
		b.Add(c.On, c.To)
	}
	return b.Line()
}

// Builder makes a line from changes that come in ascending order of days.
type Builder[T comparable] struct {
	first T
	steps []Change[T]
	given int // so many steps belong to a line already given: never overwrite them
}

// NewBuilder begins a line that has the given value before every change.
func NewBuilder[T comparable](first T) *Builder[T] { return &Builder[T]{first: first} }

// Grow makes room for n more changes, for who knows how many will come.
func (b *Builder[T]) Grow(n int) { b.steps = slices.Grow(b.steps, n) }

// Add says that from the day on the value is v. Days must not descend; of two
// values for one day the later call wins.
func (b *Builder[T]) Add(on Day, v T) {
	n := len(b.steps)
	if n > 0 && b.steps[n-1].On == on {
		n--
		b.steps = b.steps[:n]
		if b.given > n {
			b.steps, b.given = slices.Clone(b.steps), 0
		}
	}
	last := b.first
	if n > 0 {
		last = b.steps[n-1].To
	}
	if last != v {
		b.steps = append(b.steps, Change[T]{on, v})
	}
}

// Line gives the line built so far. Adding more leaves it as it is.
func (b *Builder[T]) Line() Line[T] {
	b.given = len(b.steps)
	return Line[T]{b.first, b.steps}
}

// At gives the value on a day.
func (l Line[T]) At(d Day) T {
	i := sort.Search(len(l.steps), func(i int) bool { return l.steps[i].On > d })
	if i == 0 {
		return l.first
	}
	return l.steps[i-1].To
}

// Next finds the first change after a day whose new value is wanted.
func (l Line[T]) Next(after Day, want func(T) bool) (Day, T, bool) {
	i := sort.Search(len(l.steps), func(i int) bool { return l.steps[i].On > after })
	for _, c := range l.steps[i:] {
		if want(c.To) {
			return c.On, c.To, true
		}
	}
	var zero T
	return 0, zero, false
}

// First gives the value before every change.
func (l Line[T]) First() T { return l.first }

// Changes yields the days on which the value changes and the new value,
// ascending.
func (l Line[T]) Changes() iter.Seq2[Day, T] {
	return func(yield func(Day, T) bool) {
		for _, c := range l.steps {
			if !yield(c.On, c.To) {
				return
			}
		}
	}
}

// Len gives the number of changes.
func (l Line[T]) Len() int { return len(l.steps) }

// Always says that the line has the value on every day.
func (l Line[T]) Always(v T) bool { return len(l.steps) == 0 && l.first == v }

// Equal says that two lines have the same value on every day.
func (l Line[T]) Equal(other Line[T]) bool {
	return l.first == other.first && slices.Equal(l.steps, other.steps)
}

// Map gives the line of f over the values of l.
func Map[T, U comparable](l Line[T], f func(T) U) Line[U] {
	b := Builder[U]{first: f(l.first), steps: room[U](len(l.steps))}
	for _, c := range l.steps {
		b.Add(c.On, f(c.To))
	}
	return b.Line()
}

// Combine gives the line of f over the values of two lines on each day.
func Combine[A, B, C comparable](a Line[A], b Line[B], f func(A, B) C) Line[C] {
	va, vb := a.first, b.first
	out := Builder[C]{first: f(va, vb), steps: room[C](len(a.steps) + len(b.steps))}
	for i, j := 0, 0; i < len(a.steps) || j < len(b.steps); {
		var on Day
		switch {
		case j == len(b.steps) || i < len(a.steps) && a.steps[i].On <= b.steps[j].On:
			on = a.steps[i].On
		default:
			on = b.steps[j].On
		}
		if i < len(a.steps) && a.steps[i].On == on {
			va = a.steps[i].To
			i++
		}
		if j < len(b.steps) && b.steps[j].On == on {
			vb = b.steps[j].To
			j++
		}
		out.Add(on, f(va, vb))
	}
	return out.Line()
}

// room makes space for n changes; none costs nothing.
func room[T any](n int) []Change[T] {
	if n == 0 {
		return nil
	}
	return make([]Change[T], 0, n)
}

// Switch follows, on each day, the line that f gives for the value that
// which has on that day: where somebody is, and then what holds there.
func Switch[K, V comparable](which Line[K], f func(K) Line[V]) Line[V] {
	now := f(which.first)
	if len(which.steps) == 0 {
		return now
	}
	out := Builder[V]{first: now.first}
	for i := 0; ; i++ {
		last := i == len(which.steps)
		for _, c := range now.steps {
			begun := i == 0 || c.On > which.steps[i-1].On
			if begun && (last || c.On < which.steps[i].On) {
				out.Add(c.On, c.To)
			}
		}
		if last {
			return out.Line()
		}
		now = f(which.steps[i].To)
		out.Add(which.steps[i].On, now.At(which.steps[i].On))
	}
}
